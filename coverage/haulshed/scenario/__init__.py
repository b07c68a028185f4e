"""Everything that a user may turn, as one frozen value with a default and a source for each key."""

from haulshed.scenario.chance import ChanceRules
from haulshed.scenario.clock import ClockRules
from haulshed.scenario.demand import DemandMethod, DemandRules
from haulshed.scenario.failures import Failures
from haulshed.scenario.key import Section, key
from haulshed.scenario.operation import Operation
from haulshed.scenario.roads import PostedWeights, RoadRules, SpeedTable, TravelMethod
from haulshed.scenario.supply_line import SupplyLine

__all__ = [
    "ChanceRules",
    "ClockRules",
    "DemandMethod",
    "DemandRules",
    "Failures",
    "Operation",
    "PostedWeights",
    "RoadRules",
    "Scenario",
    "SpeedTable",
    "SupplyLine",
    "TravelMethod",
]


class Scenario(Section):
    """One scenario: the sections of ``district.toml`` that shape the figures."""

    roads: RoadRules = key(RoadRules(), "travel", "")
    operation: Operation = key(Operation(), "the shuttle", "")
    supply_line: SupplyLine = key(SupplyLine(), "the supply line", "")
    demand: DemandRules = key(DemandRules(), "needed flow", "")
    clock: ClockRules = key(ClockRules(), "the incident in time", "")
    chance: ChanceRules = key(ChanceRules(), "what varies", "")
    failures: Failures = key(Failures(), "what fails", "")
