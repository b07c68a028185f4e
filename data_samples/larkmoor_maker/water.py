"""The waters: a river that few roads cross, its creeks, a lake with an islet, the ponds."""

import math
from dataclasses import dataclass

import shapely
from shapely import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from larkmoor_maker.frame import FT, MI, blob, meander, miles, random, spline

RIVER_NAME = "River Wend"
RIVER_HALF_WIDTH = 38.0

_RIVER_MI = (
    (-3.1, 10.2), (-3.3, 9.2), (-3.6, 8.2), (-2.6, 7.0), (-3.2, 5.6), (-2.2, 4.4), (-2.6, 3.2),
    (-1.2, 2.2), (-0.6, 0.9), (0.8, 0.4), (1.6, -0.8), (3.0, -1.0), (3.8, -2.2), (5.2, -2.2),
    (6.2, -3.4), (7.6, -3.2), (8.6, -4.4), (10.0, -4.55), (11.2, -4.9),
)  # fmt: skip
_CREEKS_MI = {
    "Sallow Creek": (
        (-4.3, -10), (-3.7, -8.4), (-2.55, -7.3), (-2.3, -5.6), (-1.3, -4.6), (-0.45, -3.3),
        (0.75, -2.5), (1.9, -1.6), (2.2, -0.82),
    ),
    "Pewit Brook": (
        (-9.3, 6.4), (-8.4, 5.2), (-7.5, 3.1), (-6.4, 2.4), (-4.8, 1.75), (-3.4, 2.45),
        (-2.5, 2.85),
    ),
    "Curlew Beck": ((3.1, 7.4), (3.4, 6.2), (2.9, 5.2), (2.75, 3.3), (2.1, 2.45), (1.15, 1.9),
        (0.75, 0.9), (0.9, 0.35), (0.92, 0.05)),
    "Quarry Brook": ((2.5, -9.9), (2.9, -8.7), (4.6, -7.6), (4.85, -6.0), (4.4, -4.4), (5.0, -3.1),
        (5.05, -2.25)),
}  # fmt: skip
_LAKE_MI = (1.9, 7.75)


@dataclass(frozen=True, slots=True, kw_only=True)
class Waters:
    """Every water of the district."""

    river: LineString
    river_area: Polygon
    creeks: dict[str, LineString]
    lake: Polygon  #: the islet is its hole
    islet: Polygon
    ponds: dict[str, Polygon]

    def wide(self) -> BaseGeometry:
        """Return the waters that no road crosses unbridged and no parcel lies in."""
        return shapely.union_all([self.river_area, self.lake])

    def all_areas(self) -> MultiPolygon | Polygon:
        """Return everything that no house stands in."""
        beds = [creek.buffer(12) for creek in self.creeks.values()]
        return shapely.union_all([self.wide(), *beds, *self.ponds.values()])


def waters() -> Waters:
    """Return the waters; the ponds come later, since they lie beside roads."""
    river = meander(spline(miles(_RIVER_MI), 80), 150, 1500, 0.4).simplify(4)
    rng = random("lake")
    shore = blob((_LAKE_MI[0] * MI, _LAKE_MI[1] * MI), (0.95 * MI, 0.62 * MI), rng, 0.35)
    islet = blob(
        ((_LAKE_MI[0] + 0.12) * MI, (_LAKE_MI[1] + 0.02) * MI), (0.36 * MI, 0.22 * MI), rng, 0.5
    )
    area = river.buffer(RIVER_HALF_WIDTH)
    creeks = {
        name: _to_river(meander(spline(miles(points), 80), 90, 900, 1.0), area)
        for name, points in _CREEKS_MI.items()
    }
    return Waters(
        river=river,
        river_area=area.simplify(2),
        creeks=creeks,
        lake=Polygon(shore.exterior, [islet.exterior]),
        islet=islet,
        ponds={},
    )


def _to_river(creek: LineString, river_area: Polygon) -> LineString:
    """Return the part of a creek above the river, simplified."""
    above = shapely.get_parts(creek.difference(river_area))
    return above[0].simplify(6)


def pond(middle: tuple[float, float], acres: float, part: str) -> Polygon:
    """Return a pond of about so many acres."""
    rng = random(f"pond {part}")
    radius = math.sqrt(acres * 43560 / math.pi) * FT
    stretch = float(rng.uniform(1.05, 1.45))
    return blob(middle, (radius * stretch, radius / stretch), rng, float(rng.uniform(0, math.pi)))
