"""The road network as arrays: what each segment costs either way, and the graph for searching."""

from dataclasses import dataclass
from typing import Any

import networkx as nx
import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from haulshed.errors import NetworkError
from haulshed.roads.lines import Lines, lines_of
from haulshed.roads.speeds import tanker_speeds
from haulshed.scenario import RoadRules
from haulshed.tables.segments import Segments
from haulshed.units import M_PER_MI, MIN_PER_H


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Arcs:
    """Directed arcs between junctions, in step with each other."""

    tail: NDArray[np.int64]  #: junction that the arc leaves
    head: NDArray[np.int64]  #: junction that it reaches
    cost: NDArray[np.float64]  #: what a search adds up: minutes, or feet of hose
    miles: NDArray[np.float64]  #: road miles of the same arc


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sense:
    """
    The roads in one sense of searching: away from the sites, or, all arcs turned, towards them.

    `along` and `against` are a whole segment's cost from its from_node to its to_node and back, as
    this sense goes; infinite where it may not be driven so.
    """

    graph: csr_array[np.float64, tuple[int, int]]  #: cost of the cheapest arc between junctions
    arc_miles: NDArray[np.float64]  #: road miles of that same arc, in the order of `graph.data`
    along: NDArray[np.float64]
    against: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Network:
    """
    Roads that carry tankers, ready for searching. Arrays over segments are in `segment_id` order.

    Minutes are infinite where a segment is closed to tankers: not public, against a one-way, closed
    in both directions, or forbidden to heavy vehicles in a scenario in which that binds.
    """

    segments: Segments
    lines: NDArray[np.object_]  #: the segments' lines [m]
    paths: Lines  #: the same as flat arrays
    length_mi: NDArray[np.float64]
    speed_mph: NDArray[np.float64]
    speed_source: NDArray[np.object_]  #: a :class:`~haulshed.roads.speeds.SpeedSource` each
    node_ids: NDArray[np.int64]  #: id in the road file of each junction
    tail: NDArray[np.int64]  #: junction (position in `node_ids`) of a segment's from_node
    head: NDArray[np.int64]  #: junction of its to_node
    outward: Sense  #: minutes as driven
    homeward: Sense  #: the same with every arc turned: a search from a site finds the way to it

    @property
    def forward_min(self) -> NDArray[np.float64]:
        """Minutes from from_node to to_node."""
        return self.outward.along

    @property
    def backward_min(self) -> NDArray[np.float64]:
        """Minutes from to_node to from_node."""
        return self.outward.against

    @property
    def drivable(self) -> NDArray[np.bool_]:
        """Segments that a tanker may drive in at least one direction."""
        return np.isfinite(self.forward_min) | np.isfinite(self.backward_min)

    @property
    def closed(self) -> NDArray[np.bool_]:
        """Segments that the scenario closes: open in neither direction."""
        either = self.segments["forward_open"] | self.segments["backward_open"]
        return ~either.to_numpy(dtype=bool)

    @property
    def may_stop(self) -> NDArray[np.bool_]:
        """Drivable segments on which a dump site may be."""
        return self.drivable & np.asarray(self.segments["may_stop"], dtype=np.bool_)


def build_network(segments: Segments, rules: RoadRules) -> Network:
    """
    Return the network of `segments` with the minutes that `rules` give them.

    With method ``network`` a segment's minutes are its length over its own speed; with method
    ``road_distance`` they are X times its miles, so that the quickest way is the shortest and T =
    0.65 + X·D rests on no speed of ours. Length is that of the projected line.

    Raises
    ------
    NetworkError
        If no segment is open to tankers.
    """
    lines = np.asarray(segments.geometry, dtype=object)
    length_mi = np.asarray(segments.geometry.length, dtype=np.float64) / M_PER_MI
    speed_mph, speed_source = tanker_speeds(segments, rules)
    minutes = length_mi / speed_mph * MIN_PER_H
    public = segments["public"].to_numpy(dtype=bool)
    if rules.legal_limits:
        public = public & segments["hgv_allowed"].to_numpy(dtype=bool)
    forward = public & segments["forward_open"].to_numpy(dtype=bool)
    backward = public & segments["backward_open"].to_numpy(dtype=bool)
    if not (forward | backward).any():
        msg = (
            f"none of the {len(segments)} road segments is open to tankers. Give a road file that"
            " covers the district, or set roads.private or roads.tracks."
        )
        raise NetworkError(msg)
    ends = segments[["from_node", "to_node"]].to_numpy(dtype=np.int64)
    node_ids, position = np.unique(ends, return_inverse=True)
    tail, head = position.reshape(ends.shape).T
    along = np.where(forward, minutes, np.inf)
    against = np.where(backward, minutes, np.inf)
    size = len(node_ids)
    return Network(
        segments=segments,
        lines=lines,
        paths=lines_of(lines),
        length_mi=length_mi,
        speed_mph=speed_mph,
        speed_source=speed_source,
        node_ids=node_ids,
        tail=tail,
        head=head,
        outward=sense_of(tail, head, length_mi, (along, against), nodes=size),
        homeward=sense_of(tail, head, length_mi, (against, along), nodes=size),
    )


