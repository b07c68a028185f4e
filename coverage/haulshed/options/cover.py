"""The exact choice where what options bring is known one by one: covering, as an integer programme.

Maximal covering (Church and ReVelle, The maximal covering location problem, 1974) with a budget, a
count and options that exclude each other: maximise Σ z, where z of a row is at most its whole
worth, and at most what the chosen options bring it, added up. Rows of equal coverage are one row.
HiGHS solves it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array, eye_array, hstack

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Branches that HiGHS may look at; what is proved until then is its bound.
_NODES = 20_000
#: Rows whose shares agree to this many decimals are one row.
_DECIMALS = 9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cover:
    """What C options bring to P rows, and what limits the choice."""

    worth: Floats  #: whole worth of each row, (P,)
    shares: Sequence[Floats]  #: share of it that each option brings, (P, C); each must allow z
    cost: Floats  #: (C,)
    budget: float | None = None
    count: int | None = None
    clashes: Sequence[tuple[int, int]] = ()  #: options that exclude each other


@dataclass(frozen=True, slots=True, kw_only=True)
class Covered:
    """The best choice, and what no choice can be worth more than."""

    chosen: tuple[int, ...]
    worth: float
    bound: float


def best_cover(cover: Cover, *, but: Iterable[Sequence[int]] = ()) -> Covered | None:
    """
    Return the options whose rows are worth most together; None where nothing is left to choose.

    Parameters
    ----------
    cover
        What they bring and what limits them.
    but
        Choices that are not wanted again.
    """
    worth, shares = merged(cover.worth, cover.shares)
    options, rows = len(cover.cost), len(worth)
    constraints = [
        LinearConstraint(
            hstack((csr_array(-worth[:, None] * share), eye_array(rows)), format="csr"),
            -np.inf,
            0.0,
        )
        for share in shares
        if rows
    ]
    limits = [*_limits(cover), *_not_again(options, but)]
    for row, low, high in limits:
        whole = np.concatenate((row, np.zeros(rows)))
        constraints.append(LinearConstraint(whole[None, :], low, high))
    found = milp(
        -np.concatenate((np.zeros(options), np.ones(rows))),
        integrality=np.concatenate((np.ones(options), np.zeros(rows))),
        bounds=Bounds(np.zeros(options + rows), np.concatenate((np.ones(options), worth))),
        constraints=constraints,
        options={"node_limit": _NODES, "mip_rel_gap": 1e-9},
    )
    x: Floats | None = found.x
    if x is None:
        return None
    chosen = np.flatnonzero(x[:options] > _HALF)
    value = -float(found.fun or 0.0)
    bound = value if found.mip_dual_bound is None else -float(found.mip_dual_bound)
    return Covered(chosen=tuple(chosen.tolist()), worth=value, bound=max(bound, value))


_HALF = 0.5


def merged(worth: Floats, shares: Sequence[Floats]) -> tuple[Floats, list[Floats]]:
    """
    Return the rows with those of equal shares put together, their worths added up.

    Rows that no option brings anything are left out.

    Examples
    --------
    >>> worth, (share,) = merged(np.array([1.0, 2.0, 4.0]), [np.array([[1.0, 0], [1, 0], [0, 0]])])
    >>> worth.tolist(), share.tolist()
    ([3.0], [[1.0, 0.0]])
    """
    table = np.round(np.hstack(list(shares)), _DECIMALS)
    brings = np.all([share.any(axis=1) for share in shares], axis=0) & (worth > 0)
    unique, row = np.unique(table[brings], axis=0, return_inverse=True)
    together = np.zeros(len(unique))
    np.add.at(together, row.ravel(), worth[brings])
    return together, np.split(unique, len(shares), axis=1)


def _limits(cover: Cover) -> Iterable[tuple[Floats, float, float]]:
    options = len(cover.cost)
    if cover.budget is not None:
        yield cover.cost, -np.inf, cover.budget
    if cover.count is not None:
        yield np.ones(options), -np.inf, float(cover.count)
    for pair in cover.clashes:
        row = np.zeros(options)
        row[list(pair)] = 1.0
        yield row, -np.inf, 1.0


def _not_again(options: int, but: Iterable[Sequence[int]]) -> Iterable[tuple[Floats, float, float]]:
    """Each choice unwanted must lack one of its options or have one more."""
    for choice in but:
        row = -np.ones(options)
        row[list(choice)] = 1.0
        yield row, -np.inf, len(choice) - 1.0
