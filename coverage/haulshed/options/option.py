"""Options: named changes with their cost, and which of them contradict each other."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, product

from haulshed.case import Inputs
from haulshed.errors import Fault, InputError, TableError
from haulshed.options.change import Change, clash
from haulshed.options.cost import DEFAULT_DISCOUNT_RATE, Cost
from haulshed.options.road_changes import ChangeRoad
from haulshed.options.scenario_change import SetScenario
from haulshed.options.site_changes import AddFillSite, ChangeFillSite
from haulshed.options.unit_changes import (
    AddStation,
    AddUnit,
    ChangeStation,
    ChangeUnit,
    MoveUnit,
    RetireUnit,
)

#: The changes by what the file calls them.
KINDS: dict[str, type[Change]] = {
    "add fill site": AddFillSite,
    "change fill site": ChangeFillSite,
    "add station": AddStation,
    "change station": ChangeStation,
    "add unit": AddUnit,
    "change unit": ChangeUnit,
    "move unit": MoveUnit,
    "retire unit": RetireUnit,
    "change road": ChangeRoad,
    "set scenario": SetScenario,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """Something that the district may do: one change or several, at a cost."""

    name: str
    title: str
    changes: tuple[Change, ...]
    costs: tuple[Cost, ...] = (Cost(),)  #: of one option one; of several taken together all
    notes: str = ""
    verify: str = ""  #: what must be seen to on site before anybody relies on it

    def applied(self, inputs: Inputs) -> Inputs:
        """
        Return the district with every change of the option made, in their order.

        Raises
        ------
        TableError
            With every change that cannot be made.
        """
        changed = inputs
        faults: list[Fault] = []
        for number, change in enumerate(self.changes, start=1):
            try:
                changed = change.applied(changed, f"{self.name}, change {number}")
            except TableError as problem:
                faults += problem.faults
        if faults:
            raise TableError(faults)
        return changed

    @property
    def capital(self) -> float:
        """What is paid once."""
        return sum(cost.capital for cost in self.costs)

    def a_year(self, discount_rate: float) -> float:
        """Return capital and yearly cost as one sum a year."""
        return sum(cost.a_year(discount_rate) for cost in self.costs)

    @property
    def new_site(self) -> AddFillSite | None:
        """The fill site that is added, where the option does nothing else."""
        only = self.changes[0] if len(self.changes) == 1 else None
        return only if isinstance(only, AddFillSite) else None


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionBook:
    """The options of one file."""

    options: tuple[Option, ...]
    discount_rate: float = DEFAULT_DISCOUNT_RATE

    def together(self, names: Sequence[str]) -> Option:
        """
        Return some options as one, `a+b`, whose cost is theirs together.

        Raises
        ------
        InputError
            If an option is not known or two of them contradict each other.
        """
        return joined([self.named(name) for name in names])

    def named(self, name: str) -> Option:
        """
        Return an option by its name.

        Raises
        ------
        InputError
            If there is none.
        """
        for option in self.options:
            if option.name == name:
                return option
        known = ", ".join(option.name for option in self.options)
        msg = f"There is no option '{name}'. Known: {known}."
        raise InputError(msg)


def contradiction(one: Option, other: Option) -> str | None:
    """Return what two options say differently; None where they go together."""
    pairs = product(one.changes, other.changes)
    return next((what for a, b in pairs if (what := clash(a, b)) is not None), None)


def refuse_contradictions(options: Iterable[Option]) -> None:
    """
    Make sure that options go together.

    Raises
    ------
    InputError
        If two of them do not, by their names.
    """
    for one, other in combinations(options, 2):
        what = contradiction(one, other)
        if what is not None:
            msg = (
                f"The options '{one.name}' and '{other.name}' contradict each other: both change"
                f" {what}. Take one of them."
            )
            raise InputError(msg)


def joined(options: Sequence[Option]) -> Option:
    """
    Return options as one, `a+b`.

    Raises
    ------
    InputError
        If two of them contradict each other.
    """
    if len(options) == 1:
        return options[0]
    refuse_contradictions(options)
    return Option(
        name="+".join(option.name for option in options),
        title=" + ".join(option.title for option in options),
        changes=tuple(change for option in options for change in option.changes),
        costs=tuple(cost for option in options for cost in option.costs),
        notes=" ".join(dict.fromkeys(option.notes for option in options if option.notes)),
        verify=" ".join(dict.fromkeys(option.verify for option in options if option.verify)),
    )
