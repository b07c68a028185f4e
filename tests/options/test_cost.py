"""Yearly cost against the interest tables of textbooks."""

import pytest

from haulshed.options.cost import Cost, capital_recovery_factor

#: Capital recovery factors (A/P, i, n) as compound interest tables print them, to four places:
#: Newnan, Eschenbach and Lavelle, Engineering Economic Analysis, appendix C (values from memory).
TABLE = (
    (0.04, 20, 0.0736),
    (0.05, 10, 0.1295),
    (0.06, 20, 0.0872),
    (0.08, 10, 0.1490),
    (0.10, 5, 0.2638),
    (0.12, 30, 0.1241),
)


@pytest.mark.parametrize(("rate", "years", "factor"), TABLE)
def test_capital_recovery_factor_is_that_of_the_tables(
    rate: float, years: float, factor: float
) -> None:
    assert capital_recovery_factor(rate, years) == pytest.approx(factor, abs=5.1e-5)


@pytest.mark.parametrize(("rate", "years"), [(0.04, 20), (0.07, 33), (1e-9, 12)])
def test_payments_are_worth_the_capital(rate: float, years: int) -> None:
    """The present worth of the payments, each discounted by itself, is the capital."""
    pay = capital_recovery_factor(rate, years)
    worth = sum(pay / (1 + rate) ** year for year in range(1, years + 1))
    assert worth == pytest.approx(1, rel=1e-6)


def test_without_interest_the_capital_is_shared_evenly() -> None:
    assert Cost(capital=100, yearly=3, life_years=4).a_year(0) == 28
