"""Lazy greedy where more options never make one worth more: covering, against all subsets."""

from collections.abc import Mapping
from itertools import combinations
from typing import Any

import numpy as np
import pytest

from haulshed.options.cost import Cost
from haulshed.options.greedy import greedy
from haulshed.options.limits import Limits
from haulshed.options.option import Option


class Covering:
    """Scores plans by the rows that they cover, and counts how often it is asked."""

    def __init__(self, covers: Mapping[str, set[int]], cost: Mapping[str, float]) -> None:
        self.covers = covers
        self.options = [
            Option(name=name, title=name, changes=(), costs=(Cost(capital=cost[name]),))
            for name in covers
        ]
        self.by_name = {option.name: option for option in self.options}
        self.clash = {"no", "pair"}
        self.asked: set[frozenset[str]] = set()

    def total(self, plan: frozenset[str]) -> float:
        self.asked.add(plan)
        return float(len(set().union(*(self.covers[name] for name in plan))))

    def goes(self, plan: frozenset[str], name: str) -> bool:
        return not self.clash <= {*plan, name}


def made(seed: int) -> Covering:
    random = np.random.default_rng(seed)
    covers = {
        f"o{n:02}": set(random.choice(40, size=random.integers(2, 12), replace=False).tolist())
        for n in range(10)
    }
    return Covering(covers, {name: float(random.integers(1, 9)) for name in covers})


def plainly(problem: Covering, count: int) -> list[str]:
    """Greedy as textbooks write it, every gain looked up at every step."""
    plan: list[str] = []
    for _ in range(count):
        here = problem.total(frozenset(plan))
        gains = {
            name: problem.total(frozenset([*plan, name])) - here
            for name in sorted(problem.covers)
            if name not in plan
        }
        best = max(gains, key=lambda name: gains[name])
        if gains[best] <= 0:
            break
        plan.append(best)
    return plan


@pytest.mark.parametrize("seed", range(25))
def test_lazy_is_greedy_and_keeps_its_guarantee(seed: int) -> None:
    """At least 1 − 1/e of the best (Nemhauser, Wolsey and Fisher, 1978)."""
    problem: Any = made(seed)
    for count in (1, 2, 3, 4):
        taken = greedy(problem, Limits(count=count), per_cost=False)
        assert list(taken) == plainly(problem, count)
        best = max(
            problem.total(frozenset(plan)) for plan in combinations(sorted(problem.covers), count)
        )
        assert problem.total(frozenset(taken)) >= (1 - 1 / np.e) * best


def test_lazy_asks_less_than_all() -> None:
    problem: Any = made(1)
    greedy(problem, Limits(count=4), per_cost=False)
    assert len(problem.asked) < 10 + 9 + 8 + 7


@pytest.mark.parametrize("seed", range(10))
def test_a_budget_is_kept_and_the_better_of_two_ways_is_half_as_good(seed: int) -> None:
    """The better of greedy and greedy by cost: (1 − 1/e) / 2 at least (Leskovec et al., 2007)."""
    problem: Any = made(seed)
    limits = Limits(budget=12.0)
    plans = [frozenset(greedy(problem, limits, per_cost=way)) for way in (False, True)]
    names = sorted(problem.covers)
    best = 0.0
    for size in range(1, len(names) + 1):
        for plan in combinations(names, size):
            if limits.allow([problem.by_name[name] for name in plan]):
                best = max(best, problem.total(frozenset(plan)))
    for plan in plans:
        assert limits.allow([problem.by_name[name] for name in plan])
    assert max(map(problem.total, plans)) >= (1 - 1 / np.e) / 2 * best


def test_options_that_contradict_are_not_taken_together() -> None:
    problem: Any = Covering({"a": {1, 2, 3}, "b": {4, 5}, "c": {6}}, dict.fromkeys("abc", 1.0))
    problem.clash = {"a", "b"}
    assert greedy(problem, Limits(count=3), per_cost=False) == ("a", "c")
