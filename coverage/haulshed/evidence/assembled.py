"""All evidence of a district under one schedule."""

from dataclasses import dataclass, replace

import pandas as pd

from haulshed.assess.model import work_out
from haulshed.case import Inputs, Progress
from haulshed.evidence.properties import property_evidence
from haulshed.evidence.requirements import OF_PROPERTY, Requirement
from haulshed.evidence.schedule import Schedule
from haulshed.evidence.sources import Paper, papers, source_evidence
from haulshed.evidence.timing import Player, by_the_clock
from haulshed.tables.evidence import Met


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """How many properties with a structure stand how to one test."""

    requirement: Requirement
    limit: float
    met: int
    not_met: int
    not_judged: int

    @property
    def of(self) -> int:
        """Properties with a structure."""
        return self.met + self.not_met + self.not_judged


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """What is laid before a rater. No class and no grade: that is the rater's."""

    inputs: Inputs
    schedule: Schedule
    properties: pd.DataFrame  #: columns of :data:`haulshed.tables.evidence.EVIDENCE`
    sources: pd.DataFrame  #: columns of :data:`haulshed.tables.evidence.SOURCE_EVIDENCE`
    papers: tuple[Paper, ...]
    shares: tuple[Share, ...]


def evidence(
    inputs: Inputs, schedule: Schedule, *, player: Player = by_the_clock, progress: Progress
) -> Evidence:
    """
    Return the evidence of a district.

    The flow is worked out and played over the schedule's duration, not the scenario's.

    Raises
    ------
    NetworkError
        If no road is open to tankers.
    """
    inputs = as_asked(inputs, schedule)
    working = work_out(inputs, progress=progress)
    progress("playing the incidents by the clock")
    timing = player(working, flow_gpm=schedule.figures.flow_gpm.value)
    progress("holding the properties against the schedule")
    sources = source_evidence(working.ground, schedule)
    properties = property_evidence(working, sources, schedule, timing)
    return Evidence(
        inputs=inputs,
        schedule=schedule,
        properties=properties,
        sources=sources,
        papers=papers(working.ground, schedule),
        shares=_shares(properties, schedule),
    )


def as_asked(inputs: Inputs, schedule: Schedule) -> Inputs:
    """
    Return the district with the flow to be held as the schedule asks for it.

    Over its duration; by the clock from the first water on, with no gap longer than it allows.
    """
    rules, gap_min = inputs.scenario, schedule.limit("gap_min")
    duration_min = schedule.figures.duration_min.value
    clock = {"attack_min": 0.0} | ({} if gap_min is None else {"shortest_gap_min": gap_min})
    changes = {
        "operation": rules.operation.model_copy(update={"duration_min": duration_min}),
        "clock": rules.clock.model_copy(update=clock),
    }
    return replace(inputs, scenario=rules.model_copy(update=changes))


def _shares(properties: pd.DataFrame, schedule: Schedule) -> tuple[Share, ...]:
    built = properties[properties["structure"]]
    shares = []
    for requirement in OF_PROPERTY:
        limit = requirement.limit(schedule)
        if limit is not None:
            counts = built[requirement.header].value_counts()
            met, not_met, not_judged = (int(counts.get(str(word), 0)) for word in Met)
            shares.append(
                Share(
                    requirement=requirement,
                    limit=limit,
                    met=met,
                    not_met=not_met,
                    not_judged=not_judged,
                )
            )
    return tuple(shares)
