"""Each property against the schedule: distances, flow, time, volume, and what it relies on."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.assess.arrivals import first_min
from haulshed.assess.shuttle_case import sites_of
from haulshed.assess.working import Working
from haulshed.evidence.distances import Nearest, nearest, road_miles
from haulshed.evidence.requirements import OF_PROPERTY
from haulshed.evidence.schedule import Schedule
from haulshed.evidence.sources import missing_count
from haulshed.evidence.timing import Timing
from haulshed.roads.travel import road_feet
from haulshed.tables.evidence import EVIDENCE, Met
from haulshed.tables.fill_sites import SiteKind
from haulshed.units import M_PER_FT

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

#: A site carries this much at least if a flow relies on it [gpm].
_CARRIES_GPM = 1e-6
#: What is known and out of reach; the files leave the cell empty.
NONE_IN_REACH = np.inf


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Near:
    """The nearest fill site that meets the figures, as hose is laid from it."""

    site: Ints  #: row of the site; -1: none
    road_ft: Floats
    off_road_ft: Floats
    hose_ft: Floats  #: infinite where there is none


def property_evidence(
    working: Working, sources: pd.DataFrame, schedule: Schedule, timing: Timing
) -> pd.DataFrame:
    """Return a row a parcel, in their order; the columns of :data:`EVIDENCE`."""
    near = _near(working, sources, schedule)
    relies_on = _relied_on(working, near, schedule)
    first_engine_min = first_min(working.there, working.ground.assignment.is_engine)
    table = pd.DataFrame(
        {
            "parcel_id": working.ground.inputs.parcels["parcel_id"].to_numpy(),
            "structure": np.isfinite(working.need.needed_gpm),
            "needed_gpm": working.need.needed_gpm,
            **_station(working),
            **_hose(working, sources, schedule, near),
            **_fill_site(working, sources),
            "sustained_gpm": working.flows.sustained_gpm,
            **_sites_relied_on(working, sources, schedule, relies_on),
            "first_engine_min": first_engine_min,
            "held_from_min": timing.held_from_min,
            "start_after_min": np.where(
                np.isinf(timing.held_from_min), np.inf, timing.held_from_min - first_engine_min
            ),
            "longest_gap_min": timing.longest_gap_min,
            **_units(working),
        }
    )
    for requirement in OF_PROPERTY:
        table[requirement.header] = requirement.judge(table[requirement.column], schedule)
    table["not_met"] = _not_met(table)
    return table[[column.name for column in EVIDENCE.columns]]


def _station(working: Working) -> dict[str, object]:
    base = working.ground
    units, stations = base.assignment, base.inputs.stations
    engines = np.unique(units.station[units.called & units.is_engine])
    rows = engines[base.station_points.on_road[engines]]
    access = working.access.points
    found = nearest(
        lambda some: road_miles(base.network, base.station_points.take(some), access),
        rows,
        access=len(access.segment),
    )
    return {
        "station_id": _words(stations["station_id"], found.row),
        "station_aid": _words(stations["aid"], found.row),
        "station_miles": found.distance,
    }


def _near(working: Working, sources: pd.DataFrame, schedule: Schedule) -> _Near:
    base, access = working.ground, working.access.points
    off_road_ft = base.site_points.off_road_m / M_PER_FT

    def hose_ft(some: Ints) -> Floats:
        points = base.site_points.take(some)
        road_ft = road_feet(base.network, points, access, reach_ft=np.inf)
        return road_ft + off_road_ft[some, None]

    found = nearest(hose_ft, _creditable(sources), access=len(access.segment))
    none = found.row < 0
    beside_ft = np.where(none, np.nan, np.append(off_road_ft, np.nan)[found.row])
    to_structure = schedule.limit("hose_to_structure") is not None
    return _Near(
        site=found.row,
        road_ft=np.where(none, np.nan, found.distance - beside_ft),
        off_road_ft=beside_ft,
        hose_ft=found.distance + np.where(none | (not to_structure), 0.0, working.lay.lay_ft),
    )


def _hose(
    working: Working, sources: pd.DataFrame, schedule: Schedule, near: _Near
) -> dict[str, object]:
    return {
        "near_site_id": _words(sources["site_id"], near.site),
        "near_site_road_ft": near.road_ft,
        "near_site_off_road_ft": near.off_road_ft,
        "lay_ft": working.lay.lay_ft,
        "near_site_hose_ft": near.hose_ft,
        "by_distance_gpm": _by_distance(sources, schedule, near),
    }


def _by_distance(sources: pd.DataFrame, schedule: Schedule, near: _Near) -> Floats:
    """Return what a hydrant counts for at its distance; NaN where the schedule says nothing."""
    if not schedule.hydrant_flow:
        return np.full(len(near.site), np.nan)
    bands = sorted(schedule.hydrant_flow, key=lambda band: band.within_ft)
    within_ft = [band.within_ft for band in bands]
    most_gpm = np.array([*(band.flow_gpm for band in bands), 0.0])
    counts_gpm = most_gpm[np.searchsorted(within_ft, near.hose_ft, side="left")]
    rate_gpm = np.append(sources["rate_gpm"].to_numpy(dtype=np.float64), np.nan)[near.site]
    hydrant = np.append((sources["kind"] == SiteKind.HYDRANT).to_numpy(dtype=bool), False)
    return np.where(hydrant[near.site], np.minimum(counts_gpm, rate_gpm), np.nan)


def _fill_site(working: Working, sources: pd.DataFrame) -> dict[str, object]:
    base, access = working.ground, working.access.points
    found: Nearest = nearest(
        lambda some: road_miles(base.network, base.site_points.take(some), access),
        _creditable(sources),
        access=len(access.segment),
    )
    return {
        "fill_site_id": _words(sources["site_id"], found.row),
        "fill_site_miles": found.distance,
    }


def _creditable(sources: pd.DataFrame) -> Ints:
    return np.flatnonzero(sources["meets_figures"].to_numpy(dtype=bool))


def _relied_on(working: Working, near: _Near, schedule: Schedule) -> Bools:
    """Return the sites that each property's water comes from, shape (P, S)."""
    relies_on = working.flows.site_gpm > _CARRIES_GPM
    reach_ft = schedule.limit("hose_reach_ft")
    by_hose = np.flatnonzero(near.hose_ft <= (-np.inf if reach_ft is None else reach_ft))
    relies_on[by_hose] = False
    relies_on[by_hose, near.site[by_hose]] = True
    return np.asarray(relies_on)


