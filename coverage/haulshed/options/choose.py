"""The best plan within a budget or a count, what proves it, and the plans that come next."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.case import Inputs, Progress
from haulshed.options.bound import fill_site_bound
from haulshed.options.cover import Cover, Covered, best_cover
from haulshed.options.evaluator import Evaluator, Plan
from haulshed.options.greedy import greedy
from haulshed.options.limits import Limits
from haulshed.options.objective import Objective
from haulshed.options.option import Option

Ints = NDArray[np.int64]

#: Plans are all tried where there are no more than this: of fill sites alone, which are quick, and
#: of other options too, each of which makes another district.
TRY_ALL_SITES, TRY_ALL = 2000, 300
#: Plans told after the best one.
RUNNERS_UP = 3
#: Choices of the covering programme that are worked out.
_EXACT_PLANS = 4
#: Scores this near are the same [share].
_SAME = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One rung of the ladder: the next best buy, and what all rungs so far come to."""

    option: str
    title: str
    capital: float  #: of all rungs so far
    cost_a_year: float
    gain: float  #: score added by this rung
    score: float  #: with all rungs so far
    parcels: int  #: that score more than as it is, with all rungs so far


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanFound:
    """A plan within the limits."""

    options: tuple[Option, ...]  #: the best buy first
    found_by: tuple[str, ...]
    score: float
    gain: float  #: beyond the district as it is
    capital: float
    cost_a_year: float

    @property
    def names(self) -> tuple[str, ...]:
        """The options by their names."""
        return tuple(option.name for option in self.options)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What the choice came to."""

    objective: Objective
    limits: Limits
    plans: tuple[PlanFound, ...]  #: the best first, then the runners-up; none: nothing helps
    ladder: tuple[Step, ...]  #: of the best plan
    score_before: float
    bound: float | None  #: no plan scores more; None: not proved
    proof: str  #: what the bound rests on
    considered: int  #: options within the limits by themselves
    parcels_solved: int
    alone: dict[str, float]  #: gain of each option by itself
    rung: Ints  #: rung of the ladder from which each parcel scores whole; -1: none, or before

    @property
    def gap(self) -> float | None:
        """Share of the bound's gain that the best plan may fall short by; None: not proved."""
        if self.bound is None:
            return None
        most = self.bound - self.score_before
        gain = self.plans[0].gain if self.plans else 0.0
        return 0.0 if most <= 0 else max(0.0, 1 - gain / most)


def choose(
    inputs: Inputs,
    options: Sequence[Option],
    *,
    objective: Objective,
    limits: Limits,
    progress: Progress,
) -> Choice:
    """
    Return the best plan found, by two methods, with a bound where one can be proved.

    Lazy greedy on the model itself, per cost and plainly; and the covering programme on what the
    options bring one by one. Both go on taking what still fits and helps. Where so few plans keep
    within the limits that all can be tried, they are. The order of the options changes nothing.
    """
    fitting = sorted(
        (option for option in options if limits.allow([option])), key=lambda option: option.name
    )
    evaluator = Evaluator(inputs=inputs, options=fitting, objective=objective)
    nothing: Plan = frozenset()
    progress("working out the district as it is")
    before = evaluator.total(nothing)
    for number, option in enumerate(fitting):
        progress("trying options one by one", number, len(fitting))
        evaluator.total(frozenset((option.name,)))
    found = _found(evaluator, limits, progress)
    tried_all = _try_all(evaluator, limits, found, progress)
    plans = _ranked(evaluator, limits, found)
    ladder = _ladder(evaluator, limits, plans[0]) if plans else ()
    bound, proof = _bound(evaluator, limits, progress, tried_all=tried_all)
    return Choice(
        objective=objective,
        limits=limits,
        plans=plans,
        ladder=ladder,
        score_before=before,
        bound=bound,
        proof=proof,
        considered=len(fitting),
        parcels_solved=evaluator.solved,
        alone={
            option.name: evaluator.total(frozenset((option.name,))) - before for option in fitting
        },
        rung=_rungs(evaluator, ladder),
    )


