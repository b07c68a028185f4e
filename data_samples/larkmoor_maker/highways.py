"""The roads drawn by hand: the highway, the county roads, and the section lines of the old survey.

Distances are miles east and north of the district's middle.
"""

from shapely import LineString

from larkmoor_maker.frame import MI, miles, random, spline
from larkmoor_maker.road import Road
from larkmoor_maker.water import Waters

_HIGHWAY = {"highway": "primary", "ref": "12", "name": "Highway 12", "maxspeed": "55 mph",
            "surface": "asphalt"}  # fmt: skip
_COUNTY = {"highway": "secondary", "maxspeed": "50 mph", "surface": "asphalt"}
_TOWN = {"highway": "tertiary", "surface": "asphalt"}
_PLAIN = {"highway": "unclassified"}
_GRAVEL = {"highway": "unclassified", "surface": "gravel"}
_TRACK = {"highway": "track", "surface": "dirt"}

#: name, tags, may cross the river, points [mi]
_DRAWN = (
    ("Highway 12", _HIGHWAY, False, (
        (-13, -4), (-10, -4), (-7, -4), (-4, -4), (-1.6, -4), (0.2, -4.3), (2.2, -5.1),
        (4.2, -6.1), (5.6, -6.72), (7.0, -7.0), (8.4, -7.28), (10, -7.75), (12.8, -8.1))),
    ("Stage Road", _COUNTY, False, (
        (-6, -11), (-6, -9), (-6, -7), (-5.97, -6), (-5.94, -5), (-5.94, -2), (-5.94, 0),
        (-6.15, 1.2), (-5.7, 2.6), (-5.5, 4.2), (-5.95, 5.6), (-5.4, 7.0), (-5.15, 9), (-5, 11.2))),
    ("Moor Road", _COUNTY, True, (
        (7.0, -7.0), (7.12, -6.2), (6.8, -5.2), (7.0, -4.2), (6.9, -3.3), (6.7, -2.2),
        (6.0, -0.9), (6.2, 0.6), (5.4, 2.0), (5.6, 3.6), (4.8, 5.2), (5.1, 6.8), (4.5, 8.2),
        (4.7, 9.2), (4.6, 11.3))),
    ("Ferry Road", {**_TOWN, "maxspeed": "45 mph"}, True, (
        (0.2, -4.3), (0.15, -3.2), (0.1, -2.0), (0.6, -1.0), (1.2, -0.2), (1.9, 0.6),
        (2.6, 1.5), (3.6, 2.1), (4.6, 2.2), (5.4, 2.0))),
    ("Cold Spring Road", _TOWN, True, (
        (-12.2, 4.3), (-10, 4.2), (-8.4, 4.5), (-7, 4.0), (-5.5, 4.2), (-4.2, 3.9), (-3.3, 4.1),
        (-2.35, 3.9), (-1.4, 4.3), (-0.2, 3.9), (0.8, 4.5), (2.2, 4.1), (3.6, 4.7), (4.8, 5.2))),
    ("Upper Ford Lane", _GRAVEL, True, (
        (-5.77, 6.2), (-4.4, 6.5), (-3.6, 6.2), (-2.9, 6.3), (-2.0, 6.7), (-1.0, 6.4),
        (-0.2, 7.05), (0.35, 7.2), (0.6, 8.3), (0.3, 8.75))),
    ("North Bank Road", {**_TOWN, "surface": "compacted"}, False, (
        (-1.4, 4.3), (-1.6, 3.3), (-0.4, 2.6), (0.25, 1.5), (0.75, 1.25), (1.3, 1.15),
        (1.9, 0.6))),
    ("North Bank Road", _TOWN, False, (
        (1.9, 0.6), (2.6, -0.1), (3.7, -0.35), (4.5, -1.35), (5.7, -1.5), (6.35, -1.5))),
    ("Heronry Road", _GRAVEL, False, (
        (6.7, -2.2), (7.7, -2.35), (8.8, -3.3), (9.4, -3.75), (10.6, -3.9))),
    ("South Bank Road", _PLAIN, False, (
        (0.3, -1.5), (1.4, -1.95), (2.7, -2.05), (3.5, -3.1), (4.9, -3.2), (5.8, -4.2),
        (7.0, -4.2))),
    ("Eastfield Road", _PLAIN, False, (
        (7.0, -4.2), (7.8, -4.9), (8.7, -5.4), (10, -5.7), (11, -5.8))),
    ("Quarry Road", _TOWN, False, (
        (7.0, -7.0), (6.95, -7.9), (7.2, -8.5), (7.0, -9.2), (6.9, -11))),
    ("Tolland Road", _TOWN, False, (
        (2.2, -5.1), (2.0, -6.3), (1.5, -7.4), (1.7, -9), (1.6, -10.6))),
    ("Moor Track", _TRACK, False, (
        (4.6, 8.5), (5.6, 8.35), (6.5, 7.75), (7.4, 8.1), (8.6, 7.7))),
    ("Peat Track", _TRACK, False, (
        (5.08, 6.7), (6.2, 6.5), (7.2, 6.95), (8.3, 6.3))),
    ("Foxglove Park", {"highway": "service", "access": "private", "surface": "gravel"}, False, (
        (8.7, -5.4), (8.95, -6.0), (9.5, -6.25), (9.35, -6.7))),
)  # fmt: skip

