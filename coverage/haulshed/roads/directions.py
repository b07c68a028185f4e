"""A way as a driver is told it: where to turn, onto what, and how far."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import atan2, degrees, hypot

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.ops import substring

from haulshed.roads.junctions import Junctions
from haulshed.roads.network import Network
from haulshed.roads.route import Piece, Way
from haulshed.units import FT_PER_MI

Bools = NDArray[np.bool_]

#: Angles at which one word ends and the next begins [degrees off straight]. Common practice: no
#: standard says where a turn begins.
_STRAIGHT, _BEAR, _TURN, _SHARP = 25.0, 50.0, 125.0, 170.0
#: Another road is the straighter one if it is so by this [degrees].
_STRAIGHTER = 10.0
#: Road on either side of a junction over which its direction is taken [m]: what a driver sees.
_SEEN_M = 20.0
#: An unnamed piece this short between two roads is a part of their junction [m].
_LINK_M = 30.0
#: A one-way ring of one way no longer than this is a roundabout [mi]: 300 ft across.
_RING_MI = 1000 / FT_PER_MI
#: Nearer to the road's line than this a place is on neither side [m].
_BESIDE_M = 3.0

_COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west")
COMPASS = (*_COMPASS, "north-west")


class Turn(StrEnum):
    """What a driver does at a junction."""

    START = "start"
    STRAIGHT = "straight on"
    BEAR_LEFT = "bear left"
    BEAR_RIGHT = "bear right"
    LEFT = "turn left"
    RIGHT = "turn right"
    SHARP_LEFT = "sharp left"
    SHARP_RIGHT = "sharp right"
    U_TURN = "turn round"
    ROUNDABOUT = "roundabout"


class Side(StrEnum):
    """On which side of the road a place lies, as one comes to it."""

    LEFT = "left"
    RIGHT = "right"
    ON_ROAD = "ahead"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One instruction, and the road driven from there to the next one."""

    turn: Turn
    exit: int  #: of a roundabout, counted from where it is entered; 0: no roundabout
    name: str  #: of the road driven; empty: it has none
    road_class: str
    same_road: bool  #: it has the name of the road before
    heading: str  #: at its beginning, one of eight
    miles: float
    minutes: float
    unpaved_miles: float
    xy: tuple[float, float]  #: where it begins [m]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Directions:
    """A whole way in words."""

    steps: tuple[Step, ...]
    side: Side  #: where the place lies to which it leads
    way: Way
    line: NDArray[np.float64]  #: as it is driven [m], shape (n, 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Roads:
    """What directions are read from: one for all ways over a network."""

    network: Network
    junctions: Junctions
    ring: Bools  #: segments of roundabouts
    names: NDArray[np.object_]
    road_class: NDArray[np.object_]
    unpaved: Bools


@dataclass(frozen=True, slots=True, kw_only=True)
class _Driven:
    """A piece with what can be seen of it."""

    piece: Piece
    name: str
    line: shapely.LineString  #: as it is driven

    @property
    def arrives(self) -> float:
        """Direction at its end, in degrees from north."""
        seen = self.line.interpolate(max(self.line.length - _SEEN_M, 0.0))
        return bearing(seen.coords[0], self.line.coords[-1])

    @property
    def leaves(self) -> float:
        """Direction at its beginning."""
        return bearing(self.line.coords[0], self.line.interpolate(_SEEN_M).coords[0])


def roads_of(network: Network, junctions: Junctions) -> Roads:
    """Return a network ready for directions."""
    segments = network.segments
    return Roads(
        network=network,
        junctions=junctions,
        ring=_rings(network),
        names=segments["name"].fillna("").to_numpy(dtype=object),
        road_class=segments["road_class"].to_numpy(dtype=object),
        unpaved=segments["unpaved"].to_numpy(dtype=bool),
    )


def bearing(start: Sequence[float], end: Sequence[float]) -> float:
    """
    Return the direction from one point to another, in degrees from north.

    Examples
    --------
    >>> bearing((0, 0), (1, 0)), bearing((0, 0), (-1, -1))
    (90.0, 225.0)
    """
    return degrees(atan2(end[0] - start[0], end[1] - start[1])) % 360


def off_straight(arrives: float, leaves: float) -> float:
    """
    Return how far one turns [degrees], to the right above 0, -180 < x <= 180.

    Examples
    --------
    >>> off_straight(350.0, 80.0), off_straight(10.0, 280.0), off_straight(0.0, 180.0)
    (90.0, -90.0, 180.0)
    """
    return 180 - (180 - (leaves - arrives)) % 360


