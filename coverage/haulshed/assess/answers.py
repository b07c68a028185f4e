"""The answer table: one row a parcel, with the columns that the table declares, in its order."""

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from pyproj import Transformer

from haulshed.assess.arrivals import first_min, last_relied_min
from haulshed.assess.clocked import Clocked
from haulshed.assess.kept_away import named_by_posted_limits
from haulshed.assess.working import Working
from haulshed.shuttle.limits import LIMITS
from haulshed.tables.answers import ANSWERS, StructureSource
from haulshed.verdict import Held, Verdicts, is_tight, judge

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Objects = NDArray[np.object_]

#: Degrees of the output's lon and lat.
_WGS84 = 4326
#: Flows are kept to a millionth of a gpm.
_FLOW_DECIMALS = 6


def answers(working: Working, played: Clocked) -> pd.DataFrame:
    """Return the answer of each parcel, in the order of the parcels."""
    verdicts, tight = judged(working)
    table = pd.DataFrame(
        {
            "parcel_id": working.ground.inputs.parcels["parcel_id"].to_numpy(),
            **_places(working),
            **_needs(working),
            **_hose(working),
            **_flows(working),
            "verdict": verdicts.astype(str),
            "tight": tight,
            **_sites(working),
            **_units(working),
            **_clock(working, played),
        }
    )
    return table[[column.name for column in ANSWERS.columns]]


def judged(working: Working) -> tuple[Verdicts, Bools]:
    """Return verdict and tightness, over the test minutes where they differ from the plan."""
    over, needed_gpm = over_test(working), working.need.needed_gpm
    verdicts = judge(needed_gpm, over)
    return verdicts, is_tight(needed_gpm, over, verdicts)


def over_test(working: Working) -> Held:
    """Return the flows that the verdicts rest on, over each parcel's own test minutes."""
    anew, held = working.judged, working.flows

    def over(planned: Floats, of_rows: Floats) -> Floats:
        flow = planned.copy()
        flow[anew.rows] = of_rows
        return _settled(flow)

    return Held(
        hose_gpm=_settled(working.hose.gpm),
        nurse_gpm=over(held.nurse_gpm, anew.flows.nurse_gpm),
        dump_site_gpm=over(held.dump_site_gpm, anew.flows.dump_site_gpm),
        minus_one_gpm=over(held.minus_one_gpm, anew.flows.minus_one_gpm),
    )


def _settled(flow_gpm: Floats) -> Floats:
    """Return flows without the solver's last bits, so that 500 held of 500 needed is no deficit."""
    return np.round(flow_gpm, _FLOW_DECIMALS)


def _places(working: Working) -> dict[str, object]:
    to_degrees = Transformer.from_crs(working.ground.network.segments.crs, _WGS84, always_xy=True)
    structures = shapely.get_coordinates(working.access.structures)
    lon, lat = to_degrees.transform(structures[:, 0], structures[:, 1])
    on_road = working.access.points.on_road
    x, y = np.where(on_road[:, None], working.access.points.xy, 0.0).T
    access_lon, access_lat = to_degrees.transform(x, y)
    return {
        "lon": lon,
        "lat": lat,
        **_structures(working),
        "access_lon": np.where(on_road, access_lon, np.nan),
        "access_lat": np.where(on_road, access_lat, np.nan),
        "lay_ft": working.lay.lay_ft,
        "lay_source": working.lay.lay_source,
        "rise_ft": np.where(on_road, working.there.rises.rise_ft, np.nan),
        "rise_source": pd.Series(working.there.rises.rise_source).where(on_road, None),
    }


def _structures(working: Working) -> dict[str, object]:
    """Return where the structure's place is from, and what else the buildings said."""
    inputs = working.ground.inputs
    filled = [inputs.building_columns.get(one, ()) for one in inputs.parcels["parcel_id"]]
    shapes = np.asarray(inputs.parcels.geometry, dtype=object)
    is_point = shapely.get_dimensions(shapes) == 0
    known = ~shapely.is_missing(np.asarray(inputs.parcels["structure"], dtype=object))
    source = np.where(is_point, StructureSource.POINT, StructureSource.WITHIN)
    source = np.where(known, StructureSource.GIVEN, source)
    by_building = np.array(["structure" in columns for columns in filled], dtype=bool)
    return {
        "structure_source": np.where(by_building, StructureSource.BUILDING, source).astype(str),
        "building_columns": ["; ".join(columns) or None for columns in filled],
    }


def _needs(working: Working) -> dict[str, object]:
    need = working.need
    return {
        "needed_gpm": need.needed_gpm,
        "needed_gal": need.needed_gal,
        "demand_source": need.demand_source.astype(str),
        "test_min": np.where(np.isnan(need.needed_gpm), np.nan, working.judged.test_min),
    }


