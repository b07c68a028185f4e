"""The plan that is built up one option at a time, each the best buy given those before it."""

import heapq

from haulshed.options.evaluator import Evaluator, Plan
from haulshed.options.limits import Limits

#: A gain below this share of the whole score is none.
_NO_GAIN = 1e-12


def greedy(
    evaluator: Evaluator, limits: Limits, *, per_cost: bool, start: Plan = frozenset()
) -> tuple[str, ...]:
    """
    Return the options taken, in their order.

    Each step takes the option that adds most to the score, or with `per_cost` most for its cost. A
    gain is looked up anew only when the one found earlier is the largest left (Minoux, Accelerated
    greedy algorithms for maximizing submodular set functions, 1978): the same as looking up all of
    them wherever more options never make one of them worth more. Of equal ones the first by name.
    Where the score has that property, k steps without a budget reach at least 1 − 1/e of the best
    k options (Nemhauser, Wolsey and Fisher, 1978); here it may fail, as two small ponds may
    hold together what neither holds alone.
    """
    plan, taken = start, []
    stale = [
        (-float("inf"), option.name) for option in evaluator.options if option.name not in start
    ]
    heapq.heapify(stale)
    looked_at: dict[str, Plan] = {}
    while stale:
        value, name = heapq.heappop(stale)
        option = evaluator.by_name[name]
        with_it = [evaluator.by_name[one] for one in (*plan, name)]
        if not evaluator.goes(plan, name) or not limits.allow(with_it):
            continue
        if looked_at.get(name) == plan:
            plan |= {name}
            taken.append(name)
            continue
        gain = evaluator.total(plan | {name}) - evaluator.total(plan)
        if gain > _NO_GAIN * max(evaluator.total(plan), 1.0):
            looked_at[name] = plan
            cost = limits.cost(option) if per_cost else 1.0
            value = -gain / cost if cost > 0 else -float("inf")
            heapq.heappush(stale, (value, name))
    return tuple(taken)
