"""Fill sites from mapped hydrants, suction points, tanks and ponds; water where one could be."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from haulshed.survey.defaults import (
    CANDIDATE_GAL,
    CANDIDATE_ROAD_FT,
    FLOW_GPM,
    POND_DRAW_FT,
    SAME_WATER_FT,
)
from haulshed.survey.place import Place, is_water, is_water_point, plain
from haulshed.survey.roadside import Roadside, in_degrees, in_metres, roadside
from haulshed.survey.water_points import WaterPoint, water_point
from haulshed.tables.fill_sites import FILL_SITES, SiteKind
from haulshed.tables.pond_candidates import POND_CANDIDATES
from haulshed.tables.segments import Segments
from haulshed.tables.sources import Source
from haulshed.tables.table import csv_headers
from haulshed.units import GAL_PER_FT3, M_PER_FT

#: Values of `water` that nobody drafts from.
_FOUL = frozenset(("wastewater", "moat", "fountain", "lock", "fish_pass", "shoal"))
_RUNNING = frozenset(("river", "canal", "stream", "ditch", "stream_pool", "rapids"))
_SITE_COLUMNS = csv_headers(FILL_SITES)
_CANDIDATE_COLUMNS = csv_headers(POND_CANDIDATES)
_DRAWN = (SiteKind.POND, SiteKind.DRY_HYDRANT)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Waters:
    """What can be filled from, and what could be."""

    fill_sites: pd.DataFrame  #: columns of fill_sites, with lon and lat
    candidates: pd.DataFrame  #: columns of pond_candidates, with lon and lat
    small_or_far: int  #: water areas that are no candidates: too small, or off every road
    not_understood: tuple[str, ...]  #: id and ``key=value`` of amounts that could not be read


def find_waters(places: Sequence[Place], segments: Segments) -> Waters:
    """
    Return the fill sites and the candidates.

    A site mapped as an area is put where the road comes nearest. A suction point or pond within
    100 ft of a mapped water area draws from it: it carries that area's id as `source_id`, and where
    no volume is mapped, the area's at a draw of 2 ft.
    """
    shaped = [one for one in places if one.shape is not None]
    points = [one for one in shaped if is_water_point(one.tags)]
    bodies = [one for one in shaped if is_water(one.tags) and not is_water_point(one.tags)]
    told = [water_point(one.tags) for one in points]
    point_shapes, body_shapes = (
        in_metres([one.shape for one in some if one.shape is not None], segments)
        for some in (points, bodies)
    )
    body_of = _body_of(told, point_shapes, body_shapes)
    fill_sites = _site_table(points, told, point_shapes, segments)
    for at, body in enumerate(body_of):
        if body >= 0:
            fill_sites.loc[at, "source_id"] = bodies[body].osm_id
            if told[at].volume_source is Source.DEFAULT:
                fill_sites.loc[at, "usable_gal"] = _drawn_gal(body_shapes[[body]])[0]
    free = np.setdiff1d(np.arange(len(bodies)), body_of)
    candidates = _candidate_table([bodies[at] for at in free], body_shapes[free], segments)
    return Waters(
        fill_sites=fill_sites,
        candidates=candidates,
        small_or_far=len(free) - len(candidates),
        not_understood=tuple(
            f"{one.osm_id} {text}"
            for one, point in zip(points, told, strict=True)
            for text in point.not_understood
        ),
    )


def _drawn_gal(areas: NDArray[np.object_]) -> NDArray[np.float64]:
    area_ft2 = shapely.area(areas) / M_PER_FT**2
    return np.asarray(np.floor(area_ft2 * POND_DRAW_FT * GAL_PER_FT3 / 1000) * 1000)


def _body_of(
    told: Sequence[WaterPoint], points: NDArray[np.object_], bodies: NDArray[np.object_]
) -> NDArray[np.int64]:
    """Return the water area that each point draws from; -1 for none."""
    body_of = np.full(len(points), -1)
    drawn = np.array([point.kind in _DRAWN for point in told], dtype=bool)
    if drawn.any() and len(bodies):
        rows = np.flatnonzero(drawn)
        row, body = shapely.STRtree(bodies).query_nearest(
            points[rows], max_distance=SAME_WATER_FT * M_PER_FT, all_matches=False
        )
        body_of[rows[row]] = body
    return body_of


def _site_table(
    places: Sequence[Place],
    told: Sequence[WaterPoint],
    shapes: NDArray[np.object_],
    segments: Segments,
) -> pd.DataFrame:
    at = np.where(shapely.get_dimensions(shapes) > 0, roadside(shapes, segments).place, shapes)
    degrees = in_degrees(at, segments)
    rows = [
        {
            "site_id": place.osm_id,
            "name": point.name,
            "kind": str(point.kind),
            "lat": lat,
            "lon": lon,
            "flow_gpm": round(point.flow_gpm),
            "static_psi": point.static_psi,
            "residual_psi": nan,
            "test_flow_gpm": nan,
            "usable_gal": point.usable_gal,
            "recharge_gpm": nan,
            "source_id": None,
            "fill_positions": 1,
            "handling_min": nan,
            "needs_pumper": None,
            "open_months": None,
            "status": point.status,
            "flow_source": str(point.flow_source),
            "volume_source": str(point.volume_source) if point.usable_gal > 0 else None,
            "positions_source": str(Source.DEFAULT),
        }
        for place, point, (lon, lat) in zip(places, told, degrees, strict=True)
    ]
    return pd.DataFrame(rows, columns=_SITE_COLUMNS)


def _candidate_table(
    places: Sequence[Place], shapes: NDArray[np.object_], segments: Segments
) -> pd.DataFrame:
    beside = roadside(shapes, segments)
    gallons = _drawn_gal(shapes)
    fit = np.flatnonzero(
        (beside.road_ft <= CANDIDATE_ROAD_FT)
        & (gallons >= CANDIDATE_GAL)
        & np.array([one.tags.get("water") not in _FOUL for one in places], dtype=bool)
    )
    rows = [
        _candidate(places[at], float(gallons[at]))
        | {
            "area_ft2": round(shapely.area(shapes[at]) / M_PER_FT**2),
            "road_ft": round(beside.road_ft[at]),
            "road_name": _road_name(beside, at, segments),
        }
        for at in map(int, fit)
    ]
    table = pd.DataFrame(rows, columns=_CANDIDATE_COLUMNS)
    table[["lon", "lat"]] = (
        in_degrees(beside.place[fit], segments) if len(fit) else np.empty((0, 2))
    )
    return table.sort_values("usable_gal", ascending=False, kind="stable", ignore_index=True)


def _candidate(place: Place, gallons: float) -> dict[str, object]:
    running = place.tags.get("water") in _RUNNING or "waterway" in place.tags
    kind = SiteKind.STREAM if running else SiteKind.POND
    seasonal = {place.tags.get(key, "no") for key in ("intermittent", "seasonal")} != {"no"}
    return {
        "site_id": place.osm_id,
        "name": place.tags.get("name", ""),
        "kind": str(kind),
        "flow_gpm": FLOW_GPM[kind],
        "usable_gal": nan if running else gallons,
        "fill_positions": 1,
        "status": "open",
        "flow_source": str(Source.DEFAULT),
        "volume_source": str(Source.DEFAULT),
        "positions_source": str(Source.DEFAULT),
        "seasonal": "yes" if seasonal else "no",
    }


def _road_name(beside: Roadside, at: int, segments: Segments) -> str:
    row = segments.iloc[int(beside.segment[at])]
    return plain(str(row["name"] or row["road_class"]))
