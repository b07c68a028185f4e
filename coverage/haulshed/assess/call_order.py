"""Whom to call at one parcel, in which order, and what each tanker more brings."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.clock_case import pumpers
from haulshed.assess.ground import Ground
from haulshed.assess.incidents import Incidents
from haulshed.assess.shuttle_case import places_of, sites_of, tankers_of
from haulshed.assess.working import Working
from haulshed.hydraulics.hose import coefficient_for
from haulshed.shuttle import stage_flows

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class TankerCalled:
    """One tanker in the order of arrival, and the flow once it is there."""

    unit_id: str
    station_id: str
    tank_gal: float
    arrival_min: float  #: from dispatch
    counts: bool  #: there within assembly_min
    nurse_gpm: float  #: with it and those before it; NaN where it does not count
    dump_site_gpm: float

    @property
    def flow_gpm(self) -> float:
        """The larger of the two."""
        return max(self.nurse_gpm, self.dump_site_gpm)


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineCalled:
    """One engine in the order of arrival, and what it does by the clock's rules."""

    unit_id: str
    station_id: str
    arrival_min: float
    counts: bool
    attacks: bool
    drafts: bool  #: at the dump site
    site_id: str  #: fill site at which it pumps; empty: none


@dataclass(frozen=True, slots=True, kw_only=True)
class HoseLaid:
    """Supply hose of one engine that is laid."""

    unit_id: str
    diameter_in: float
    laid_ft: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Steps:
    """The flows of every place with the first 1, 2, … tankers, and the tankers' order."""

    order: Ints  #: rows of tankers as they arrive (together: larger tank first), (P, n)
    nurse_gpm: Floats  #: with the first k + 1 of them, (P, n)
    dump_site_gpm: Floats


def steps(working: Working) -> Steps:
    """
    Return what each tanker more brings, over the planned duration.

    All engines that count are there from the first step on: what is told apart is the tankers.
    """
    ground, there = working.ground, working.there
    tankers, sites = tankers_of(ground), sites_of(ground)
    planned_min = np.full(len(there.lay_ft), float(ground.inputs.scenario.operation.duration_min))
    whole = places_of(ground, there, working.need.needed_gpm, planned_min)
    arrival_min = np.where(whole.counted, whole.arrival_min, np.inf)
    tank_gal = np.broadcast_to(-tankers.tank_gal, arrival_min.shape)
    late_last = np.where(np.isfinite(whole.arrival_min), whole.arrival_min, np.inf)
    order = np.lexsort((tank_gal, late_last, ~whole.counted), axis=-1).astype(np.int64)
    rank = np.argsort(order, axis=-1)
    nurse_gpm, dump_site_gpm = np.zeros(order.shape), np.zeros(order.shape)
    for count in range(order.shape[1]):
        first = replace(whole, counted=whole.counted & (rank <= count))
        held = stage_flows(tankers, sites, first, ground.inputs.scenario.operation)
        nurse_gpm[:, count], dump_site_gpm[:, count] = held.nurse_gpm, held.dump_site_gpm
    return Steps(order=order, nurse_gpm=nurse_gpm, dump_site_gpm=dump_site_gpm)


def tankers_called(working: Working, called: Steps, place: int) -> tuple[TankerCalled, ...]:
    """Return the tankers that are called and can come, those that count first, in order."""
    units, there = working.ground.assignment, working.there
    rows = np.flatnonzero(units.is_tanker)[called.order[place]]
    told = [
        TankerCalled(
            unit_id=str(units.units["unit_id"].iloc[row]),
            station_id=str(units.units["station_id"].iloc[row]),
            tank_gal=float(units.units["tank_gal"].iloc[row]),
            arrival_min=float(there.arrival_min[place, row]),
            counts=bool(there.counted[place, row]),
            nurse_gpm=float(called.nurse_gpm[place, at]),
            dump_site_gpm=float(called.dump_site_gpm[place, at]),
        )
        for at, row in enumerate(rows.tolist())
    ]
    return tuple(one for one in told if np.isfinite(one.arrival_min))


def engines_called(working: Working, place: int, *, builds: bool) -> tuple[EngineCalled, ...]:
    """Return the engines that are called and can come, in the order of arrival."""
    units, there = working.ground.assignment, working.there
    rows = np.flatnonzero(units.is_engine)
    rows = rows[np.argsort(there.arrival_min[place, rows], kind="stable")]
    counted = [row for row in rows.tolist() if there.counted[place, row]]
    jobs = dict(zip(counted, _jobs(working, place, builds=builds), strict=False))
    return tuple(
        EngineCalled(
            unit_id=str(units.units["unit_id"].iloc[row]),
            station_id=str(units.units["station_id"].iloc[row]),
            arrival_min=float(there.arrival_min[place, row]),
            counts=bool(there.counted[place, row]),
            attacks=jobs.get(row) == _ATTACK,
            drafts=jobs.get(row) == _DRAFT,
            site_id=_site_id(working.ground, jobs.get(row, -1)),
        )
        for row in rows.tolist()
        if np.isfinite(there.arrival_min[place, row])
    )


_ATTACK, _DRAFT = -3, -2


def _site_id(ground: Ground, job: int) -> str:
    return str(ground.inputs.fill_sites["site_id"].iloc[job]) if job >= 0 else ""


def _jobs(working: Working, place: int, *, builds: bool) -> list[int]:
    """Return the engines' work in the order in which it is given out; to pump: the site's row."""
    sites, first = pumpers(working)
    pumped = [site for site in sites[place].tolist() if site >= 0]
    draft = [_DRAFT] if builds else []
    if first[place]:
        return [_ATTACK, *pumped[:1], *draft, *pumped[1:]]
    return [_ATTACK, *draft, *pumped]


def hose_laid(ground: Ground, there: Incidents, place: int) -> tuple[HoseLaid, ...]:
    """Return the hose that is laid: the least-loss hose first, of like hose the first there."""
    units = ground.assignment
    hose_ft, hose_in = units.numbers("supply_hose_ft"), units.numbers("supply_hose_in")
    rows = np.flatnonzero(there.counted[place] & units.is_engine & (hose_ft > 0))
    order = np.lexsort((there.arrival_min[place, rows], coefficient_for(hose_in[rows])))
    left_ft, laid = float(there.lay_ft[place]), []
    for row in rows[order].tolist():
        used_ft = min(left_ft, float(hose_ft[row]))
        if used_ft > 0:
            unit_id = str(units.units["unit_id"].iloc[row])
            laid.append(HoseLaid(unit_id=unit_id, diameter_in=float(hose_in[row]), laid_ft=used_ft))
            left_ft -= used_ft
    return tuple(laid)
