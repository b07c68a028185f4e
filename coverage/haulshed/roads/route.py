"""The quickest ways from one place, or to it, piece by piece as they are driven."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra

from haulshed.roads.junctions import Junctions
from haulshed.roads.network import Network, Sense
from haulshed.roads.passage import without
from haulshed.roads.points import Points
from haulshed.roads.search import join, part

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Piece(NamedTuple):
    """A segment, or a part of one, driven from one share along it to another."""

    segment: int
    start: float
    end: float

    @property
    def share(self) -> float:
        """How much of the segment is driven."""
        return abs(self.end - self.start)

    @property
    def turned(self) -> "Piece":
        """The same piece driven the other way."""
        return Piece(self.segment, self.end, self.start)


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A way by road; no pieces: both ends are one place."""

    pieces: tuple[Piece, ...]
    minutes: float  #: on the road: no fixed term of a leg in it
    miles: float

    @property
    def segments(self) -> Ints:
        """The segments in the order in which they are driven."""
        return np.array([piece.segment for piece in self.pieces], dtype=np.int64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ways:
    """The quickest ways between one place and all others, found by one search."""

    network: Network
    junctions: Junctions
    sense: Sense
    towards: bool  #: the ways lead to the place, not from it
    place: Points  #: one point
    minutes: Floats  #: between the place and each junction; infinite: no way
    before: NDArray[np.int32]  #: the junction before each on the search's way
    around: int  #: a segment that is not driven from end to end; -1: none

    def way(self, point: Points) -> Way | None:
        """
        Return the way between the place and one point; None if there is none.

        Of equal ways the straight one counts, then the one by the segment's first end, as in
        :func:`haulshed.roads.travel.between`.
        """
        if not (self.place.on_road.all() and point.on_road.all()):
            return None
        by_end = [self.minutes_by(point, end) for end in (0, 1)]
        gap = float(point.share[0] - self.place.share[0])
        last = int(point.segment[0])
        whole = self.sense.along if gap > 0 else self.sense.against
        straight = part(np.array([abs(gap)]), whole[last : last + 1])[0]
        if self.place.segment[0] == last and straight <= min(by_end):
            return self._driven([Piece(last, float(self.place.share[0]), float(point.share[0]))])
        return self.way_by(point, int(by_end[1] < by_end[0]))

    def minutes_by(self, point: Points, end: int) -> float:
        """Return the minutes between the place and a point by its segment's end 0 or 1."""
        last, share = int(point.segment[0]), float(point.share[0])
        whole = (self.sense.along, self.sense.against)[end][last : last + 1]
        ahead = part(np.array([abs(end - share)]), whole)[0]
        return float(self.minutes[self._junction(last, end)] + ahead)

    def way_by(self, point: Points, end: int) -> Way | None:
        """Return the way between the place and a point by its segment's end 0 or 1."""
        if not np.isfinite(self.minutes_by(point, end)):
            return None
        last = int(point.segment[0])
        met = self._met(self._junction(last, end))
        first = Piece(int(self.place.segment[0]), float(self.place.share[0]), self._leaves_by(met))
        between = [self._quickest(tail, head) for tail, head in pairwise(met)]
        return self._driven([first, *between, Piece(last, float(end), float(point.share[0]))])

    def _junction(self, segment: int, end: int) -> int:
        return int((self.network.tail, self.network.head)[end][segment])

    def _met(self, junction: int) -> list[int]:
        """Return the junctions from the place to one of them."""
        met = []
        while junction < len(self.minutes):
            met.append(junction)
            junction = int(self.before[junction])
        return met[::-1]

    def _leaves_by(self, met: list[int]) -> float:
        """Return the end of the place's own segment by which the junctions are reached."""
        segment, share = int(self.place.segment[0]), self.place.share
        stubs = (
            part(share, self.sense.against[segment : segment + 1])[0],
            part(1 - share, self.sense.along[segment : segment + 1])[0],
        )
        ends = [end for end in (0, 1) if self._junction(segment, end) == met[0]]
        return float(min(ends, key=lambda end: stubs[end]))

    def _quickest(self, tail: int, head: int) -> Piece:
        """Return the quickest segment from one junction to the next, of equal ones the shortest."""
        network, here = self.network, self.junctions.at(tail)
        here = here[here != self.around]
        along = here[(network.tail[here] == tail) & (network.head[here] == head)]
        against = here[(network.head[here] == tail) & (network.tail[here] == head)]
        segment = np.concatenate((along, against))
        minutes = np.concatenate((self.sense.along[along], self.sense.against[against]))
        best = int(np.lexsort((network.length_mi[segment], minutes))[0])
        ends = (0.0, 1.0) if best < len(along) else (1.0, 0.0)
        return Piece(int(segment[best]), *ends)

    def _driven(self, pieces: list[Piece]) -> Way:
        """Return the pieces as they are driven."""
        if self.towards:
            pieces = [piece.turned for piece in reversed(pieces)]
        return way_of(self.network, pieces)


def way_of(network: Network, pieces: Iterable[Piece]) -> Way:
    """Return pieces as a way, without those of no length."""
    driven = tuple(piece for piece in pieces if piece.share > 0)
    minutes = sum(
        piece.share
        * (network.forward_min if piece.end > piece.start else network.backward_min)[piece.segment]
        for piece in driven
    )
    miles = sum(piece.share * network.length_mi[piece.segment] for piece in driven)
    return Way(pieces=driven, minutes=float(minutes), miles=float(miles))


def ways_from(network: Network, place: Points, junctions: Junctions) -> Ways:
    """Return the ways from one place; `junctions` are the network's."""
    return _ways(network, network.outward, place, junctions, towards=False)


def ways_to(network: Network, place: Points, junctions: Junctions) -> Ways:
    """Return the ways to one place."""
    return _ways(network, network.homeward, place, junctions, towards=True)


def ways_around(
    network: Network, place: Points, segment: int, junctions: Junctions, *, towards: bool
) -> Ways:
    """
    Return the ways from one place, or to it, that do not drive through a segment.

    They may end on it: at a point on it they come in by one end and go no farther. The place is not
    on it.
    """
    stopped = np.zeros(len(network.lines), dtype=np.bool_)
    stopped[segment] = True
    left = without(network, stopped)
    whole, through = (
        (network.homeward, left.homeward) if towards else (network.outward, left.outward)
    )
    sense = replace(through, along=whole.along, against=whole.against)
    return replace(_ways(network, sense, place, junctions, towards=towards), around=segment)


def _ways(
    network: Network, sense: Sense, place: Points, junctions: Junctions, *, towards: bool
) -> Ways:
    nodes = len(network.node_ids)
    joined, _ = join(network, sense, place)
    found = dijkstra(joined, indices=np.array([nodes]), return_predecessors=True)
    minutes, before = (rows[0] for rows in found)
    return Ways(
        network=network,
        junctions=junctions,
        sense=sense,
        towards=towards,
        place=place,
        minutes=minutes[:nodes],
        before=before,
        around=-1,
    )
