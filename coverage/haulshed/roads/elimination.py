"""
Many-to-many search by eliminating junctions: one set-up, then two sweeps serve all sources at once.

Junctions are taken out one by one, few-branched ones first; those that outlive a junction are
joined past it, so that no way is lost. A search then goes up, from each junction to the later ones
that it is joined to, and down again: two passes over arrays, the same for every source. Exact for
costs of any kind that add up and are not negative. Elimination orders and their fill are those of
sparse matrices [1]_.

References
----------
.. [1] T. A. Davis, *Direct Methods for Sparse Linear Systems*, SIAM, 2006, ch. 7.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from queue import SimpleQueue
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.sparse import csr_array, diags_array
from scipy.sparse.linalg import splu

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Sources swept together: a fixed number for the processor's vectors, few enough for its cache.
WIDTH = 32
#: Sweeps at once; each is bound by memory, more than two gain little.
THREADS = 2


#: Called with the number of sources done and of all.
Progress = Callable[[int, int], None]


class Stubs(NamedTuple):
    """What it takes from each source to the junctions at its segment's ends, (sources, 2)."""

    junction: Ints
    cost: Floats  #: infinite where that end may not be driven to
    miles: Floats


class Ladder(NamedTuple):
    """
    Junctions in the order of their elimination, each joined to later ones.

    The k-th to go has the arcs ``starts[k]`` to ``starts[k + 1]``.
    """

    place: Ints  #: of each junction of the network in the order
    starts: Ints
    upper: Ints  #: place of the later junction of each arc, rising within one junction
    up: Floats  #: cost from the earlier to the later one; infinite where there is no way
    up_miles: Floats
    down: Floats  #: cost from the later to the earlier one
    down_miles: Floats

    @property
    def turned(self) -> "Ladder":
        """The same for all arcs turned."""
        return self._replace(
            up=self.down, up_miles=self.down_miles, down=self.up, down_miles=self.up_miles
        )

    @property
    def arcs_per_junction(self) -> float:
        """How far elimination has filled the graph; what a sweep costs."""
        return len(self.upper) / max(1, len(self.place))


class Graph(NamedTuple):
    """Arcs by the junction that they leave, as a sparse matrix keeps them."""

    starts: NDArray[np.int32]
    heads: NDArray[np.int32]
    cost: Floats
    miles: Floats


def build_ladder(graph: "csr_array[np.float64, tuple[int, int]]", arc_miles: Floats) -> Ladder:
    """Return the ladder of a graph of costs; `arc_miles` stand in the order of its data."""
    place, starts, upper = _filled(graph)
    up, up_miles, down, down_miles = (np.full(len(upper), np.inf) for _ in range(4))
    ladder = Ladder(place, starts, upper, up, up_miles, down, down_miles)
    _lay_down(Graph(graph.indptr, graph.indices, graph.data, arc_miles), ladder)
    _eliminate(ladder)
    return ladder


def sweep(
    ladder: Ladder, first: Stubs, *, progress: Progress | None = None
) -> tuple[Floats, Floats]:
    """
    Return cost and miles to each junction from each source, both of shape (junctions, sources).

    Infinite where there is no way. `progress` is called with the sources done and all.
    """
    sources, nodes = len(first.junction), len(ladder.place)
    cost, miles = np.empty((nodes, sources)), np.empty((nodes, sources))
    # To take fresh memory for every sweep costs as much as the sweep.
    free: SimpleQueue[Floats] = SimpleQueue()
    for _ in range(THREADS):
        free.put(np.empty((nodes, 2 * WIDTH)))

    def part(start: int) -> int:
        end = min(start + WIDTH, sources)
        rows = slice(start, end)
        own = Stubs(first.junction[rows], first.cost[rows], first.miles[rows])
        ways = free.get()
        _sweep(ladder, own, ways, (cost[:, rows], miles[:, rows]))
        free.put(ways)
        return end

    with ThreadPoolExecutor(THREADS) as threads:
        for done in threads.map(part, range(0, sources, WIDTH)):
            if progress is not None:
                progress(done, sources)
    return cost, miles


