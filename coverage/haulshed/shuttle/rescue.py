"""The way out where the simplex gives up: the same programme by HiGHS, through scipy."""

import numpy as np
from numba import objmode
from scipy.optimize import linprog

from haulshed.shuttle.kernel import Floats, inner
from haulshed.shuttle.simplex import GAVE_UP, SOLVED, Optimum


def by_highs(a: Floats, b: Floats, c: Floats) -> Floats:
    """
    Return x, then the price of every row, in one array; empty if HiGHS has no optimum either.

    Examples
    --------
    >>> by_highs(np.array([[2.0]]), np.array([3.0]), np.array([1.0])).tolist()
    [1.5, 0.5]
    """
    end = linprog(-c, A_ub=a, b_ub=b, method="highs")
    if end.status != 0:
        return np.empty(0)
    return np.concatenate(
        (np.maximum(np.asarray(end.x), 0.0), np.maximum(-np.asarray(end.ineqlin.marginals), 0.0))
    )


@inner
def way_out(a: Floats, b: Floats, c: Floats) -> Optimum:
    """Return what :func:`haulshed.shuttle.simplex.simplex` returns, worked out by HiGHS."""
    with objmode(both="float64[::1]"):
        both = by_highs(a, b, c)
    rows, columns = a.shape
    if both.size == 0:
        return Optimum(GAVE_UP, np.zeros(columns), np.zeros(rows))
    return Optimum(SOLVED, both[:columns].copy(), both[columns:].copy())
