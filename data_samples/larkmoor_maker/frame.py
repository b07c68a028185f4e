"""Where Larkmoor lies, and the local frame in metres that its geometry is drawn in.

Larkmoor lies in open ocean on purpose: around 48.9° S 123° W, near the point of the South Pacific
that is farther from land than any other. Nobody can take it for a real county.
"""

import math
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from pyproj import CRS, Transformer
from shapely import LineString, Polygon

#: Change it and another district comes out.
SEED = 20417

LON_0, LAT_0 = -123.0, -48.875
MI = 1609.344
FT = 0.3048
ACRE = 43560 * FT**2

_LOCAL = CRS.from_proj4(f"+proj=tmerc +lat_0={LAT_0} +lon_0={LON_0} +k=1 +ellps=WGS84 +units=m")
_TO_DEGREES = Transformer.from_crs(_LOCAL, "EPSG:4326", always_xy=True)

Point2 = tuple[float, float]

#: Corners of the district [mi east, mi north of the middle]; the east side follows a crest.
_BOUNDARY_MI = (
    (-10, -9), (10, -9), (10, 0.4), (9.82, 1.5), (9.9, 2.6), (9.55, 3.7), (9.7, 4.9), (9.3, 6.1),
    (9.42, 7.2), (9.05, 8.2), (9.1, 9), (-6, 9), (-6, 7), (-10, 7),
)  # fmt: skip


def random(part: str) -> np.random.Generator:
    """Return the random numbers of one part, so that turning one leaves the others as they are."""
    return np.random.default_rng([SEED, *part.encode()])


def miles(points: Iterable[Point2]) -> list[Point2]:
    """Return points given in miles, in metres."""
    return [(x * MI, y * MI) for x, y in points]


def boundary() -> Polygon:
    """Return the district's outline."""
    return Polygon(miles(_BOUNDARY_MI))


def degrees(points: Iterable[Sequence[float]]) -> list[Point2]:
    """Return local points as longitude and latitude, to the seven places that OSM keeps."""
    array = np.asarray(list(points), dtype=float)
    lon, lat = _TO_DEGREES.transform(array[:, 0], array[:, 1])
    return [(round(float(x), 7), round(float(y), 7)) for x, y in zip(lon, lat, strict=True)]


def unit(angle: float) -> Point2:
    """Return the unit vector of an angle [rad, anticlockwise from east]."""
    return math.cos(angle), math.sin(angle)


def along(line: LineString, distance: float) -> tuple[Point2, float]:
    """Return the point at `distance` along a line and the line's angle there."""
    here = line.interpolate(distance)
    reach = min(5.0, line.length / 4)
    back = line.interpolate(max(distance - reach, 0))
    ahead = line.interpolate(min(distance + reach, line.length))
    return (here.x, here.y), math.atan2(ahead.y - back.y, ahead.x - back.x)


def spline(points: Sequence[Point2], step: float = 60.0) -> LineString:
    """Return a smooth curve through `points` (Catmull-Rom), a vertex about every `step` metres."""
    first = (2 * points[0][0] - points[1][0], 2 * points[0][1] - points[1][1])
    last = (2 * points[-1][0] - points[-2][0], 2 * points[-1][1] - points[-2][1])
    full = np.array([first, *points, last])
    made: list[Point2] = []
    for a, b, c, d in zip(full, full[1:], full[2:], full[3:], strict=False):
        count = max(2, math.ceil(math.dist(b, c) / step))
        for share in np.arange(count) / count:
            t, t2, t3 = share, share**2, share**3
            p = 2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t2
            p = (p + (3 * b - a - 3 * c + d) * t3) / 2
            made.append((float(p[0]), float(p[1])))
    return LineString([*made, points[-1]])


def meander(line: LineString, swing: float, wave: float, phase: float) -> LineString:
    """Return a line that swings about `line` by `swing` metres over a `wave` of metres."""
    count = max(2, math.ceil(line.length / 50))
    made = []
    for i in range(count + 1):
        distance = line.length * i / count
        (x, y), angle = along(line, distance)
        fade = min(1.0, distance / wave, (line.length - distance) / wave)
        turn = 2 * math.pi * distance / wave + phase + 0.9 * math.sin(distance / wave * 1.7)
        off = fade * swing * math.sin(turn) * (0.75 + 0.35 * math.sin(distance / wave * 2.3))
        made.append((x - off * math.sin(angle), y + off * math.cos(angle)))
    return LineString(made)


def blob(middle: Point2, radii: Point2, rng: np.random.Generator, tilt: float = 0.0) -> Polygon:
    """Return a smooth irregular outline about `middle`, as a lake or a pond has."""
    phases = rng.uniform(0, 2 * math.pi, 3)
    made = []
    for i in range(36):
        a = 2 * math.pi * i / 36
        r = 1 + sum(0.10 / (k + 1) * math.sin((k + 2) * a + p) for k, p in enumerate(phases))
        x, y = r * radii[0] * math.cos(a), r * radii[1] * math.sin(a)
        c, s = unit(tilt)
        made.append((middle[0] + x * c - y * s, middle[1] + x * s + y * c))
    return shapely.simplify(Polygon(made), 0.02 * min(radii))