def _found(evaluator: Evaluator, limits: Limits, progress: Progress) -> dict[Plan, list[str]]:
    found: dict[Plan, list[str]] = {}

    def keep(plan: Iterable[str], by: str) -> None:
        found.setdefault(frozenset(plan), []).append(by)

    progress("building plans up, best buy first")
    keep(greedy(evaluator, limits, per_cost=False), "greedy")
    if limits.budget is not None:
        keep(greedy(evaluator, limits, per_cost=True), "greedy by cost")
    progress("solving the covering programme")
    for plan in _exact(evaluator, limits):
        more = greedy(evaluator, limits, per_cost=limits.budget is not None, start=plan)
        keep((*plan, *more), "covering programme")
    return {plan: by for plan, by in found.items() if plan}


def _exact(evaluator: Evaluator, limits: Limits) -> Iterable[Plan]:
    """Yield the best choices by what options bring one by one, best first."""
    names = [option.name for option in evaluator.options]
    if not names:
        return
    base = evaluator.scores(frozenset())
    alone = np.array([evaluator.scores(frozenset((name,))) for name in names])
    gains = np.clip(alone - base, 0.0, None).T
    worth = np.maximum(evaluator.ready().weight, alone.max(axis=0)) - base
    share = np.divide(gains, worth[:, None], out=np.zeros_like(gains), where=worth[:, None] > 0)
    cover = Cover(
        worth=worth,
        shares=(share,),
        cost=np.array([limits.cost(option) for option in evaluator.options]),
        budget=limits.budget,
        count=limits.count,
        clashes=[
            (names.index(one), names.index(other))
            for one, other in sorted(map(sorted, evaluator.clashes))
        ],
    )
    seen: list[tuple[int, ...]] = []
    for _ in range(_EXACT_PLANS):
        found: Covered | None = best_cover(cover, but=seen)
        if found is None or not found.chosen:
            return
        seen.append(found.chosen)
        # An option that brings nothing may stand in the programme's answer for want of a price.
        yield frozenset(names[one] for one in found.chosen if gains[:, one].any())


def _try_all(
    evaluator: Evaluator, limits: Limits, found: dict[Plan, list[str]], progress: Progress
) -> bool:
    """Work out every plan within the limits, if they are few; say whether they were."""
    every = _all_plans(evaluator, limits)
    for number, plan in enumerate(every or ()):
        progress("trying every plan", number, len(every or ()))
        if evaluator.total(plan) > evaluator.total(frozenset()):
            found.setdefault(plan, []).append("trying every plan")
    return every is not None


def _all_plans(evaluator: Evaluator, limits: Limits) -> list[Plan] | None:
    """Return every plan within the limits, smaller ones first; None where they are too many."""
    options = evaluator.options
    if any(limits.cost(option) < 0 for option in options):
        return None  # an option that saves may make room for one that does not fit without it
    most = TRY_ALL if any(option.new_site is None for option in options) else TRY_ALL_SITES
    plans: list[tuple[Option, ...]] = []
    last: list[tuple[int, ...]] = [()]
    while last and len(plans) <= most:
        last = [
            (*rows, row)
            for rows in last
            for row in range(rows[-1] + 1 if rows else 0, len(options))
            if limits.allow([options[one] for one in (*rows, row)])
            and evaluator.goes(frozenset(options[one].name for one in rows), options[row].name)
        ]
        plans += [tuple(options[one] for one in rows) for rows in last]
    if len(plans) > most:
        return None
    return [frozenset(option.name for option in plan) for plan in plans]


