"""Road miles as a rater measures them: the shortest road, not the quickest; and the nearest of."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.roads.network import Network, sense_of
from haulshed.roads.points import Points
from haulshed.roads.search import search
from haulshed.roads.travel import between

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Places from which distances are worked out together; a bound on memory.
_AT_ONCE = 50


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Nearest:
    """The nearest of some places to each access point, shape (P,)."""

    row: Ints  #: of the places; -1 where none is in reach
    distance: Floats  #: infinite where none is in reach


def road_miles(network: Network, places: Points, access: Points) -> Floats:
    """
    Return miles of the shortest road from each place to each of `access`, (places, access).

    As it may be driven: public roads, not against a one-way. Infinite where there is no way.
    """
    along = np.where(np.isfinite(network.forward_min), network.length_mi, np.inf)
    against = np.where(np.isfinite(network.backward_min), network.length_mi, np.inf)
    sense = sense_of(
        network.tail,
        network.head,
        network.length_mi,
        (along, against),
        nodes=len(network.node_ids),
    )
    miles, _ = between(network, search(network, sense, places), access)
    return miles


def nearest(measure: Callable[[Ints], Floats], rows: Ints, *, access: int) -> Nearest:
    """
    Return the nearest of the places `rows` to each of `access` points.

    `measure` gives the distance from each of the rows asked for, shape (asked, access). Of places
    equally near it is the first.
    """
    best = np.full(access, -1, dtype=np.int64)
    distance = np.full(access, np.inf)
    for start in range(0, len(rows), _AT_ONCE):
        some = rows[start : start + _AT_ONCE]
        found = measure(some)
        at = found.argmin(axis=0)
        least = found[at, np.arange(access)]
        closer = least < distance
        best[closer], distance[closer] = some[at[closer]], least[closer]
    return Nearest(row=best, distance=distance)