def turn_of(angle: float) -> Turn:
    """
    Return the word for a turn, to the right above 0.

    Examples
    --------
    >>> [turn_of(angle).value for angle in (-10, 40, -90, 150, 178)]
    ['straight on', 'bear right', 'turn left', 'sharp right', 'turn round']
    """
    size, right = abs(angle), angle > 0
    if size <= _STRAIGHT:
        return Turn.STRAIGHT
    if size <= _BEAR:
        return Turn.BEAR_RIGHT if right else Turn.BEAR_LEFT
    if size <= _TURN:
        return Turn.RIGHT if right else Turn.LEFT
    if size <= _SHARP:
        return Turn.SHARP_RIGHT if right else Turn.SHARP_LEFT
    return Turn.U_TURN


def compass(direction: float) -> str:
    """
    Return the point of the compass nearest to a direction in degrees from north.

    Examples
    --------
    >>> compass(0.0), compass(100.0), compass(340.0)
    ('north', 'east', 'north')
    """
    return COMPASS[round(direction / 45) % 8]


def directions(roads: Roads, way: Way, place: tuple[float, float]) -> Directions:
    """
    Return a way in words; `place` [m] is where it leads, beside the road.

    A driver is told to turn where the road gets another name, and where one does not simply follow
    the straightest road. A bend without a junction is no turn.
    """
    driven = [_driven(roads, piece) for piece in way.pieces]
    parts = list(_parts(roads, driven))
    begins = [*(begin for begin, _ in parts), len(driven)]
    steps = tuple(
        _step(roads, driven[begin:end], said)
        for (begin, end), (_, said) in zip(pairwise(begins), parts, strict=True)
    )
    last = driven[-1].line if driven else None
    line = [np.asarray(one.line.coords)[:, :2] for one in driven]
    return Directions(
        steps=steps,
        side=_side(last, place),
        way=way,
        line=np.concatenate(line) if line else np.zeros((0, 2)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Said:
    """What is said at the beginning of a step."""

    turn: Turn
    exit: int = 0
    same_road: bool = False


_START = _Said(turn=Turn.START)


def _driven(roads: Roads, piece: Piece) -> _Driven:
    line = roads.network.lines[piece.segment]
    if piece.share < 1:
        line = substring(line, piece.start, piece.end, normalized=True)
    elif piece.end < piece.start:
        line = line.reverse()
    return _Driven(piece=piece, name=str(roads.names[piece.segment]), line=line)


def _parts(roads: Roads, driven: Sequence[_Driven]) -> Iterator[tuple[int, _Said]]:
    """Yield where each step begins, by the number of its first piece, and what is said there."""
    if not driven:
        return
    yield 0, _START
    at = 1
    while at < len(driven):
        past = _past_junction(roads, driven, at)
        said = _said(roads, driven, at, past)
        if said is not None:
            yield at, said
        at = past + 1


def _past_junction(roads: Roads, driven: Sequence[_Driven], at: int) -> int:
    """Return the first piece from `at` on that is neither in a roundabout nor a mere link."""
    past = at
    if roads.ring[driven[at].piece.segment] and not roads.ring[driven[at - 1].piece.segment]:
        while past < len(driven) - 1 and roads.ring[driven[past].piece.segment]:
            past += 1
        return past
    while past < len(driven) - 1 and not driven[past].name and driven[past].line.length < _LINK_M:
        past += 1
    return past


def _said(roads: Roads, driven: Sequence[_Driven], at: int, past: int) -> _Said | None:
    """Return what is said between the pieces before `at` and from `past` on; None: nothing."""
    before, after = driven[at - 1], driven[past]
    same_road = before.name == after.name
    if roads.ring[driven[at].piece.segment] and not roads.ring[before.piece.segment]:
        exits = sum(_is_exit(roads, one) for one in driven[at:past])
        return _Said(turn=Turn.ROUNDABOUT, exit=exits, same_road=same_road)
    angle = off_straight(before.arrives, after.leaves)
    turn = turn_of(angle)
    others = [
        off_straight(before.arrives, other)
        for number in range(at, past + 1)
        for other in _others(roads, driven[number - 1], driven[number])
    ]
    straighter = any(abs(other) < abs(angle) - _STRAIGHTER for other in others)
    if turn is Turn.STRAIGHT and straighter:
        turn = Turn.BEAR_RIGHT if angle > 0 else Turn.BEAR_LEFT
    if same_road and (turn is Turn.STRAIGHT or not others):
        return None
    return _Said(turn=turn, same_road=same_road)


def _others(roads: Roads, before: _Driven, after: _Driven) -> Iterator[float]:
    """Yield the directions of the other roads that may be taken from between two pieces."""
    junction = _junction(roads.network, after.piece)
    for segment in roads.junctions.at(junction).tolist():
        if segment not in (before.piece.segment, after.piece.segment):
            out = _out_of(roads.network, segment, junction)
            if out is not None:
                yield _driven(roads, out).leaves


def _junction(network: Network, piece: Piece) -> int:
    """Return the junction at which a piece begins."""
    ends = network.tail if piece.end > piece.start else network.head
    return int(ends[piece.segment])


def _out_of(network: Network, segment: int, junction: int) -> Piece | None:
    """Return a segment as it is driven away from a junction; None where it may not be."""
    if network.tail[segment] == junction and np.isfinite(network.forward_min[segment]):
        return Piece(segment, 0.0, 1.0)
    if network.head[segment] == junction and np.isfinite(network.backward_min[segment]):
        return Piece(segment, 1.0, 0.0)
    return None


def _is_exit(roads: Roads, driven: _Driven) -> bool:
    """Say whether a road leaves the roundabout where a piece of it ends."""
    junction = _junction(roads.network, driven.piece.turned)
    return any(
        not roads.ring[segment] and _out_of(roads.network, segment, junction) is not None
        for segment in roads.junctions.at(junction).tolist()
    )


def _rings(network: Network) -> Bools:
    """Return the segments of roundabouts: of a short way that runs one way round to its start."""
    one_way = np.isfinite(network.forward_min) != np.isfinite(network.backward_min)
    one_way &= (network.segments["road_class"] != "service").to_numpy(dtype=bool)
    ways = network.segments["way_id"].to_numpy()
    _, number = np.unique(ways, return_inverse=True)
    ends = np.concatenate((network.tail, network.head)).astype(np.int64)
    pair, meets = np.unique(np.stack((np.tile(number, 2), ends)), axis=1, return_counts=True)
    closed = np.bincount(pair[0], weights=meets != 2) == 0  # noqa: PLR2004 — in and out of it
    short = np.bincount(number, weights=network.length_mi) <= _RING_MI
    all_one_way = np.bincount(number, weights=~one_way) == 0
    return np.asarray((closed & short & all_one_way)[number])


def _step(roads: Roads, driven: Sequence[_Driven], said: _Said) -> Step:
    """Return a step; its road is the one that most of it runs on."""
    network = roads.network
    pieces = [one.piece for one in driven]
    road = max(driven, key=lambda one: (bool(one.name), one.line.length))
    miles = [piece.share * network.length_mi[piece.segment] for piece in pieces]
    minutes = [
        piece.share
        * (network.forward_min if piece.end > piece.start else network.backward_min)[piece.segment]
        for piece in pieces
    ]
    begins = driven[0].line.coords[0]
    return Step(
        turn=said.turn,
        exit=said.exit,
        name=road.name,
        road_class=str(roads.road_class[road.piece.segment]),
        same_road=said.same_road,
        heading=compass(driven[0].leaves),
        miles=float(sum(miles)),
        minutes=float(sum(minutes)),
        unpaved_miles=float(
            sum(m for piece, m in zip(pieces, miles, strict=True) if roads.unpaved[piece.segment])
        ),
        xy=(float(begins[0]), float(begins[1])),
    )


def _side(line: shapely.LineString | None, place: tuple[float, float]) -> Side:
    """Return the side of a line's end on which a place lies."""
    if line is None:
        return Side.ON_ROAD
    end = line.coords[-1]
    seen = line.interpolate(max(line.length - _SEEN_M, 0.0)).coords[0]
    along = (end[0] - seen[0], end[1] - seen[1])
    off = (place[0] - end[0], place[1] - end[1])
    across_m = (along[0] * off[1] - along[1] * off[0]) / hypot(*along)
    if abs(across_m) < _BESIDE_M:
        return Side.ON_ROAD
    return Side.LEFT if across_m > 0 else Side.RIGHT