def sense_of(
    tail: NDArray[np.int64],
    head: NDArray[np.int64],
    length_mi: NDArray[np.float64],
    costs: tuple[NDArray[np.float64], NDArray[np.float64]],
    *,
    nodes: int,
) -> Sense:
    """Return segments as a :class:`Sense`; `costs` are those along and against each segment."""
    along, against = costs
    both_ways = Arcs(
        tail=np.concatenate((tail, head)),
        head=np.concatenate((head, tail)),
        cost=np.concatenate((along, against)),
        miles=np.concatenate((length_mi, length_mi)),
    )
    graph, arc_miles = cheapest_arcs(both_ways, shape=(nodes, nodes))
    return Sense(graph=graph, arc_miles=arc_miles, along=along, against=against)


def cheapest_arcs(
    arcs: Arcs, *, shape: tuple[int, int]
) -> tuple[csr_array[np.float64, tuple[int, int]], NDArray[np.float64]]:
    """
    Return the cheapest of each set of parallel arcs as a matrix, and its miles in the same order.

    A sparse matrix adds up what is put into one cell, so two parallel roads would become one slow
    road: only the cheapest goes in, and the miles follow the same one. Of equal ones it is the
    shortest. Closed arcs and arcs back to where they start lead nowhere and are left out.

    Examples
    --------
    Two roads from 0 to 1, one of 3 min over 2 miles, one of 4 min over 1 mile:

    >>> one = np.array([0, 0]), np.array([1, 1]), np.array([3.0, 4.0]), np.array([2.0, 1.0])
    >>> arcs = Arcs(tail=one[0], head=one[1], cost=one[2], miles=one[3])
    >>> graph, miles = cheapest_arcs(arcs, shape=(2, 2))
    >>> graph.toarray().tolist(), miles.tolist()
    ([[0.0, 3.0], [0.0, 0.0]], [2.0])
    """
    lead = np.isfinite(arcs.cost) & (arcs.tail != arcs.head)
    tail, head, cost, miles = (
        values[lead] for values in (arcs.tail, arcs.head, arcs.cost, arcs.miles)
    )
    order = np.lexsort((miles, cost, head, tail))
    tail, head, cost, miles = tail[order], head[order], cost[order], miles[order]
    first = np.ones(len(tail), dtype=bool)
    first[1:] = (tail[1:] != tail[:-1]) | (head[1:] != head[:-1])
    starts = np.concatenate(([0], np.cumsum(np.bincount(tail[first], minlength=shape[0]))))
    graph = csr_array(
        (cost[first], head[first].astype(np.int32), starts.astype(np.int32)), shape=shape
    )
    return graph, miles[first]


def to_networkx(network: Network) -> "nx.MultiDiGraph[Any]":
    """
    Return the network as a networkx graph, for reference and for tracing routes.

    Nodes are the road file's; an edge's key is its segment, its data `minutes` and `miles`. Both
    directions of a loop share one edge, as they leave and reach the same node in the same time.
    """
    graph: nx.MultiDiGraph[Any] = nx.MultiDiGraph()
    graph.add_nodes_from(network.node_ids.tolist())
    tails, heads = network.node_ids[network.tail], network.node_ids[network.head]
    for leaves, reaches, minutes in (
        (tails, heads, network.forward_min),
        (heads, tails, network.backward_min),
    ):
        for segment in np.flatnonzero(np.isfinite(minutes)).tolist():
            graph.add_edge(
                int(leaves[segment]),
                int(reaches[segment]),
                key=segment,
                minutes=float(minutes[segment]),
                miles=float(network.length_mi[segment]),
            )
    return graph
