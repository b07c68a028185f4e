"""When units are there: the first ones, and the last one that a flow relies on."""

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.assignment import Assignment
from haulshed.assess.incidents import Incidents
from haulshed.hydraulics.hose import coefficient_for
from haulshed.shuttle import dump_site, nurse

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def first_min(there: Incidents, kind: Bools) -> Floats:
    """Return when the first of some units is there [min], shape (P,); NaN where none comes."""
    first = there.arrival_min[:, kind].min(axis=1, initial=np.inf)
    return np.where(np.isfinite(first), first, np.nan)


def last_relied_min(
    units: Assignment,
    there: Incidents,
    *,
    nursing: Bools,
    relies_on: Bools,
    drafting: NDArray[np.int64],
) -> Floats:
    """
    Return when the last unit is there that the larger flow relies on [min], shape (P,).

    Relied on are the tankers `relies_on` (P, tankers); the first engines to arrive, as many as the
    stage takes with `drafting` fill sites (P,); the engines whose hose is laid; and at a dump site
    the first portable tanks, as many as count.
    """
    tankers_min = _latest(there.arrival_min[:, units.is_tanker], relies_on)
    takes = np.where(nursing, nurse.ENGINES_BUSY, dump_site.ENGINES_BUSY) + drafting
    counted_min = np.where(there.counted, there.arrival_min, np.inf)
    engines_min = _nth(counted_min[:, units.is_engine], takes)
    tank = units.numbers("portable_tank_gal") > 0
    tanks_min = np.where(nursing, 0.0, _nth(counted_min[:, tank], there.dump_positions))
    hose_min = _hose_min(units, there, counted_min)
    return np.maximum(np.maximum(tankers_min, engines_min), np.maximum(tanks_min, hose_min))


def _latest(arrival_min: Floats, where: Bools) -> Floats:
    return np.asarray(np.where(where, arrival_min, 0.0).max(axis=1, initial=0.0))


def _nth(arrival_min: Floats, count: NDArray[np.int64]) -> Floats:
    """Return the arrival of the `count`-th unit of each row, of the last if there are fewer."""
    if arrival_min.shape[1] == 0:
        return np.zeros(len(count))
    in_order = np.sort(arrival_min, axis=1)
    arrived = np.isfinite(in_order).sum(axis=1)
    at = np.minimum(count, arrived) - 1
    rows = np.arange(len(count))
    return np.where(at >= 0, in_order[rows, np.maximum(at, 0)], 0.0)


def _hose_min(units: Assignment, there: Incidents, counted_min: Floats) -> Floats:
    """Return the last arrival of the hose laid: the least-loss hose first, of like hose by time."""
    carries = units.is_engine & (units.numbers("supply_hose_ft") > 0)
    coefficient = coefficient_for(units.numbers("supply_hose_in")[carries])
    arrival_min = counted_min[:, carries]
    order = np.lexsort((arrival_min, np.broadcast_to(coefficient, arrival_min.shape)), axis=1)
    arrival_min = np.take_along_axis(arrival_min, order, axis=1)
    there_ft = np.where(
        np.isfinite(arrival_min), units.numbers("supply_hose_ft")[carries][order], 0.0
    )
    before_ft = np.cumsum(there_ft, axis=1) - there_ft
    laid = (before_ft < there.lay_ft[:, None]) & (there_ft > 0)
    return _latest(arrival_min, laid)
