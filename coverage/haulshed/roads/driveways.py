"""Mapped driveways: where the one to a structure meets the public road, and how long it is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra

from haulshed.roads.lines import nearest_places
from haulshed.roads.network import Network, sense_of
from haulshed.roads.points import nearest_segment
from haulshed.units import FT_PER_MI, M_PER_FT, M_PER_MI

#: A driveway leads to a structure if it comes this near [ft]: the apron and yard that nobody maps.
#: Assumption of this project: one 100-ft length of large-diameter hose.
DRIVEWAY_REACH_FT = 100.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Driveways:
    """The driveway of each structure; arrays in step with the structures."""

    road_segment: NDArray[np.int64]  #: segment that it meets; -1 where there is no driveway
    meets: NDArray[np.float64]  #: xy where it meets that segment [m], shape (n, 2); NaN where none
    length_ft: NDArray[np.float64]  #: from there along it and on to the structure; NaN where none


def find_driveways(
    network: Network, structures: NDArray[np.float64], road_m: NDArray[np.float64]
) -> Driveways:
    """
    Return the driveway of each of `structures` (xy [m]), where one is mapped.

    A driveway is a way that does not carry tankers, or a chain of them, that meets a segment where
    a dump site may be. It serves a structure that stands within :data:`DRIVEWAY_REACH_FT` of it
    and no nearer to the road itself (`road_m`, straight distance [m]). Where it meets the road more
    than once, the nearest meeting along it counts. Hose may lie on a one-way or gated drive: it
    goes either way along it, and straight over the last gap.
    """
    count = len(structures)
    road_segment = np.full(count, -1)
    meets = np.full((count, 2), np.nan)
    length_ft = np.full(count, np.nan)
    met = _road_at_junctions(network)
    road_mi, road_node = _ways_to_road(network, met)
    leads = _private(network) & np.isfinite(road_mi[network.tail])
    segment, gap_m = nearest_segment(
        network, structures, leads, within_m=DRIVEWAY_REACH_FT * M_PER_FT
    )
    row = np.flatnonzero((segment >= 0) & (gap_m < road_m))
    segment = segment[row]
    along_m, _ = nearest_places(network.paths, segment, structures[row])
    along_mi = along_m / M_PER_MI
    by_tail = road_mi[network.tail[segment]] + along_mi
    by_head = road_mi[network.head[segment]] + network.length_mi[segment] - along_mi
    node = road_node[np.where(by_head < by_tail, network.head[segment], network.tail[segment])]
    road = met[node]
    road_segment[row] = road
    starts, behind = network.paths.starts[road], network.paths.starts[road + 1]
    meets[row] = network.paths.xy[np.where(network.tail[road] == node, starts, behind - 1)]
    length_ft[row] = np.minimum(by_tail, by_head) * FT_PER_MI + gap_m[row] / M_PER_FT
    return Driveways(road_segment=road_segment, meets=meets, length_ft=length_ft)


def _private(network: Network) -> NDArray[np.bool_]:
    return ~network.segments["public"].to_numpy(dtype=bool)


def _road_at_junctions(network: Network) -> NDArray[np.int64]:
    """Return the lowest segment at each junction on which a dump site may be; -1 without one."""
    stop = np.flatnonzero(network.may_stop)
    lowest = np.full(len(network.node_ids), len(network.lines))
    np.minimum.at(lowest, network.tail[stop], stop)
    np.minimum.at(lowest, network.head[stop], stop)
    return np.where(lowest == len(network.lines), -1, lowest)


def _ways_to_road(
    network: Network, met: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return the miles by driveways from each junction to the nearest one on a road, and that."""
    private = np.flatnonzero(_private(network))
    tail, head, length_mi = network.tail[private], network.head[private], network.length_mi[private]
    both = np.unique(np.concatenate((tail, head)))
    on_road = both[met[both] >= 0]
    nodes = len(network.node_ids)
    if not len(on_road):
        return np.full(nodes, np.inf), np.full(nodes, -1)
    sense = sense_of(tail, head, length_mi, (length_mi, length_mi), nodes=nodes)
    miles, _, source = dijkstra(
        sense.graph, indices=on_road, min_only=True, return_predecessors=True
    )
    return miles, source.astype(np.int64)
