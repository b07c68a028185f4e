"""The main structure of each parcel: where it stands, what it is, how one drives to it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, STRtree
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from larkmoor_maker.frame import FT, Point2, random
from larkmoor_maker.parcels import Parcel
from larkmoor_maker.road import Road
from larkmoor_maker.water import Waters

#: Distance from the road's middle to the structure [ft]: median, and deviation of its logarithm.
_SETBACK_FT = {"village": (62, 0.16), "lot": (125, 0.35), "farm": (430, 0.75), "cabin": (300, 0.2)}
_SETBACK_LEAST_FT, _SETBACK_MOST_FT = 48, 2000
#: Share of the drives that somebody has mapped, of those long enough to bother.
_MAPPED_SHARE = 0.40
_MAPPED_FROM_M = 75.0
_YARD_M = 14.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Building:
    """A parcel with its main structure; `drive` leads from the road nearly to the door."""

    parcel: Parcel
    at: Point2
    drive: LineString | None


def make_buildings(
    parcels: Sequence[Parcel], roads: Sequence[Road], waters: Waters
) -> list[Building]:
    """Return each parcel with its structure."""
    rng = random("buildings")
    public = [road for road in roads if road.public and "bridge" not in road.tags]
    tree = STRtree([road.line for road in public])
    wet = waters.all_areas()
    shapely.prepare(wet)
    made = []
    for parcel in parcels:
        near = tree.query(parcel.outline, predicate="dwithin", distance=20)
        fronts = shapely.union_all([public[i].line for i in near])
        at = _stand(parcel, fronts, wet, rng)
        drive = (
            _drive(parcel.outline, at, fronts, wet, rng) if parcel.use in {"lot", "farm"} else None
        )
        made.append(Building(parcel=parcel, at=at, drive=drive))
    return made


def drive_roads(buildings: Sequence[Building]) -> list[Road]:
    """Return the mapped drives as roads."""
    tags = {"highway": "service", "service": "driveway"}
    private = {**tags, "access": "private"}
    drives = [building.drive for building in buildings if building.drive is not None]
    return [
        Road(line=drive, tags=private if number % 4 == 0 else tags)
        for number, drive in enumerate(drives)
    ]


def _stand(
    parcel: Parcel, fronts: BaseGeometry, wet: BaseGeometry, rng: np.random.Generator
) -> Point2:
    """Return where the structure stands: inside, set back from the road, out of the water."""
    outline = parcel.outline
    median, deviation = _SETBACK_FT[parcel.use]
    wanted = median * math.exp(float(rng.normal(0, deviation)))
    setback = min(max(wanted, _SETBACK_LEAST_FT), _SETBACK_MOST_FT) * FT
    inner = outline.buffer(-min(12.0, 0.16 * math.sqrt(outline.area)))
    if wet.intersects(outline):
        inner = inner.difference(wet.buffer(15))
    if fronts.is_empty:
        return _random_point(inner, rng)
    local = fronts.intersection(shapely.box(*outline.buffer(60).bounds))
    for slack in (0.06, 0.15, 0.3, 0.6, 0.9):
        band = local.buffer(setback * (1 + slack)).difference(local.buffer(setback * (1 - slack)))
        spot = inner.intersection(band)
        if spot.area > 1:
            return _random_point(spot, rng)
    return _random_point(inner, rng)


def _random_point(area: BaseGeometry, rng: np.random.Generator) -> Point2:
    """Return a point drawn from an area, a point of its largest part if drawing fails."""
    largest = max(shapely.get_parts(area), key=lambda part: part.area)
    west, south, east, north = largest.bounds
    for _ in range(60):
        point = Point(float(rng.uniform(west, east)), float(rng.uniform(south, north)))
        if largest.contains(point):
            return point.x, point.y
    point = largest.representative_point()
    return point.x, point.y


def _drive(
    outline: Polygon, at: Point2, fronts: BaseGeometry, wet: BaseGeometry, rng: np.random.Generator
) -> LineString | None:
    """Return the mapped drive from the road to the yard; None where there is none."""
    mapped = rng.random() < _MAPPED_SHARE
    bend = float(rng.uniform(-0.12, 0.12))
    if fronts.is_empty or not mapped:
        return None
    mouth, _ = nearest_points(fronts, Point(at))
    dx, dy = at[0] - mouth.x, at[1] - mouth.y
    length = math.hypot(dx, dy)
    if length < _MAPPED_FROM_M:
        return None
    reach = 1 - _YARD_M / length
    knee = (mouth.x + 0.55 * dx - bend * dy, mouth.y + 0.55 * dy + bend * dx)
    line = LineString([(mouth.x, mouth.y), knee, (mouth.x + reach * dx, mouth.y + reach * dy)])
    beyond = line.difference(outline)
    outside = beyond.length - beyond.intersection(fronts.buffer(17)).length
    return None if outside > 0.1 or line.intersects(wet) else line  # noqa: PLR2004 — rounding [m]
