"""What an option costs: once, every year, and both together as one yearly figure."""

from haulshed.scenario.key import ASSUMED, Section, key

#: The rate at which capital is turned into a yearly cost, where the options file gives none.
DEFAULT_DISCOUNT_RATE = 0.04
DEFAULT_LIFE_YEARS = 20.0


class Cost(Section):
    """Cost of one option, in the currency of the district."""

    capital: float = key(0, "paid once", ASSUMED, ge=0)
    yearly: float = key(0, "paid every year; below 0 where it saves", ASSUMED)
    life_years: float = key(DEFAULT_LIFE_YEARS, "years that the capital serves", ASSUMED, gt=0)

    def a_year(self, discount_rate: float) -> float:
        """Return capital and yearly cost together as one sum a year."""
        factor = capital_recovery_factor(discount_rate, self.life_years)
        return self.capital * factor + self.yearly


def capital_recovery_factor(rate: float, years: float) -> float:
    """
    Return the even yearly payment for a capital of 1: i (1 + i)ⁿ / ((1 + i)ⁿ − 1).

    The capital recovery factor (A/P, i, n) of engineering economy, as in Newnan, Eschenbach and
    Lavelle, *Engineering Economic Analysis*; without interest it is 1 / n.

    Examples
    --------
    >>> round(capital_recovery_factor(0.08, 10), 4), capital_recovery_factor(0, 10)
    (0.149, 0.1)
    """
    if rate == 0:
        return 1 / years
    growth: float = (1 + rate) ** years
    return rate * growth / (growth - 1)
