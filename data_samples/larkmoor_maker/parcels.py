"""The parcels: the land between roads and waters, cut as surveyors, heirs and builders cut it.

Three steps. Land is halved across its longer side until parcels have the size of their country,
each keeping a front on a road. Then house lots are taken out of the farms along the roads. Cabins
stand apart on the moor and on the islet.
"""

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import Point, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from larkmoor_maker.frame import ACRE, FT, MI, Point2, along, boundary, miles, random
from larkmoor_maker.road import Road, strips
from larkmoor_maker.village import green, village_outline
from larkmoor_maker.water import Waters

COUNT = 3000
#: House lots taken out of farms along the roads.
LOTS = 1020
#: Cabins beyond the reach of a public road, and on the islet that none leads to.
MOOR_CABINS = 62
ISLET_CABINS = 46

_FRONT_M = 1.5
_MOOR_MI = ((-2.2, 5.9), (0.4, 5.7), (4.0, 5.9), (6.4, 5.5), (9.9, 5.3), (9.9, 9.5), (-2.8, 9.5))
_UPLAND_MI = ((-2.4, 9.5), (-2.2, 4.5), (0.9, 0.6), (1.8, -0.7), (6.2, -3.2), (10, -4.5), (10, 9.5))
_SECTIONS_MI = ((-10, -9), (-0.2, -9), (0.15, 0.02), (-10, 0.02))
_MOOR_REACH_M = 430.0
#: Land less than this many times the size aimed at is not cut again.
_NEAR_SIZE = 1.35
#: Half of the thinnest spike and slit that an outline may have [m].
_THIN_M, _SLIT_M = 0.5, 0.1
_SQUARE = "sections"
_TRIES = 60_000
#: Where houses gather: middle [mi], how far it reaches [mi], how strongly.
_HAMLETS = (
    (7.0, -7.0, 2.2, 0.6),
    (-5.9, -4.0, 0.8, 0.9),
    (-5.5, 4.2, 0.8, 0.9),
    (1.9, 0.6, 0.7, 0.9),
    (2.1, -5.1, 0.7, 0.9),
    (5.4, 2.0, 0.6, 0.7),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Parcel:
    """A piece of land and what sort of holding it is."""

    outline: Polygon
    use: str  #: village, lot, farm, cabin


@dataclass(frozen=True, slots=True, kw_only=True)
class _Zone:
    """How land is cut in one part of the district."""

    name: str
    acres: float  #: size aimed at
    smallest_acres: float
    front_m: float  #: shortest front on a road
    uneven: float  #: how far a cut may lie from the middle
    slimmest: float = 0.22  #: shortest side over the longest
    spread: float = 0.55  #: how much sizes differ, as the deviation of a lognormal


_VILLAGE = _Zone(name="village", acres=0.36, smallest_acres=0.17, front_m=17, uneven=0.08,
                 slimmest=0.34, spread=0.1)  # fmt: skip
_ZONES = {
    _SQUARE: _Zone(name=_SQUARE, acres=130, smallest_acres=15, front_m=120, uneven=0.0),
    "ridges": _Zone(name="ridges", acres=95, smallest_acres=6, front_m=60, uneven=0.16),
    "farms": _Zone(name="farms", acres=115, smallest_acres=8, front_m=80, uneven=0.12),
}


@dataclass(order=True, slots=True)
class _Piece:
    """Land that may be cut further, the most oversized first."""

    urgency: float
    number: int
    outline: Polygon = field(compare=False)
    zone: _Zone = field(compare=False)


class _Fronts:
    """The edges of the public roads' strips, to measure fronts against."""

    def __init__(self, roads: Sequence[Road]) -> None:
        self._edges = [road.line.buffer(road.half_strip_m + _FRONT_M) for road in roads]
        self._tree = STRtree(self._edges)

    def length(self, outline: Polygon) -> float:
        """Return the length of an outline that lies on a road [m]."""
        near = self._tree.query(outline, predicate="intersects")
        if not len(near):
            return 0.0
        strip = shapely.union_all([self._edges[i] for i in near])
        return float(outline.exterior.intersection(strip).length)


def make_parcels(roads: Sequence[Road], waters: Waters) -> list[Parcel]:
    """Return the parcels, :data:`COUNT` of them."""
    public = [road for road in roads if road.public]
    fronts = _Fronts(public)
    wet = shapely.union_all([waters.wide().buffer(4), *waters.ponds.values()])
    taken = shapely.union_all([strips(public), wet, green()])
    outline = village_outline()
    village = _pieces(outline.difference(taken), _VILLAGE)
    village_lots = _cut(village, fronts, None)
    cabins = [*_moor_cabins(public, waters), *_islet_cabins(waters, taken)]
    rest = boundary().difference(shapely.union_all([taken, outline, waters.islet]))
    rest = rest.difference(moor(public))
    pieces = [piece for part in shapely.get_parts(rest) for piece in _pieces(part, _zone(part))]
    farms = _cut(pieces, fronts, COUNT - LOTS - len(village_lots) - len(cabins))
    lots, farms = _take_lots(farms, public, fronts)
    groups = {"village": village_lots, "farm": farms, "lot": lots, "cabin": cabins}
    return [
        Parcel(outline=_clean(outline), use=use) for use, cut in groups.items() for outline in cut
    ]


def _clean(outline: Polygon) -> Polygon:
    """Return an outline without spikes and slits too thin to survey, which rounding would cross."""
    shrunk = outline.buffer(-_THIN_M, join_style="mitre")
    opened = shrunk.buffer(_THIN_M, join_style="mitre", mitre_limit=2)
    closed = opened.buffer(_SLIT_M, join_style="mitre").buffer(-_SLIT_M, join_style="mitre")
    whole = max(shapely.get_parts(closed), key=lambda part: part.area)
    return shapely.set_precision(whole.simplify(0.05), 0.05)


def moor(public: Sequence[Road]) -> BaseGeometry:
    """Return the common moor: beyond the holdings along its roads it has no parcels."""
    rough = Polygon(miles(_MOOR_MI)).intersection(boundary())
    held = shapely.union_all([road.line for road in public]).buffer(_MOOR_REACH_M, quad_segs=2)
    parts = shapely.get_parts(rough.difference(held.buffer(200).buffer(-200)).simplify(30))
    return shapely.union_all([part for part in parts if part.area > 200 * ACRE])


def _zone(part: BaseGeometry) -> _Zone:
    """Return the zone of a face of the road map by where its middle lies."""
    middle = part.representative_point()
    if Polygon(miles(_SECTIONS_MI)).contains(middle):
        return _ZONES[_SQUARE]
    upland = Polygon(miles(_UPLAND_MI)).contains(middle)
    return _ZONES["ridges" if upland else "farms"]


def _pieces(land: BaseGeometry, zone: _Zone) -> list[_Piece]:
    parts = [part for part in shapely.get_parts(land) if part.area > zone.smallest_acres * ACRE]
    return [_piece(part, zone, number, 1.0) for number, part in enumerate(parts)]


def _piece(outline: Polygon, zone: _Zone, number: int, size: float) -> _Piece:
    return _Piece(-outline.area / (zone.acres * size * ACRE), number, outline, zone)


def _cut(pieces: list[_Piece], fronts: _Fronts, count: int | None) -> list[Polygon]:
    """Return land cut into `count` parcels; with None, until each has about its zone's size."""
    rng = random(f"cuts {pieces[0].zone.name}")
    heap = list(pieces)
    heapq.heapify(heap)
    done: list[Polygon] = []
    number = len(pieces)
    while heap and (count is None or len(done) + len(heap) < count):
        worst = heapq.heappop(heap)
        small = count is None and -worst.urgency < _NEAR_SIZE
        halves = [] if small else _halved(worst, fronts, rng)
        if not halves:
            done.append(worst.outline)
        for half in halves:
            number += 1
            size = float(rng.lognormal(0, worst.zone.spread))
            heapq.heappush(heap, _piece(half, worst.zone, number, size))
    return done + [piece.outline for piece in sorted(heap)]


def _halved(piece: _Piece, fronts: _Fronts, rng: np.random.Generator) -> list[Polygon]:
    """Return a piece cut in two (or more, where it is crooked); nothing if no cut is sound."""
    zone = piece.zone
    box = np.array(piece.outline.minimum_rotated_rectangle.exterior.coords[:4])
    sides = [(box[0], box[1] - box[0], box[2] - box[1]), (box[1], box[2] - box[1], box[0] - box[1])]
    sides.sort(key=lambda side: -float(np.hypot(*side[1])))
    for spread in (zone.uneven, 0.25, 0.35):
        for corner, longer, across in sides:
            share = 0.5 + spread * float(rng.uniform(-1, 1))
            parts = _parted(piece.outline, corner, longer, across, share)
            sound = _with_scraps(parts, zone, fronts)
            if len(sound) > 1:
                return sound
    return []


def _parted(
    outline: Polygon, corner: np.ndarray, longer: np.ndarray, across: np.ndarray, share: float
) -> list[Polygon]:
    """Return the parts of an outline either side of a line across it."""
    foot = corner + share * longer
    side = Polygon([foot - across, foot + 2 * across, foot + 2 * across + longer,
                    foot - across + longer])  # fmt: skip
    halves = (outline.intersection(side), outline.difference(side))
    parts = [part for half in halves for part in shapely.get_parts(half)]
    return [part for part in parts if isinstance(part, Polygon)]


def _with_scraps(parts: list[Polygon], zone: _Zone, fronts: _Fronts) -> list[Polygon]:
    """Return the parts that can stand alone, each other part joined to a neighbour that can."""
    sound = [part for part in parts if _sound(part, zone, fronts)]
    if len(sound) > 1:
        for scrap in parts:
            if not any(scrap is part for part in sound):
                shared = [part.intersection(scrap).length for part in sound]
                best = int(np.argmax(shared))
                joined = shapely.union_all([sound[best], scrap])
                if not isinstance(joined, Polygon):
                    return []
                sound[best] = joined
    return sound


def _sound(part: Polygon, zone: _Zone, fronts: _Fronts) -> bool:
    if part.area < zone.smallest_acres * ACRE:
        return False
    box = np.array(part.minimum_rotated_rectangle.exterior.coords[:3])
    sides = np.hypot(*(box[1:] - box[:-1]).T)
    slim = sides.min() < zone.slimmest * sides.max()
    return not slim and fronts.length(part) >= zone.front_m


def _take_lots(
    farms: list[Polygon], public: Sequence[Road], fronts: _Fronts
) -> tuple[list[Polygon], list[Polygon]]:
    """Return house lots along the roads and what is left of the farms."""
    rng = random("lots")
    left = list(farms)
    tree = STRtree(farms)
    lengths = np.array([road.line.length for road in public])
    lots: list[Polygon] = []
    for _ in range(_TRIES):
        if len(lots) == LOTS:
            return lots, left
        road = public[int(rng.choice(len(public), p=lengths / lengths.sum()))]
        for rectangle in _row_of_lots(road, rng):
            for i in tree.query(rectangle.centroid, predicate="within"):
                lot = _lot(left[i], rectangle, fronts)
                if lot is not None and len(lots) < LOTS:
                    lots.append(lot[0])
                    left[i] = lot[1]
    msg = f"only {len(lots)} lots found room"
    raise RuntimeError(msg)


def _row_of_lots(road: Road, rng: np.random.Generator) -> list[Polygon]:
    """Return one lot or a short row of them beside a road, none where few would build."""
    count = int(rng.choice([1, 1, 1, 2, 3, 5]))
    front = float(rng.uniform(140, 330)) * FT
    depth = front * float(rng.uniform(1.1, 2.2))
    side = float(rng.choice([-1.0, 1.0]))
    start = float(rng.uniform(0, road.line.length))
    if rng.random() > _settled(road, along(road.line, start)[0]):
        return []
    made = []
    for number in range(count):
        distance = start + number * front
        if distance < road.line.length:
            at, angle = along(road.line, distance)
            made.append(_beside(at, angle, side * road.half_strip_m, (front, side * depth)))
    return made


def _settled(road: Road, at: Point2) -> float:
    """Return how readily houses are built at a place: on paved roads, near village and hamlets."""
    paved = 0.10 if road.tags.get("surface") in {"gravel", "compacted", "dirt"} else 0.2
    near = [
        share * math.exp(-((math.dist(at, (x * MI, y * MI)) / (reach * MI)) ** 2))
        for x, y, reach, share in _HAMLETS
    ]
    return min(1.0, paved + max(near))


def _beside(at: Point2, angle: float, near: float, size: Point2) -> Polygon:
    """Return a rectangle of `size`, front and depth, that begins `near` a road's middle."""
    front, depth = size
    c, s = math.cos(angle), math.sin(angle)
    corners = ((-front / 2, near * 0.9), (front / 2, near * 0.9), (front / 2, near + depth),
               (-front / 2, near + depth))  # fmt: skip
    return Polygon([(at[0] + u * c - v * s, at[1] + u * s + v * c) for u, v in corners])


def _lot(farm: Polygon, rectangle: Polygon, fronts: _Fronts) -> tuple[Polygon, Polygon] | None:
    """Return the lot and the rest of the farm, if both are sound."""
    lot = farm.intersection(rectangle)
    rest = farm.difference(rectangle)
    if not (isinstance(lot, Polygon) and isinstance(rest, Polygon)) or rest.interiors:
        return None
    if lot.area < 0.88 * rectangle.area or rest.area < 3.5 * lot.area:
        return None
    if fronts.length(lot) < 25 or fronts.length(rest) < 30:  # noqa: PLR2004 — fronts [m]
        return None
    return lot, rest


def _moor_cabins(public: Sequence[Road], waters: Waters) -> list[Polygon]:
    """Return cabin plots on the moor, beyond half a mile from every public road."""
    rng = random("cabins")
    far = shapely.union_all([road.line for road in public]).buffer(0.56 * MI)
    wild = moor(public).difference(shapely.union_all([far, waters.all_areas().buffer(60)]))
    plots: list[Polygon] = []
    middles: list[Point] = []
    west, south, east, north = wild.bounds
    while len(plots) < MOOR_CABINS:
        angle, half = float(rng.uniform(0, math.pi)), float(rng.uniform(150, 300)) * FT
        middle = (float(rng.uniform(west, east)), float(rng.uniform(south, north)))
        plot = _beside(middle, angle, -half, (2 * half, 2 * half))
        if wild.contains(plot) and all(Point(middle).distance(m) > 0.11 * MI for m in middles):
            plots.append(plot)
            middles.append(Point(middle))
    return plots


def _islet_cabins(waters: Waters, taken: BaseGeometry) -> list[Polygon]:
    """Return cabin plots on the islet, cut like village lots."""
    zone = _Zone(name="islet", acres=1, smallest_acres=0.4, front_m=0, uneven=0.06)
    land = waters.islet.difference(taken).buffer(-3)
    pieces = _pieces(land, zone)
    fronts = _Fronts([])
    return _cut(pieces, fronts, ISLET_CABINS)