#: The survey's lines from west to east, and from south to north [mi].
_LINES_X = range(-10, 0)
_LINES_Y = range(-9, 1)
#: The survey was corrected here: lines north of it lie a little farther east.
_CORRECTION_Y = -6
_CORRECTION_MI = 0.06
_STAGE_X, _HIGHWAY_Y = -6, -4
_MISSING_SHARE = 0.10
_GRAVEL_SHARE = 0.55
_RESIDENTIAL_SHARE = 0.6


def drawn_roads() -> list[Road]:
    """Return the roads drawn by hand."""
    return [
        Road(line=spline(miles(points)).simplify(3), tags={"name": name, **tags}, spans=spans)
        for name, tags, spans, points in _DRAWN
    ]


def section_roads(waters: Waters) -> list[Road]:
    """Return the mile grid, cut off at the river, some of it never built and much of it gravel."""
    rng = random("sections")
    roads = []
    for name, points in _section_lines():
        kind = "residential" if rng.random() < _RESIDENTIAL_SHARE else "unclassified"
        tags = {"name": name, "highway": kind}
        if rng.random() < _GRAVEL_SHARE:
            tags["surface"] = "gravel"
        for start, end in _built(points, rng.random(len(points)) >= _MISSING_SHARE):
            line = LineString(miles(points[start : end + 1]))
            roads.extend(Road(line=line, tags=tags).without(waters.river_area.buffer(110)))
    return [road for road in roads if road.line.interpolate(0.5, normalized=True).x < -0.05 * MI]


def _section_lines() -> list[tuple[str, list[tuple[float, float]]]]:
    """Return the survey's lines with a point at every crossing [mi]."""
    lines = []
    for number, x in enumerate(_LINES_X, start=1):
        name = f"{chr(64 + number)} Line Road"
        if x == _STAGE_X:
            continue
        south = [y for y in _LINES_Y if y <= _CORRECTION_Y]
        north = [y for y in _LINES_Y if y >= _CORRECTION_Y]
        lines.append((name, [(float(x), float(y)) for y in south]))
        lines.append((name, [(x + _CORRECTION_MI, float(y)) for y in north]))
    for number, y in enumerate(_LINES_Y, start=1):
        if y == _HIGHWAY_Y:
            continue
        shift = _CORRECTION_MI if y > _CORRECTION_Y else 0.0
        xs = [x + shift for x in _LINES_X]
        xs.append(0.12 if y > _CORRECTION_Y - 1 else -0.4)
        lines.append((f"{number} Mile Road", [(float(x), float(y)) for x in xs]))
    return lines


def _built(points: list[tuple[float, float]], there: "list[bool]") -> list[tuple[int, int]]:
    """Return first and last index of each stretch of a line that was built."""
    stretches, start = [], 0
    for i in range(1, len(points)):
        if not there[i] or i == len(points) - 1:
            end = i if there[i] else i - 1
            if end > start:
                stretches.append((start, end))
            start = i
    return stretches
