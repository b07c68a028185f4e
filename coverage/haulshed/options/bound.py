"""What no plan can exceed: a relaxation of the choice among fill sites, solved as covering."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from haulshed.options.cover import Cover, best_cover
from haulshed.options.evaluator import Evaluator
from haulshed.options.limits import Limits
from haulshed.options.option import Option
from haulshed.options.reachable import in_company

Floats = NDArray[np.float64]

#: Shares are rounded up to this, so that more rows are alike: the bound stays one.
_STEP = 0.05
#: One of two sites at least that must work together.
_HALF = 0.5


def fill_site_bound(evaluator: Evaluator, limits: Limits) -> float | None:
    """
    Return a score that no plan within the limits exceeds; None where none can be proved.

    Proved for objectives by holding and options that each only add a fill site. A parcel that is
    not held already is held by a plan only if

    * a site of the plan holds it alone, or at least two sites of the plan reach it and there are
      engines to draft at two; and
    * what the plan's sites bring alone, at most, adds up to what is missing
      (:mod:`haulshed.options.reachable`); and
    * it is held when every site there is to choose from is there.

    The plan that is best under these conditions alone is worth at least as much as the best one.
    """
    others = [option for option in evaluator.options if option.new_site is None]
    if others or not evaluator.objective.by_holding:
        return None
    here = evaluator.ready()
    names = sorted(here.row_of)
    options = [evaluator.by_name[name] for name in names]
    single = np.array([evaluator.scores(frozenset((name,))) > here.base for name in names])
    site = [here.row_of[name] for name in names]
    company = in_company(here.reach, here.world, here.further, _most(limits, options))
    reaches = here.reach.matters[site] & company
    open_ = here.liftable
    share = np.ceil(here.reach.share[site] / _STEP - _ROUNDING) * _STEP
    in_sum = np.where(single, 1.0, np.minimum(share, 1.0))
    in_pairs = np.where(single, 1.0, np.where(reaches, _HALF, 0.0))
    cover = Cover(
        worth=(here.weight - here.base)[open_],
        shares=(in_sum[:, open_].T, in_pairs[:, open_].T),
        cost=np.array([limits.cost(option) for option in options]),
        budget=limits.budget,
        count=limits.count,
        clashes=[
            (names.index(one), names.index(other))
            for one, other in sorted(map(sorted, evaluator.clashes))
        ],
    )
    found = best_cover(cover)
    gain = 0.0 if found is None else found.bound
    return float(here.base.sum()) + gain


_ROUNDING = 1e-9


def _most(limits: Limits, options: Sequence[Option]) -> int | None:
    """Return how many options keep within the limits at most; None: no limit."""
    counts = [] if limits.count is None else [limits.count]
    costs = np.sort([max(limits.cost(option), 0.0) for option in options])
    if limits.budget is not None:
        counts.append(int((np.cumsum(costs) <= limits.budget * (1 + _ROUNDING)).sum()))
    return min(counts, default=None)