def _hose(working: Working) -> dict[str, object]:
    hose = working.hose
    return {
        "hose_site_id": _site_ids(working, hose.site),
        "hose_site_ft": hose.road_ft,
        "hose_gpm": np.where(hose.site >= 0, _settled(hose.gpm), np.nan),
    }


def _flows(working: Working) -> dict[str, object]:
    held = working.flows
    sustained_gpm = _settled(held.sustained_gpm)
    limit = named_by_posted_limits(working.ground, working.there, held.limit)
    return {
        "nurse_gpm": _settled(held.nurse_gpm),
        "dump_site_gpm": _settled(held.dump_site_gpm),
        "sustained_gpm": sustained_gpm,
        "margin_gpm": sustained_gpm - working.need.needed_gpm,
        "limited_by": np.array(LIMITS, dtype=object)[limit].astype(str),
        "minus_one_gpm": _settled(held.minus_one_gpm),
        "round_trip_min": held.round_trip_min,
    }


def _sites(working: Working) -> dict[str, object]:
    carried_gpm = _settled(working.flows.site_gpm)
    parcel, site = np.nonzero(carried_gpm > 0)
    order = np.lexsort((site, -carried_gpm[parcel, site], parcel))
    parcel, site = parcel[order], site[order]
    served, first = np.unique(parcel, return_index=True)
    best = np.full(len(carried_gpm), -1)
    best[served] = site[first]
    miles = np.full(len(best), np.nan)
    own = working.flows.leg_class[served, site[first]]
    by_class = np.stack([legs.loaded_miles for legs in working.there.legs])
    miles[served] = by_class[own, site[first], served]
    return {
        "best_site_id": _site_ids(working, best),
        "site_ids": _listed(len(best), parcel, _site_ids(working, site)),
        "road_miles_to_site": miles,
    }


def _site_ids(working: Working, site: NDArray[np.int64]) -> Objects:
    """Return the ids of sites by their row; None for row -1."""
    ids = working.ground.inputs.fill_sites["site_id"].to_numpy(dtype=object)
    return np.array([*ids, None], dtype=object)[site]


def _listed(parcels: int, parcel: NDArray[np.int64], ids: Objects) -> Objects:
    """Return the ids of each parcel, which stand together, in one cell; None where it has none."""
    listed: Objects = np.full(parcels, None, dtype=object)
    served, first = np.unique(parcel, return_index=True)
    for row, start, end in zip(served, first, np.append(first, len(ids))[1:], strict=True):
        listed[row] = "; ".join(ids[start:end])
    return listed


def first_due(working: Working) -> Objects:
    """Return the station from which the first engine comes; None where none does."""
    units, there = working.ground.assignment, working.there
    arrival_min = np.where(units.is_engine, there.arrival_min, np.inf)
    stations = units.units["station_id"].to_numpy(dtype=object)
    first: Objects = np.full(len(arrival_min), None, dtype=object)
    rows = np.flatnonzero(np.isfinite(arrival_min).any(axis=1))
    first[rows] = stations[arrival_min[rows].argmin(axis=1)]
    return first


def _units(working: Working) -> dict[str, object]:
    units, there, held = working.ground.assignment, working.there, working.flows
    drafts = working.ground.sites["needs_pumper"].to_numpy(dtype=bool)
    last_min = last_relied_min(
        units,
        there,
        nursing=held.nursing,
        relies_on=held.relies_on,
        drafting=(held.site_gpm[:, drafts] > 0).sum(axis=1),
    )
    needed = held.tankers_needed.copy()
    needed[working.judged.rows] = working.judged.flows.tankers_needed
    return {
        "tankers": there.tankers,
        "tankers_needed": pd.array(np.where(needed >= 0, needed, np.nan)).astype("Int64"),
        "engines": there.engines,
        "first_due": first_due(working),
        "first_engine_min": first_min(there, units.is_engine),
        "first_tanker_min": first_min(there, units.is_tanker),
        "last_tanker_min": np.where(held.sustained_gpm > 0, last_min, np.nan),
    }


def _clock(working: Working, played: Clocked) -> dict[str, object]:
    needed, sustained = played.as_needed, played.as_sustained
    asks = ~np.isnan(working.need.needed_gpm)
    comes = ~np.isnan(needed.first_water_min[:, 0])

    def where_played(values: Floats) -> Floats:
        return np.where(comes, values[:, 0], np.nan)

    first_water_min = np.where(asks, needed.first_water_min[:, 0], sustained.first_water_min[:, 0])
    return {
        "first_water_min": first_water_min,
        "held_from_min": needed.held_from_min[:, 0],
        "longest_gap_min": where_played(needed.longest_gap_min),
        "short_gal": where_played(needed.short_gal),
        "delivered_120_gal": where_played(needed.delivered_120_gal),
        "clock_gpm": _settled(sustained.last_hour_gpm[:, 0]),
        "held_90_gpm": _settled(played.held_90_gpm),
        "held_share": played.held_share,
    }
