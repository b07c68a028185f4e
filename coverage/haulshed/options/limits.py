"""What a plan may cost at most, and how many options it may have."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from haulshed.options.option import Option


class Money(StrEnum):
    """Which cost a budget is held against."""

    CAPITAL = "capital"  #: what is paid once
    YEARLY = "yearly"  #: capital and yearly cost together, as one sum a year


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Limits of a plan; None: no limit."""

    budget: float | None = None
    money: Money = Money.CAPITAL
    count: int | None = None
    discount_rate: float = 0.0

    def cost(self, option: Option) -> float:
        """Return what an option costs, by the cost that the budget is held against."""
        if self.money is Money.CAPITAL:
            return option.capital
        return option.a_year(self.discount_rate)

    def allow(self, options: Iterable[Option]) -> bool:
        """Say whether options keep within the limits together."""
        chosen = list(options)
        few = self.count is None or len(chosen) <= self.count
        spent = sum(self.cost(option) for option in chosen)
        return few and (self.budget is None or spent <= self.budget * (1 + _CENT))


#: Sums of money are held to this share: adding up rounds.
_CENT = 1e-9
