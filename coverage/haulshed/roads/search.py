"""Many-to-many search: from points on segments to every junction, with the miles of the way."""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from haulshed.roads.elimination import Ladder, Progress, Stubs, sweep
from haulshed.roads.network import Arcs, Network, Sense, cheapest_arcs
from haulshed.roads.points import Points

#: Memory that one batch of sources may take [bytes].
BATCH_BYTES = 2**27
#: Of one source and junction: cost and miles as float64, predecessor as int32.
_CELL_BYTES = 20


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reach:
    """
    Cost and miles of the cheapest way from each source to each junction, [source, node].

    In memory the sources of one junction lie side by side, as they are asked for.
    """

    sources: Points
    sense: Sense
    cost: NDArray[np.float64]  #: infinite where there is no way
    miles: NDArray[np.float64]  #: of that same way


def part(share: NDArray[np.float64], whole: NDArray[np.float64]) -> NDArray[np.float64]:
    """
    Return the cost of a share of a segment: none of it costs nothing, even of a closed one.

    A point at a segment's end *is* the junction, whichever of its segments it was put on.

    Examples
    --------
    >>> part(np.array([0.0, 0.5, 0.5]), np.array([np.inf, np.inf, 4.0])).tolist()
    [0.0, inf, 2.0]
    """
    return np.multiply(share, whole, out=np.zeros_like(whole), where=share > 0)


def search(
    network: Network,
    sense: Sense,
    sources: Points,
    *,
    limit: float = np.inf,
    progress: Progress | None = None,
) -> Reach:
    """
    Return the cheapest way from each of `sources` to each junction, as `sense` goes.

    Each source joins the graph as one more junction with an arc to either end of its segment, so
    one search a source does. A source on no segment reaches nothing. Ways that cost more than
    `limit` are not followed.
    """
    joined, arc_miles = join(network, sense, sources)
    nodes = len(network.node_ids)
    cost = np.empty((nodes, len(sources.segment))).T
    miles = np.empty_like(cost)
    rows = max(1, BATCH_BYTES // (_CELL_BYTES * joined.shape[0]))
    for start in range(0, len(cost), rows):
        batch = np.arange(start, min(start + rows, len(cost)))
        found, predecessor = dijkstra(
            joined, indices=nodes + batch, return_predecessors=True, limit=limit
        )
        cost[batch] = found[:, :nodes]
        miles[batch] = _miles_of_ways(
            predecessor, nodes + batch, joined.indptr, joined.indices, arc_miles
        )[:, :nodes]
        if progress is not None:
            progress(int(batch[-1]) + 1, len(cost))
    return Reach(sources=sources, sense=sense, cost=cost, miles=miles)


def search_by(
    ladder: Ladder,
    network: Network,
    sense: Sense,
    sources: Points,
    *,
    progress: Progress | None = None,
) -> Reach:
    """Return the same as :func:`search` without a limit, for many sources at once."""
    on_road = sources.on_road
    segment = np.where(on_road, sources.segment, 0)
    share, length_mi = sources.share, network.length_mi[segment]
    by_end = (part(1 - share, sense.along[segment]), part(share, sense.against[segment]))
    stubs = Stubs(
        junction=np.stack((network.head[segment], network.tail[segment]), axis=1),
        cost=np.where(on_road[:, None], np.stack(by_end, axis=1), np.inf),
        miles=np.stack(((1 - share) * length_mi, share * length_mi), axis=1),
    )
    cost, miles = sweep(ladder, stubs, progress=progress)
    return Reach(sources=sources, sense=sense, cost=cost.T, miles=miles.T)


def join(
    network: Network, sense: Sense, sources: Points
) -> tuple[csr_array[np.float64, tuple[int, int]], NDArray[np.float64]]:
    """Return the graph with a row for each source below its own, and the miles of its arcs."""
    nodes, count = len(network.node_ids), len(sources.segment)
    row = np.flatnonzero(sources.on_road)
    segment, share = sources.segment[row], sources.share[row]
    to_source, length_mi = np.concatenate((row, row)), network.length_mi[segment]
    arcs = Arcs(
        tail=to_source + nodes,
        head=np.concatenate((network.head[segment], network.tail[segment])),
        cost=np.concatenate(
            (part(1 - share, sense.along[segment]), part(share, sense.against[segment]))
        ),
        miles=np.concatenate(((1 - share) * length_mi, share * length_mi)),
    )
    size = nodes + count
    stubs, stub_miles = cheapest_arcs(arcs, shape=(size, size))
    roads = sense.graph
    starts = np.concatenate((roads.indptr, roads.nnz + stubs.indptr[nodes + 1 :]))
    joined = csr_array(
        (
            np.concatenate((roads.data, stubs.data)),
            np.concatenate((roads.indices, stubs.indices)),
            starts.astype(np.int32),
        ),
        shape=(size, size),
    )
    return joined, np.concatenate((sense.arc_miles, stub_miles))


@njit(cache=True)
def _miles_of_ways(
    predecessor: NDArray[np.int32],
    source: NDArray[np.int64],
    starts: NDArray[np.int32],
    heads: NDArray[np.int32],
    arc_miles: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Add up miles from each source along the search's tree, each junction once."""
    unknown = -1.0
    rows, nodes = predecessor.shape
    miles = np.full((rows, nodes), unknown)
    pending = np.empty(nodes, dtype=np.int64)
    for row in range(rows):
        way = predecessor[row]
        total = miles[row]
        for node in range(nodes):
            if way[node] < 0:
                total[node] = np.inf
        total[source[row]] = 0.0
        for node in range(nodes):
            depth = 0
            here = node
            while total[here] == unknown:
                pending[depth] = here
                depth += 1
                here = way[here]
            while depth > 0:
                depth -= 1
                ahead = pending[depth]
                arc = starts[here]
                while heads[arc] != ahead:
                    arc += 1
                total[ahead] = total[here] + arc_miles[arc]
                here = ahead
    return miles