def _ranked(
    evaluator: Evaluator, limits: Limits, found: dict[Plan, list[str]]
) -> tuple[PlanFound, ...]:
    """Return the best plan and those next to it that are no part of a better one."""
    before = evaluator.total(frozenset())
    plans = [
        _told(evaluator, limits, plan, tuple(dict.fromkeys(by)))
        for plan, by in found.items()
        if evaluator.total(plan) > before * (1 + _SAME)
    ]
    plans.sort(
        key=lambda p: (-round(p.score, 6), limits_cost(p, limits), len(p.names), sorted(p.names))
    )
    kept: list[PlanFound] = []
    for plan in plans:
        part = any(set(plan.names) <= set(better.names) for better in kept)
        if not part and len(kept) <= RUNNERS_UP:
            kept.append(plan)
    return tuple(kept)


def limits_cost(plan: PlanFound, limits: Limits) -> float:
    """Return what a plan costs by the cost that the budget is held against."""
    return sum(limits.cost(option) for option in plan.options)


def _told(evaluator: Evaluator, limits: Limits, plan: Plan, by: tuple[str, ...]) -> PlanFound:
    score = evaluator.total(plan)
    options = tuple(evaluator.by_name[name] for name in sorted(plan))
    return PlanFound(
        options=options,
        found_by=by,
        score=score,
        gain=score - evaluator.total(frozenset()),
        capital=sum(option.capital for option in options),
        cost_a_year=sum(option.a_year(limits.discount_rate) for option in options),
    )


def _ladder(evaluator: Evaluator, limits: Limits, best: PlanFound) -> tuple[Step, ...]:
    """Return the options of a plan in the order of the best buy, given those before."""
    left, done = set(best.names), frozenset[str]()
    base = evaluator.scores(done)
    steps: list[Step] = []
    while left:
        score = evaluator.total(done)
        name = min(left, key=lambda one: (-_rate(evaluator, limits, done, one), one))
        left.remove(name)
        done |= {name}
        options = [evaluator.by_name[one] for one in done]
        steps.append(
            Step(
                option=name,
                title=evaluator.by_name[name].title,
                capital=sum(option.capital for option in options),
                cost_a_year=sum(option.a_year(limits.discount_rate) for option in options),
                gain=evaluator.total(done) - score,
                score=evaluator.total(done),
                parcels=int((evaluator.scores(done) > base + _SAME).sum()),
            )
        )
    return tuple(steps)


def _rungs(evaluator: Evaluator, ladder: Sequence[Step]) -> Ints:
    """Return the first rung with which each parcel has its whole score, and had not before."""
    weight = evaluator.ready().weight * (1 - _SAME)
    whole = evaluator.scores(frozenset()) >= weight
    rung = np.full(len(weight), -1)
    for number in range(len(ladder)):
        plan = frozenset(step.option for step in ladder[: number + 1])
        reached = evaluator.scores(plan) >= weight
        rung[reached & ~whole & (rung < 0)] = number
    return rung


def _rate(evaluator: Evaluator, limits: Limits, done: Plan, name: str) -> float:
    gain = evaluator.total(done | {name}) - evaluator.total(done)
    cost = limits.cost(evaluator.by_name[name]) if limits.budget is not None else 1.0
    return gain / cost if cost > 0 else (float("inf") if gain > 0 else gain)


def _bound(
    evaluator: Evaluator, limits: Limits, progress: Progress, *, tried_all: bool
) -> tuple[float | None, str]:
    if tried_all:
        plans = _all_plans(evaluator, limits) or []
        best = max((evaluator.total(plan) for plan in plans), default=0.0)
        return max(best, evaluator.total(frozenset())), (
            f"every one of the {len(plans):,} plans within the limits was worked out"
        )
    progress("proving a bound")
    bound = fill_site_bound(evaluator, limits)
    if bound is not None:
        return bound, (
            "a covering programme that gives every fill site the most that it can bring; no plan of"
            " these sites does better in this model"
        )
    if evaluator.objective.by_holding:
        return None, (
            "no bound is proved: tankers, engines, aid and fill sites together can be worth more"
            " than their parts"
        )
    return None, "no bound is proved for this objective: flows of several sites do not just add up"