def _filled(graph: "csr_array[np.float64, tuple[int, int]]") -> tuple[Ints, Ints, Ints]:
    """Return each junction's place in a minimum-degree order, and the later ones it is joined to.

    The order and the fill are those of a sparse factorisation (SuperLU, through scipy) of a matrix
    of the same pattern, diagonally dominant so that it needs no pivoting.
    """
    nodes = graph.shape[0]
    ones = csr_array((np.ones(graph.nnz), graph.indices, graph.indptr), shape=graph.shape)
    joined = ones + ones.T
    joined.data[:] = -1.0
    matrix = (joined + diags_array(1.0 - joined.sum(axis=1))).tocsc()
    factors = splu(
        matrix,
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    lower = factors.L.tocsc()
    lower.sort_indices()
    column = np.repeat(np.arange(nodes), np.diff(lower.indptr))
    off = lower.indices > column
    starts = np.concatenate(([0], np.cumsum(np.bincount(column[off], minlength=nodes))))
    return factors.perm_c.astype(np.int64), starts, lower.indices[off].astype(np.int64)


@njit(cache=True)
def _lay_down(graph: Graph, ladder: Ladder) -> None:
    """Put the graph's own arcs in their places."""
    place, starts, upper = ladder.place, ladder.starts, ladder.upper
    for node in range(len(place)):
        for arc in range(graph.starts[node], graph.starts[node + 1]):
            here, there = place[node], place[graph.heads[arc]]
            earlier, later = min(here, there), max(here, there)
            row = starts[earlier]
            at = row + np.searchsorted(upper[row : starts[earlier + 1]], later)
            if here < there:
                ladder.up[at], ladder.up_miles[at] = graph.cost[arc], graph.miles[arc]
            else:
                ladder.down[at], ladder.down_miles[at] = graph.cost[arc], graph.miles[arc]


@njit(cache=True)
def _eliminate(ladder: Ladder) -> None:
    """Join, junction by junction, each two later ones past the earlier one."""
    starts, upper = ladder.starts, ladder.upper
    up, up_miles, down, down_miles = ladder.up, ladder.up_miles, ladder.down, ladder.down_miles
    for junction in range(len(starts) - 1):
        for one in range(starts[junction], starts[junction + 1]):
            joint = starts[upper[one]]
            for two in range(one + 1, starts[junction + 1]):
                while upper[joint] != upper[two]:
                    joint += 1
                past = down[one] + up[two]
                if past < up[joint]:
                    up[joint], up_miles[joint] = past, down_miles[one] + up_miles[two]
                past = down[two] + up[one]
                if past < down[joint]:
                    down[joint], down_miles[joint] = past, down_miles[two] + up_miles[one]


@njit(cache=True, nogil=True)
def _sweep(ladder: Ladder, first: Stubs, ways: Floats, found: tuple[Floats, Floats]) -> None:
    """
    Go up and down again from some sources, and write what was found in the junctions' order.

    A row of `ways` holds the cost to a junction from each source, then the miles. Arrays are handed
    on one by one: within a tuple they would be looked up again for every arc.
    """
    starts, upper = ladder.starts, ladder.upper
    ways[:] = np.inf
    _set_out(ladder.place, first, ways)
    _go_up(starts, upper, ladder.up, ladder.up_miles, ways)
    _go_down(starts, upper, ladder.down, ladder.down_miles, ways)
    cost, miles = found
    for junction in range(len(ladder.place)):
        own = ways[ladder.place[junction]]
        for source in range(cost.shape[1]):
            cost[junction, source] = own[source]
            miles[junction, source] = own[WIDTH + source]


@njit(cache=True, nogil=True)
def _set_out(place: Ints, first: Stubs, ways: Floats) -> None:
    """Put in what it takes to the ends of the sources' own segments."""
    for source in range(first.junction.shape[0]):
        for end in range(first.junction.shape[1]):
            own = ways[place[first.junction[source, end]]]
            if first.cost[source, end] < own[source]:
                own[source] = first.cost[source, end]
                own[WIDTH + source] = first.miles[source, end]


@njit(cache=True, nogil=True)
def _go_up(starts: Ints, upper: Ints, cost: Floats, miles: Floats, ways: Floats) -> None:
    """Take every arc from the earlier junction to the later one, the earliest first."""
    tail = np.empty(2 * WIDTH)
    for junction in range(len(starts) - 1):
        for place in range(2 * WIDTH):
            tail[place] = ways[junction, place]
        for arc in range(starts[junction], starts[junction + 1]):
            _relax(tail, ways[upper[arc]], cost[arc], miles[arc])


@njit(cache=True, nogil=True)
def _go_down(starts: Ints, upper: Ints, cost: Floats, miles: Floats, ways: Floats) -> None:
    """Take every arc from the later junction to the earlier one, the latest first."""
    head = np.empty(2 * WIDTH)
    for junction in range(len(starts) - 2, -1, -1):
        for place in range(2 * WIDTH):
            head[place] = ways[junction, place]
        for arc in range(starts[junction], starts[junction + 1]):
            _relax(ways[upper[arc]], head, cost[arc], miles[arc])
        for place in range(2 * WIDTH):
            ways[junction, place] = head[place]


@njit(cache=True, nogil=True)
def _relax(tail: Floats, head: Floats, cost: float, miles: float) -> None:
    """
    Take an arc from its tail to its head wherever it is cheaper, for every source of a sweep.

    Of a fixed width and without a branch, so that it runs on the processor's vectors.
    """
    if cost == np.inf:
        return
    for source in range(WIDTH):
        by_arc = tail[source] + cost
        cheaper = by_arc < head[source]
        by_miles = tail[WIDTH + source] + miles
        head[source] = by_arc if cheaper else head[source]
        head[WIDTH + source] = by_miles if cheaper else head[WIDTH + source]
