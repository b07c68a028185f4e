"""A choice in words: what limits the plan, what is gained, how good it is."""

from haulshed.options.limits import Limits, Money
from haulshed.options.objective import Objective
from haulshed.outputs.compare_screen import money

#: What a score counts.
GAINS = {
    Objective.PARCELS: "parcels lifted to their needed flow",
    Objective.PEOPLE: "people on parcels lifted to their needed flow",
    Objective.VALUE: "assessed value lifted to its needed flow",
    Objective.GPM: "gpm of the needs no longer missing",
    Objective.EQUITY: "sum of squared missing shares removed",
}
#: A gap this small is none.
_NOTHING = 1e-6


def limits_words(limits: Limits) -> str:
    """
    Return within what limits the plan is the best.

    Examples
    --------
    >>> limits_words(Limits(budget=150000.0, count=3))
    'for 150,000 of capital and of 3 options at most'
    """
    parts = []
    if limits.budget is not None:
        what = "a year, all in" if limits.money is Money.YEARLY else "of capital"
        parts.append(f"for {money(limits.budget)} {what}")
    if limits.count is not None:
        parts.append(f"of {limits.count} option{'s' if limits.count > 1 else ''} at most")
    return " and ".join(parts) or "without a limit"


def score_words(value: float, objective: Objective) -> str:
    """Return a score in figures."""
    return f"{value:,.2f}" if objective is Objective.EQUITY else f"{value:,.0f}"


def how_good(gain: float, most: float | None, proof: str, objective: Objective) -> str:
    """Return how near the plan's gain is to the most that any gains, and what that rests on."""
    if most is None:
        return f"How good: {proof}."
    gap = 0.0 if most <= 0 else max(0.0, 1 - gain / most)
    within = (
        "nothing within the limits does better"
        if gap <= _NOTHING
        else f"at most {score_words(most, objective)} could be gained, so it is within {gap:.0%}"
    )
    return f"How good: {within}. Proof: {proof}."
