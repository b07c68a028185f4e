"""The segments of the quickest way between two points."""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra

from haulshed.roads.network import Network
from haulshed.roads.points import Points
from haulshed.roads.search import join, part

Ints = NDArray[np.int64]


def route(network: Network, start: Points, end: Points) -> Ints:
    """
    Return the segments of the quickest way, in the order they are driven; none if there is no way.

    `start` and `end` hold one point each.
    """
    if not (start.on_road.all() and end.on_road.all()):
        return np.zeros(0, np.int64)
    sense, nodes = network.outward, len(network.node_ids)
    joined, _ = join(network, sense, start)
    found = dijkstra(joined, indices=np.array([nodes]), return_predecessors=True)
    minutes, before = (rows[0] for rows in found)
    last = int(end.segment[0])
    whole = np.array([sense.along[last], sense.against[last]])
    ahead = part(np.array([end.share[0], 1 - end.share[0]]), whole)
    ends = np.array([network.tail[last], network.head[last]])
    by_end = minutes[ends] + ahead
    gap = float(end.share[0] - start.share[0])
    straight = part(np.array([abs(gap)]), whole[:1] if gap > 0 else whole[1:])[0]
    if start.segment[0] == last and straight <= by_end.min():
        return np.array([last])
    if not np.isfinite(by_end).any():
        return np.zeros(0, np.int64)
    junctions = _back(before, int(ends[by_end.argmin()]), start=nodes)
    driven = [_quickest(network, *pair) for pair in pairwise(junctions)]
    first = [int(start.segment[0])] if _leaves(network, start, junctions[0]) else []
    return np.array([*first, *driven, *([last] if _leaves(network, end, junctions[-1]) else [])])


def _leaves(network: Network, point: Points, junction: int) -> bool:
    """Say whether any of a point's segment lies between it and a junction at its end."""
    share, segment = float(point.share[0]), int(point.segment[0])
    at_tail = network.tail[segment] == junction and share == 0
    return not (at_tail or (network.head[segment] == junction and share == 1))


def _back(before: NDArray[np.int32], junction: int, *, start: int) -> list[int]:
    """Return the junctions on the way to one of them, in the order they are met."""
    met = []
    while junction != start:
        met.append(junction)
        junction = int(before[junction])
    return met[::-1]


def _quickest(network: Network, tail: int, head: int) -> int:
    """Return the quickest segment from one junction to the next, of equal ones the shortest."""
    along = np.flatnonzero((network.tail == tail) & (network.head == head))
    against = np.flatnonzero((network.tail == head) & (network.head == tail))
    segment = np.concatenate((along, against))
    minutes = np.concatenate((network.forward_min[along], network.backward_min[against]))
    return int(segment[np.lexsort((network.length_mi[segment], minutes))[0]])
