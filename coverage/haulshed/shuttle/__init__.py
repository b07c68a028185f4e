"""The tanker shuttle: one tanker's round trip, and the flow that a fleet of them keeps up."""

from haulshed.shuttle.flow import Flows, StageFlows, flows, stage_flows
from haulshed.shuttle.given import Places, Sites, Tankers
from haulshed.shuttle.solution import Row, Solution, Stage, Subject, solution

__all__ = [
    "Flows",
    "Places",
    "Row",
    "Sites",
    "Solution",
    "Stage",
    "StageFlows",
    "Subject",
    "Tankers",
    "flows",
    "solution",
    "stage_flows",
]
