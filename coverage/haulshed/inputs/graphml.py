"""Read a road graph that osmnx saved as GraphML."""

from pathlib import Path

import networkx as nx
from shapely.errors import ShapelyError

from haulshed.errors import CrsError, InputError
from haulshed.inputs.limits import MAX_TEXT_BYTES, refuse_large_file
from haulshed.inputs.road_graph import ways_of_graph
from haulshed.inputs.xml_prolog import has_document_type
from haulshed.roads.raw import RawWays

_CHUNK_BYTES = 65_536

#: What the parsers raise on XML that is broken (a SyntaxError) or holds no such graph.
_UNREADABLE = (
    *(SyntaxError, LookupError, TypeError, ValueError, AttributeError),
    *(nx.NetworkXException, ShapelyError, RecursionError, MemoryError),
)


def read_graphml(path: Path) -> RawWays:
    """
    Return the ways of a GraphML file in the form of osmnx.

    Raises
    ------
    InputError
        If it is damaged, cut short or no road graph.
    """
    refuse_large_file(path, "roads", MAX_TEXT_BYTES)
    with path.open("rb") as file:
        declares = has_document_type(iter(lambda: file.read(_CHUNK_BYTES), b""))
    if declares:
        # Entities can blow a small file up to fill the memory; no road graph needs them.
        msg = f"{path.name}: has a document type, which no road graph has. Save it with osmnx."
        raise InputError(msg)
    try:
        graph = nx.read_graphml(path, node_type=int, force_multigraph=True)
        return ways_of_graph(nx.MultiDiGraph(graph))
    except CrsError:
        raise
    except _UNREADABLE as error:
        msg = (
            f"{path.name}: cannot be read as a road graph ({type(error).__name__}: {error}). It is"
            " damaged, cut short or not as osmnx.save_graphml writes it. Save it again."
        )
        raise InputError(msg) from error
