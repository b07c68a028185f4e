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
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.sparse import csr_array, diags_array
from scipy.sparse.linalg import splu

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Sources swept together: enough for the processor's vector units, few enough for its cache.
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

    def part(start: int) -> int:
        end = min(start + WIDTH, sources)
        rows = slice(start, end)
        own = Stubs(first.junction[rows], first.cost[rows], first.miles[rows])
        _sweep(ladder, own, cost[:, rows], miles[:, rows])
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
def _sweep(ladder: Ladder, first: Stubs, cost: Floats, miles: Floats) -> None:
    """Go up and down again from some sources, and write what was found in the junctions' order."""
    costs, ways = np.full(cost.shape, np.inf), np.full(cost.shape, np.inf)
    _set_out(ladder.place, first, costs, ways)
    starts, upper = ladder.starts, ladder.upper
    for junction in range(len(starts) - 1):
        for arc in range(starts[junction], starts[junction + 1]):
            _relax(costs, ways, (junction, upper[arc]), (ladder.up[arc], ladder.up_miles[arc]))
    for junction in range(len(starts) - 2, -1, -1):
        for arc in range(starts[junction], starts[junction + 1]):
            _relax(costs, ways, (upper[arc], junction), (ladder.down[arc], ladder.down_miles[arc]))
    for junction in range(len(ladder.place)):
        cost[junction] = costs[ladder.place[junction]]
        miles[junction] = ways[ladder.place[junction]]


@njit(cache=True, nogil=True)
def _set_out(place: Ints, first: Stubs, costs: Floats, ways: Floats) -> None:
    """Put in what it takes to the ends of the sources' own segments."""
    for source in range(costs.shape[1]):
        for end in range(first.junction.shape[1]):
            at = place[first.junction[source, end]]
            if first.cost[source, end] < costs[at, source]:
                costs[at, source] = first.cost[source, end]
                ways[at, source] = first.miles[source, end]


@njit(cache=True, nogil=True)
def _relax(costs: Floats, ways: Floats, ends: tuple[int, int], arc: tuple[float, float]) -> None:
    """Take an arc from its tail to its head wherever it is cheaper, for every source."""
    tail, head = ends
    if arc[0] == np.inf:
        return
    for source in range(costs.shape[1]):
        by_arc = costs[tail, source] + arc[0]
        cheaper = by_arc < costs[head, source]
        by_miles = ways[tail, source] + arc[1]
        costs[head, source] = by_arc if cheaper else costs[head, source]
        ways[head, source] = by_miles if cheaper else ways[head, source]
