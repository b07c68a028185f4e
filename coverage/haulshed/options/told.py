"""What a comparison and a choice tell to those who only read them."""

from collections.abc import Sequence
from dataclasses import dataclass

from haulshed.options.choose import Step
from haulshed.options.limits import Limits
from haulshed.options.objective import Objective
from haulshed.options.robust import Trial


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionTold:
    """One option: what it costs and what it lifts."""

    title: str
    capital: float
    cost_a_year: float
    lifted: int  #: properties lifted to their needed flow
    people: float  #: people there, where known
    lost: int  #: properties held without it and not with it
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanTold:
    """The best plan of a choice: all of it as one option, and its ladder."""

    whole: OptionTold | None  #: None: nothing within the limits brings anything
    objective: Objective
    limits: Limits
    ladder: Sequence[Step]
    most: float | None  #: no plan gains more; None: not proved
    proof: str  #: what that rests on
    trials: Sequence[Trial]  #: under other conditions; none: not tried
