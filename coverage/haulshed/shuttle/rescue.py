"""The way out where the simplex gives up: the programme written again, and solved by HiGHS.

Nothing is merged or left out here, and nothing is taken from the kernels but the terms.
"""

from typing import NamedTuple

import numpy as np
from scipy.optimize import linprog

from haulshed.shuttle.kernel import Floats, Ints
from haulshed.shuttle.programme import PUMPER_ROW, Jobs, PumperRow, Terms

#: A row may be over its limit, and the bound above the flow, by this share: HiGHS itself allows
#: 1e-7.
_EXACT = 1e-6


class Written(NamedTuple):
    """A programme with a row for every limit and a column for every way of a tanker to a site."""

    tankers: Ints  #: of each column
    sites: Ints  #: of each column
    a: Floats
    limit: Floats
    row: Ints  #: where each row stands among all limits of the district


def written(terms: Terms, jobs: Jobs, pumpers: PumperRow, j: int) -> Written:
    """Return job `j` with every row written out."""
    place, unload_min = jobs.place[j], jobs.unload_min[j]
    reached = terms.useful[place, : terms.reached[place]]
    sites, tankers = reached[jobs.allowed[j, reached]], np.flatnonzero(np.isfinite(unload_min))
    (n, every), water = terms.fill_min.shape, terms.water_limit[place]
    cell = np.ix_(tankers, sites)
    load_gal = terms.usable_gal[tankers, None]
    legs_min = terms.legs_min[place][np.ix_(terms.weight_class[tankers], sites)]
    trip_min = unload_min[tankers, None] + terms.fill_min[cell] + legs_min
    way = np.isfinite(trip_min)
    trip_min = np.where(way, trip_min, 0.0)
    of_tanker = np.kron(np.eye(tankers.size), np.ones(sites.size))
    of_site = np.kron(np.ones(tankers.size), np.eye(sites.size))
    sources = np.arange(water.size - 2 * every)
    unload = np.repeat(unload_min[tankers] / load_gal[:, 0], sites.size)
    a = np.vstack(
        (
            of_tanker * (trip_min / load_gal).ravel(),
            of_site * (terms.fill_min[cell] / load_gal).ravel(),
            of_site,
            np.tile(terms.shared[sites] == sources[:, None], tankers.size),
            unload,
            np.ones(unload.size),
            np.tile(pumpers.share[j, sites], tankers.size),
        )
    )
    row = np.concatenate(
        (tankers, n + sites, n + every + sites, n + 2 * every + np.arange(sources.size + 3))
    )
    last = [jobs.positions[j], jobs.cap_gpm[j], pumpers.limit[j]]
    limit = np.concatenate((np.ones(n), water, last))[row]
    bounded, (of_cell, over) = np.isfinite(limit), np.nonzero(way)
    a = a[:, way.ravel()]
    return Written(tankers[of_cell], sites[over], a[bounded], limit[bounded], row[bounded])


def rescued(terms: Terms, jobs: Jobs, pumpers: PumperRow, j: int) -> tuple[float, Floats, Floats]:
    """
    Return the optimum of job `j`: its flow, what is carried (n, S), and the price of every row.

    Raises
    ------
    ArithmeticError
        If HiGHS has no optimum either, or one that does not stand up to plain arithmetic.
    """
    programme = written(terms, jobs, pumpers, j)
    a, limit = programme.a, programme.limit
    end = linprog(-np.ones(a.shape[1]), a, limit, method="highs")
    if end.status == 0:
        x = np.maximum(np.asarray(end.x), 0.0)
        price = np.maximum(-np.asarray(end.ineqlin.marginals), 0.0)
        kept = (a @ x <= limit * (1 + _EXACT)).all() and (price @ a >= 1 - _EXACT).all()
        if kept and abs(price @ limit - x.sum()) <= _EXACT * max(1.0, x.sum()):
            carried_gpm = np.zeros(terms.fill_min.shape)
            carried_gpm[programme.tankers, programme.sites] = x
            all_prices = np.zeros(len(terms.kind) + terms.water_limit.shape[1] + 3)
            all_prices[programme.row] = price
            return min(float(x.sum()), float(jobs.cap_gpm[j])), carried_gpm, all_prices[:PUMPER_ROW]
    msg = "neither the simplex nor HiGHS solved a fleet programme"
    raise ArithmeticError(msg)
