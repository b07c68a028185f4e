"""The village in the south-east corner: a few streets with mains, and a newer subdivision."""

import math

import shapely
from shapely import LineString, Point, Polygon

from larkmoor_maker.frame import MI, Point2, blob, random, spline, unit
from larkmoor_maker.road import Road

#: Where Main Street and Moor Road meet.
MIDDLE = (7.0 * MI, -7.0 * MI)
ROUNDABOUT_M = 17.0
_ANGLE = math.radians(-11.3)
_COLUMN_M = 158.0
_ROW_M = 104.0
#: First and last row of each column of streets, counted from Main Street northwards.
_COLUMN_ROWS = {-4: (-1, 2), -3: (-3, 3), -2: (-3, 4), -1: (-4, 4), 1: (-4, 4), 2: (-3, 4),
                3: (-2, 3), 4: (-1, 2)}  # fmt: skip
_ROW_COLUMNS = {-4: (-1, 1), -3: (-3, 2), -2: (-3, 3), -1: (-4, 4), 1: (-4, 4), 2: (-4, 4),
                3: (-3, 3), 4: (-2, 2)}  # fmt: skip
_COLUMN_NAMES = {-4: "Tanyard Street", -3: "Chapel Street", -2: "Mill Street", -1: "Depot Street",
                 1: "School Street", 2: "Orchard Street", 3: "Granary Street",
                 4: "Pound Street"}  # fmt: skip
_ROW_NAMES = {-4: "Sedge Street", -3: "Heather Street", -2: "Gorse Street",
              -1: "South Front Street", 1: "North Front Street", 2: "Plover Street",
              3: "Lapwing Street", 4: "Dunlin Street"}  # fmt: skip
_STREET = {"highway": "residential", "surface": "asphalt", "maxspeed": "25 mph"}
#: One-way streets either side of Main Street.
_ONE_WAY = {1: "-1", -1: "yes"}
_ONE_WAY_COLUMNS = (-2, 2)
#: Stem of the subdivision and its closes [m from the middle, in the village's own frame].
_STEM = ((-158, 416), (-190, 560), (-330, 700), (-560, 730), (-720, 610))
_CLOSES = ((0.25, 1, 150), (0.42, -1, 110), (0.58, 1, 170), (0.72, -1, 130), (0.88, 1, 150))


def place(x: float, y: float) -> Point2:
    """Return a point of the village's own frame in the district's."""
    c, s = unit(_ANGLE)
    return MIDDLE[0] + x * c - y * s, MIDDLE[1] + x * s + y * c


def village_streets() -> list[Road]:
    """Return the streets; Main Street and the roads through it are drawn elsewhere."""
    roads = []
    for column, (first, last) in _COLUMN_ROWS.items():
        ends = [place(column * _COLUMN_M, row * _ROW_M) for row in (first, last)]
        tags = {**_STREET, "name": _COLUMN_NAMES[column]}
        roads.append(Road(line=LineString(ends), tags=tags))
    for row in _ROW_COLUMNS:
        roads.extend(_row(row))
    return [*roads, *_subdivision(), _roundabout()]


def _row(row: int) -> list[Road]:
    first, last = _ROW_COLUMNS[row]
    tags = {**_STREET, "name": _ROW_NAMES[row]}
    if row not in _ONE_WAY:
        return [_street(row, first, last, tags)]
    west, east = _ONE_WAY_COLUMNS
    return [
        _street(row, first, west, tags),
        _street(row, west, east, {**tags, "oneway": _ONE_WAY[row]}),
        _street(row, east, last, tags),
    ]


def _street(row: int, first: int, last: int, tags: dict[str, str]) -> Road:
    ends = [place(column * _COLUMN_M, row * _ROW_M) for column in (first, last)]
    return Road(line=LineString(ends), tags=tags)


def _subdivision() -> list[Road]:
    stem = spline([place(*point) for point in _STEM], 25).simplify(1)
    tags = {**_STREET, "name": "Sandpiper Drive"}
    roads = [Road(line=stem, tags=tags)]
    for number, (share, side, length) in enumerate(_CLOSES):
        at = stem.interpolate(share, normalized=True)
        ahead = stem.interpolate(share + 0.01, normalized=True)
        angle = math.atan2(ahead.y - at.y, ahead.x - at.x) + side * math.pi / 2
        c, s = unit(angle)
        bend = 0.12 * length * (-1) ** number
        points = [(at.x, at.y), (at.x + c * length / 2 + s * bend, at.y + s * length / 2),
                  (at.x + c * length, at.y + s * length)]  # fmt: skip
        name = ("Teal", "Wigeon", "Pintail", "Shoveler", "Gadwall")[number]
        line = spline(points, 25).simplify(1)
        roads.append(Road(line=line, tags={**_STREET, "name": f"{name} Close"}))
    return roads


def _roundabout() -> Road:
    ring = Point(MIDDLE).buffer(ROUNDABOUT_M, quad_segs=4).exterior
    # Traffic keeps right, so it goes round anticlockwise.
    ring = ring if ring.is_ccw else ring.reverse()
    tags = {"highway": "primary", "junction": "roundabout", "name": "Market Circle",
            "maxspeed": "15 mph", "surface": "asphalt"}  # fmt: skip
    return Road(line=LineString(ring.coords), tags=tags)


def village_outline() -> Polygon:
    """Return the land that is cut into village lots."""
    streets = shapely.union_all([road.line for road in village_streets()])
    return streets.buffer(75, quad_segs=2).buffer(40).buffer(-40).simplify(5)


def islet_lane(islet: Polygon) -> Road:
    """Return the lane on the islet in the lake, which no road leads to."""
    inner = islet.buffer(-95).simplify(6)
    ring = spline([*inner.exterior.coords[:-1:2], inner.exterior.coords[0]], 60).simplify(3)
    tags = {"highway": "unclassified", "surface": "gravel", "name": "Islet Lane"}
    return Road(line=ring, tags=tags)


def green() -> Polygon:
    """Return the village green, which is nobody's parcel."""
    return blob(place(0.5 * _COLUMN_M, 0.5 * _ROW_M), (42, 24), random("green"))
