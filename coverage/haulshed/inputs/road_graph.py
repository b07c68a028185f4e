"""Turn a road graph as osmnx makes it, simplified or not, back into ways."""

from ast import literal_eval
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import chain, count

import networkx as nx
import numpy as np
from pyproj import CRS, Transformer
from pyproj.exceptions import CRSError as ProjError

from haulshed.errors import CrsError
from haulshed.inputs.encoded_shapes import shapes_from_wkt
from haulshed.roads.raw import RawWays
from haulshed.roads.ways import ROAD_CLASSES, TAGS_USED

Place = tuple[float, float]
Node = int | Place

#: Values of an edge's `oneway`. An edge that osmnx calls one-way already runs the way of travel.
_ONEWAY = {"True": "yes", "False": "no", "-1": "yes", "reverse": "yes", "T": "yes", "F": "yes"}

#: Where an edge joins ways that differ, these values hold for all of it; the first found wins.
_WINS = {
    "highway": tuple(reversed(ROAD_CLASSES)),
    "oneway": ("yes",),
    "service": ("driveway",),
    "hgv": ("no",),
    **dict.fromkeys(("access", "vehicle", "motor_vehicle"), ("no", "private")),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Edge:
    """An edge, its nodes in order: their ids, and bare places within a simplified edge."""

    way_id: int
    nodes: tuple[Node, ...]
    tags: Mapping[str, str]
    mixed: bool  #: ways that differ were joined in it
    reversed: bool  #: runs against the way's own direction

    @property
    def key(self) -> tuple[object, ...]:
        """The same for the edge of the other direction."""
        there, back = (tuple(map(str, nodes)) for nodes in (self.nodes, self.nodes[::-1]))
        return self.way_id, min(there, back)


def ways_of_graph(graph: "nx.MultiDiGraph[int]") -> RawWays:
    """
    Return the ways of a graph in the form of osmnx.

    The edges of the two directions of a road become one line. Edges of one way with no geometry
    of their own are joined head to tail again, no others. Where a simplified edge has joined ways
    that differ, the slower class, the lower limit, the unpaved surface and the tighter access hold
    for all of it; such edges are counted.

    Raises
    ------
    CrsError
        If the graph does not say in which coordinate system it is.
    KeyError, TypeError, ValueError
        If nodes or edges lack what osmnx writes.
    """
    edges = [
        _edge(tail, head, {key: str(value) for key, value in data.items()})
        for tail, head, data in graph.edges(data=True)
    ]
    places = {node: (float(data["x"]), float(data["y"])) for node, data in graph.nodes(data=True)}
    roads = _undirected(edges)
    notes = {"edges_mixed": sum(edge.mixed for edge in roads)}
    return _raw(_runs(roads), places, graph.graph.get("crs"), notes)


def _edge(tail: int, head: int, data: Mapping[str, str]) -> _Edge:
    ids = [int(each) for each in _listed(data["osmid"])]
    values = {key: _listed(data[key]) for key in TAGS_USED if data.get(key)}
    within: tuple[Node, ...] = ()
    if "geometry" in data:
        (line,) = shapes_from_wkt([data["geometry"]])
        within = tuple((x, y) for x, y, *_ in line.coords[1:-1])
    return _Edge(
        way_id=min(ids),
        nodes=(tail, *within, head),
        tags={key: _one(key, each) for key, each in values.items()},
        mixed=any(len(each) > 1 for key, each in values.items() if key not in {"name", "ref"}),
        reversed=data.get("reversed") == "True",
    )


def _listed(text: str) -> list[str]:
    """Return the parts of a value that osmnx wrote as a list, or the value alone."""
    if not text.startswith("["):
        return [text]
    try:
        return [str(part) for part in literal_eval(text)]
    except (SyntaxError, ValueError):  # a name that only begins like a list
        return [text]


def _one(key: str, values: list[str]) -> str:
    """Return one value of `key` for an edge that has several."""
    said = [_ONEWAY.get(value, value) for value in values] if key == "oneway" else values
    for wins in _WINS.get(key, ()):
        if wins in said:
            return wins
    return ";".join(sorted(said))


def _undirected(edges: Iterable[_Edge]) -> list[_Edge]:
    """Return every road once, in the way's own direction; two-way where both edges are there."""
    by_key: dict[tuple[object, ...], list[_Edge]] = defaultdict(list)
    for edge in edges:
        by_key[edge.key].append(edge)
    return [_road_of(pair) for pair in by_key.values()]


def _road_of(pair: list[_Edge]) -> _Edge:
    first = min(pair, key=lambda edge: edge.reversed)
    both = any(edge.nodes == first.nodes[::-1] != first.nodes for edge in pair)
    return replace(first, tags={**first.tags, "oneway": "no"}) if both else first


def _runs(edges: Iterable[_Edge]) -> list[_Edge]:
    """Return the edges with a geometry as they are, the others joined along their way."""
    runs = []
    bare: dict[tuple[object, ...], list[_Edge]] = defaultdict(list)
    for edge in edges:
        if len(edge.nodes) > len(("tail", "head")):
            runs.append(edge)
        else:
            bare[edge.way_id, *sorted(edge.tags.items())].append(edge)
    for parts in bare.values():
        chains = _chains([edge.nodes for edge in parts])
        runs.extend(replace(parts[0], nodes=nodes) for nodes in chains)
    return runs


def _chains(links: list[tuple[Node, ...]]) -> list[tuple[Node, ...]]:
    """
    Join two-node links head to tail where one link comes in and one goes out.

    Examples
    --------
    >>> _chains([(2, 3), (1, 2), (3, 9), (3, 4)])
    [(1, 2, 3), (3, 9), (3, 4)]
    >>> _chains([(5, 6), (6, 5)])
    [(5, 6, 5)]
    """
    ahead = defaultdict(list)
    for tail, head in links:
        ahead[tail].append(head)
    came = Counter(head for _, head in links)
    through = {node for node in ahead if came[node] == 1 == len(ahead[node])}
    left = dict.fromkeys(links)
    chains = []
    # Open chains first; what is left after them are rings, which may start anywhere.
    for start in (*(link for link in links if link[0] not in through), *links):
        if start not in left:
            continue
        joined = list(start)
        del left[start]
        while joined[-1] in through and (joined[-1], ahead[joined[-1]][0]) in left:
            joined.append(ahead[joined[-1]][0])
            del left[joined[-2], joined[-1]]
        chains.append(tuple(joined))
    return chains


def _raw(
    runs: list[_Edge], places: Mapping[int, Place], crs: object, notes: Mapping[str, int]
) -> RawWays:
    """Return the runs as ways; a bare place becomes a node of its own that nothing else uses."""
    own_id = count(min((0, *places)) - 1, -1)
    used: dict[int, Place] = {}
    refs = []
    for node in chain.from_iterable(run.nodes for run in runs):
        ref, place = (node, places[node]) if isinstance(node, int) else (next(own_id), node)
        refs.append(ref)
        used[ref] = place
    node_id = np.array(sorted(used), dtype=np.int64)
    xy = np.array([used[ref] for ref in node_id.tolist()], dtype=np.float64).reshape(-1, 2)
    lon, lat = _to_degrees(crs).transform(xy[:, 0], xy[:, 1])
    return RawWays(
        node_id=node_id,
        lon=lon,
        lat=lat,
        way_id=np.array([run.way_id for run in runs], dtype=np.int64),
        ref_start=np.cumsum([0, *(len(run.nodes) for run in runs)]),
        refs=np.array(refs, dtype=np.int64),
        tags=tuple(run.tags for run in runs),
        notes=notes,
    )


def _to_degrees(crs: object) -> Transformer:
    try:
        return Transformer.from_crs(CRS.from_user_input(crs), 4326, always_xy=True)
    except ProjError as error:
        msg = (
            f"The road graph's coordinate system, crs = {crs}, is not known. Save it with osmnx,"
            " which writes crs into the file."
        )
        raise CrsError(msg) from error
