"""Ways piece by piece against networkx and against the legs of the model, over real roads.

networkx searches the multigraph of the same segments anew; a way's minutes and miles must be those
of its path, and of the legs. Data: OpenStreetMap (© OpenStreetMap contributors, ODbL).
"""

from pathlib import Path

import networkx as nx
import numpy as np
import pytest
import shapely

from haulshed.inputs.osm_file import read_osm
from haulshed.roads.junctions import junctions_of
from haulshed.roads.network import Network, build_network, to_networkx
from haulshed.roads.points import Points, place
from haulshed.roads.route import Way, way_of, ways_around, ways_from, ways_to
from haulshed.roads.segments import build_segments
from haulshed.roads.travel import legs
from haulshed.scenario import RoadRules

EXTRACT = Path(__file__).parents[3] / "shared" / "osm" / "lauf_de.osm.pbf"
RULES = RoadRules(leg_fixed_min=0.65)
SITES, PLACES = 6, 25

pytestmark = pytest.mark.skipif(
    not EXTRACT.is_file(), reason="real extracts (../shared/osm) are not part of the project"
)


@pytest.fixture(scope="module")
def network() -> Network:
    segments, _ = build_segments(read_osm(EXTRACT, "osm.pbf"), RULES)
    return build_network(segments, RULES)


def drawn(network: Network, count: int, seed: int) -> Points:
    """Return points on drivable segments, some at their ends."""
    rng = np.random.default_rng(seed)
    segment = rng.choice(np.flatnonzero(network.drivable), count, replace=False)
    share = rng.choice([0.0, 1.0, 0.3, 0.7], count)
    lines = network.lines[segment]
    spots = shapely.line_interpolate_point(lines, share, normalized=True)
    shares, xy = place(network, segment, shapely.get_coordinates(spots))
    return Points(segment=segment, share=shares, off_road_m=np.zeros(count), xy=xy)


def assert_joined(network: Network, way: Way) -> None:
    """Every piece begins where the one before ended, and may be driven so."""
    ends = [network.lines[piece.segment] for piece in way.pieces]
    for number, piece in enumerate(way.pieces):
        minutes = network.forward_min if piece.end > piece.start else network.backward_min
        assert np.isfinite(minutes[piece.segment])
        if number:
            before = way.pieces[number - 1]
            left = ends[number - 1].interpolate(before.end, normalized=True)
            assert left.distance(ends[number].interpolate(piece.start, normalized=True)) < 1e-6


def test_ways_are_the_legs_of_the_model(network: Network) -> None:
    sites, places = drawn(network, SITES, 1), drawn(network, PLACES, 2)
    expected, junctions = legs(network, RULES, sites, places), junctions_of(network)
    ways = 0
    for site in range(SITES):
        here = sites.take(np.array([site]))
        from_site, to_site = (find(network, here, junctions) for find in (ways_from, ways_to))
        for at in range(PLACES):
            there = places.take(np.array([at]))
            for way, minutes, miles in (
                (from_site.way(there), expected.loaded_min, expected.loaded_miles),
                (to_site.way(there), expected.empty_min, expected.empty_miles),
            ):
                if way is None:
                    assert np.isinf(minutes[site, at])
                    continue
                ways += 1
                assert way.minutes + RULES.leg_fixed_min == pytest.approx(
                    minutes[site, at], abs=1e-6
                )
                assert way.miles == pytest.approx(miles[site, at], abs=1e-6)
                assert_joined(network, way)
    assert ways > SITES * PLACES


def test_ways_are_those_of_networkx(network: Network) -> None:
    """From junction to junction the reference needs no points on segments."""
    graph, junctions = to_networkx(network), junctions_of(network)
    rng = np.random.default_rng(3)
    segment = rng.choice(np.flatnonzero(np.isfinite(network.forward_min)), 12, replace=False)
    compared = 0
    for start, end in zip(segment[:6].tolist(), segment[6:].tolist(), strict=True):
        points = [
            Points(
                segment=np.array([one]),
                share=np.zeros(1),
                off_road_m=np.zeros(1),
                xy=np.zeros((1, 2)),
            )
            for one in (start, end)
        ]
        nodes = [int(network.node_ids[network.tail[one]]) for one in (start, end)]
        way = ways_from(network, points[0], junctions).way(points[1])
        try:
            expected = nx.dijkstra_path_length(graph, *nodes, weight="minutes")
        except nx.NetworkXNoPath:
            assert way is None
            continue
        assert way is not None
        assert way.minutes == pytest.approx(expected, abs=1e-9)
        compared += 1
    assert compared >= 4


def test_a_way_around_a_segment_does_not_drive_through_it(network: Network) -> None:
    """The reference takes the segment out of the graph and searches to the same end of it."""
    junctions, compared = junctions_of(network), 0
    site = drawn(network, 1, 4)
    for at in drawn(network, 40, 5).segment.tolist():
        there = Points(
            segment=np.array([at]),
            share=np.array([0.5]),
            off_road_m=np.zeros(1),
            xy=np.zeros((1, 2)),
        )
        around = ways_around(network, site, at, junctions, towards=False)
        graph = to_networkx(network)
        gone = [edge for edge in graph.edges(keys=True) if edge[2] == at]
        graph.remove_edges_from(gone)
        start = Points(
            segment=site.segment, share=site.share, off_road_m=site.off_road_m, xy=site.xy
        )
        for end in (0, 1):
            way = around.way_by(there, end)
            if way is None:
                continue
            assert (way.segments == at).sum() == 1
            assert way.pieces[-1].segment == at
            node = int(network.node_ids[(network.tail, network.head)[end][at]])
            expected = _to_node(network, graph, start, node)
            last = (network.forward_min, network.backward_min)[end][at] / 2
            assert way.minutes == pytest.approx(expected + last, abs=1e-9)
            compared += 1
    assert compared > 10


def _to_node(network: Network, graph: "nx.MultiDiGraph[int]", start: Points, node: int) -> float:
    """Return minutes from a point on a segment to a node, the stubs added by hand."""
    segment, share = int(start.segment[0]), float(start.share[0])
    stubs = [
        (network.head, (1 - share) * network.forward_min[segment] if share < 1 else 0.0),
        (network.tail, share * network.backward_min[segment] if share > 0 else 0.0),
    ]
    found = []
    for ends, minutes in stubs:
        here = int(network.node_ids[ends[segment]])
        if np.isfinite(minutes) and nx.has_path(graph, here, node):
            found.append(minutes + nx.dijkstra_path_length(graph, here, node, weight="minutes"))
    return min(found, default=np.inf)


def test_pieces_of_no_length_are_left_out(network: Network) -> None:
    way = way_of(network, [])
    assert (way.pieces, way.minutes, way.miles) == ((), 0, 0)