def _sites_relied_on(
    working: Working, sources: pd.DataFrame, schedule: Schedule, relies_on: Bools
) -> dict[str, object]:
    ids = sources["site_id"].to_numpy(dtype=object)
    weather = sources["all_weather"].to_numpy(dtype=np.float64, na_value=np.nan)
    any_site = relies_on.any(axis=1)
    missing = relies_on @ missing_count(working.ground, schedule)
    return {
        "relies_on": ["; ".join(ids[row]) or None for row in relies_on],
        "volume_gal": _volume_gal(working, schedule, relies_on),
        "all_weather": _all_weather(weather, relies_on),
        "papers_missing": np.where(any_site, missing, np.nan),
    }


def _all_weather(weather: Floats, relies_on: Bools) -> "pd.Series[bool]":
    """Return no if one site is not reached in all weather, yes if every one is, else unknown."""
    shut = (relies_on & (weather == 0)).any(axis=1)
    unknown = (relies_on & np.isnan(weather)).any(axis=1) | ~relies_on.any(axis=1)
    said = np.select([shut, ~unknown], [0.0, 1.0], default=np.nan)
    return pd.Series(said).astype("boolean")


def _volume_gal(working: Working, schedule: Schedule, relies_on: Bools) -> Floats:
    """Return what the sources give over the duration: each source once, no site above its rate."""
    sites = sites_of(working.ground)
    duration_min = schedule.figures.duration_min.value
    source_gpm, held_gal = sites.of_source(sites.flow_gpm), sites.of_source(sites.usable_gal)
    recharge_gpm = np.where(np.isfinite(held_gal), sites.of_source(sites.recharge_gpm), 0.0)
    total = np.zeros(len(relies_on))
    for source in np.unique(sites.source):
        of_source = np.flatnonzero(sites.source == source)
        used, first = relies_on[:, of_source], of_source[0]
        rate_gpm = np.minimum(used @ sites.flow_gpm[of_source], source_gpm[first])
        stored_gal = held_gal[first] + recharge_gpm[first] * duration_min
        total += np.where(used.any(axis=1), np.minimum(rate_gpm * duration_min, stored_gal), 0.0)
    return total


def _units(working: Working) -> dict[str, object]:
    units, counted = working.ground.assignment, working.there.counted
    engines = counted & units.is_engine
    return {
        "pump_gpm": np.where(engines, units.numbers("pump_gpm"), 0.0).max(axis=1, initial=0.0),
        "crew": np.where(counted, units.numbers("crew"), 0.0).sum(axis=1),
    }


def _words(column: "pd.Series[str]", row: Ints) -> NDArray[np.object_]:
    """Return a column's cells by row; None for row -1."""
    return np.array([*column, None], dtype=object)[row]


def _not_met(table: pd.DataFrame) -> list[str | None]:
    names = [requirement.name for requirement in OF_PROPERTY]
    failed = (table[[f"test_{name}" for name in names]] == Met.NOT_MET).to_numpy()
    labels = np.array([name.replace("_", " ") for name in names], dtype=object)
    return ["; ".join(labels[row]) or None for row in failed]
