"""The answer table: one row a parcel, with the columns that the table declares, in its order."""

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from pyproj import Transformer

from haulshed.assess.arrivals import first_min, last_relied_min
from haulshed.assess.working import Working
from haulshed.shuttle.limits import LIMITS
from haulshed.tables.answers import ANSWERS
from haulshed.verdict import Held, Verdicts, is_tight, judge

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Degrees of the output's lon and lat.
_WGS84 = 4326


def answers(working: Working) -> pd.DataFrame:
    """Return the answer of each parcel, in the order of the parcels."""
    verdicts, tight = _judged(working)
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
        }
    )
    return table[[column.name for column in ANSWERS.columns]]


def _judged(working: Working) -> tuple[Verdicts, Bools]:
    """Return verdict and tightness, over the test minutes where they differ from the plan."""
    judged, held = working.judged, working.flows

    def over_test(planned: Floats, anew: Floats) -> Floats:
        flow = planned.copy()
        flow[judged.rows] = anew
        return flow

    over = Held(
        hose_gpm=judged.hose.gpm,
        nurse_gpm=over_test(held.nurse_gpm, judged.flows.nurse_gpm),
        dump_site_gpm=over_test(held.dump_site_gpm, judged.flows.dump_site_gpm),
        minus_one_gpm=over_test(held.minus_one_gpm, judged.flows.minus_one_gpm),
    )
    needed_gpm = working.need.needed_gpm
    verdicts = judge(needed_gpm, over)
    return verdicts, is_tight(needed_gpm, over, verdicts)


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
        "access_lon": np.where(on_road, access_lon, np.nan),
        "access_lat": np.where(on_road, access_lat, np.nan),
        "lay_ft": working.lay.lay_ft,
        "lay_source": working.lay.lay_source,
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
        "hose_gpm": np.where(hose.site >= 0, hose.gpm, np.nan),
    }


def _flows(working: Working) -> dict[str, object]:
    held = working.flows
    return {
        "nurse_gpm": held.nurse_gpm,
        "dump_site_gpm": held.dump_site_gpm,
        "sustained_gpm": held.sustained_gpm,
        "margin_gpm": held.sustained_gpm - working.need.needed_gpm,
        "limited_by": np.array(LIMITS, dtype=object)[held.limit].astype(str),
        "minus_one_gpm": held.minus_one_gpm,
        "round_trip_min": held.round_trip_min,
    }


def _sites(working: Working) -> dict[str, object]:
    best = working.flows.best_site
    rows = np.arange(len(best))
    miles = working.there.legs.loaded_miles[np.maximum(best, 0), rows]
    return {
        "best_site_id": _site_ids(working, best),
        "site_ids": _used_sites(working),
        "road_miles_to_site": np.where(best >= 0, miles, np.nan),
    }


def _site_ids(working: Working, site: NDArray[np.int64]) -> NDArray[np.object_]:
    ids = working.ground.inputs.fill_sites["site_id"].to_numpy(dtype=object)
    named = ids[np.maximum(site, 0)]
    named[site < 0] = None
    return np.asarray(named, dtype=object)


def _used_sites(working: Working) -> NDArray[np.object_]:
    """Return the ids of the sites that each flow uses, the one that carries most first."""
    carried_gpm = working.flows.site_gpm
    parcel, site = np.nonzero(carried_gpm > 0)
    order = np.lexsort((site, -carried_gpm[parcel, site], parcel))
    ids = _site_ids(working, site[order])
    used = pd.Series(ids, dtype=object).groupby(parcel[order]).agg(" ".join)
    listed = np.full(len(carried_gpm), None, dtype=object)
    listed[used.index.to_numpy(dtype=np.int64)] = used.to_numpy()
    return listed


def _units(working: Working) -> dict[str, object]:
    units, there, held = working.ground.roster, working.there, working.flows
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
        "first_engine_min": first_min(there, units.is_engine),
        "first_tanker_min": first_min(there, units.is_tanker),
        "last_tanker_min": np.where(held.sustained_gpm > 0, last_min, np.nan),
    }
