"""Legs, miles and hose distances against networkx on the full graph, points put in as nodes.

The reference is built here from the segments alone: every road as it is, parallel ones and loops
too, cut at every point, with speeds looked up anew.
"""

import math
from collections import defaultdict
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import geopandas as gpd
import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString

from haulshed.evidence.distances import road_miles
from haulshed.inputs.osm_file import read_osm
from haulshed.roads.both_ways import there_and_back
from haulshed.roads.elimination import build_ladder
from haulshed.roads.network import Network, build_network, to_networkx
from haulshed.roads.points import Points
from haulshed.roads.search import search_by
from haulshed.roads.segments import build_segments
from haulshed.roads.snap import snap
from haulshed.roads.travel import SiteReach, legs, legs_from, response, road_feet
from haulshed.scenario import RoadRules, TravelMethod

OSM = Path(__file__).parents[2].parent / "shared" / "osm"
RULES = RoadRules(leg_fixed_min=0.65)
Place = tuple[int, float]


def reference_minutes(segment: NamedTuple, rules: RoadRules) -> float:
    """Return the minutes of a whole segment."""
    miles = segment.geometry.length / 1609.344
    if rules.method is TravelMethod.ROAD_DISTANCE:
        return miles * rules.road_distance_min_per_mile
    name = segment.road_class
    bounds = [getattr(rules.speed_mph, "link" if "_link" in name else name), rules.max_mph]
    if segment.posted_mph and not math.isnan(segment.posted_mph):
        bounds.append(segment.posted_mph)
    return 60 * miles / (min(bounds) * (rules.unpaved_factor if segment.unpaved else 1))


def reference_graph(
    segments: gpd.GeoDataFrame, places: set[Place], rules: RoadRules, *, hose: bool = False
) -> nx.MultiDiGraph:
    """Return the roads as a graph of pieces between junctions and `places`."""
    on_segment = defaultdict(list)
    for number, share in places:
        on_segment[number].append(share)
    graph = nx.MultiDiGraph()
    for segment in segments.itertuples():
        number = segment.segment_id
        inner = [(number, share) for share in sorted(on_segment[number]) if 0 < share < 1]
        stops = [segment.from_node, *inner, segment.to_node]
        shares = [0, *(share for _, share in inner), 1]
        minutes, miles = reference_minutes(segment, rules), segment.geometry.length / 1609.344
        forward = segment.public and (segment.forward_open or hose)
        backward = segment.public and (segment.backward_open or hose)
        for ends, (start, end) in zip(pairwise(stops), pairwise(shares), strict=True):
            bit = end - start
            data = {"minutes": bit * minutes, "miles": bit * miles, "feet": bit * miles * 5280}
            graph.add_edges_from([(*ends, data)] * bool(forward))
            graph.add_edges_from([(*ends[::-1], data)] * bool(backward))
        for share, node in ((0, segment.from_node), (1, segment.to_node)):
            if share in on_segment[number]:  # the place is the junction
                for ends in ((node, (number, share)), ((number, share), node)):
                    graph.add_edge(*ends, minutes=0.0, miles=0.0, feet=0.0)
    graph.add_nodes_from(places)
    return graph


def reference_ways(graph: nx.MultiDiGraph, start: Place, ends: list[Place]) -> list[list[float]]:
    """Return minutes and miles of the quickest way to each of `ends`."""
    minutes, ways = nx.single_source_dijkstra(graph, start, weight="minutes")
    far = [minutes.get(end, math.inf) for end in ends]
    miles = [
        sum(
            min(graph[tail][head].values(), key=lambda edge: edge["minutes"])["miles"]
            for tail, head in pairwise(ways[end])
        )
        if end in ways
        else math.inf
        for end in ends
    ]
    return [far, miles]


def places_of(points: Points) -> list[Place]:
    return list(zip(points.segment.tolist(), points.share.tolist(), strict=True))


def on_segments(places: list[Place]) -> Points:
    segment = np.array([number for number, _ in places], dtype=np.int64)
    share = np.array([share for _, share in places], dtype=np.float64)
    zeros = np.zeros(len(places))
    return Points(segment=segment, share=share, off_road_m=zeros, xy=np.zeros((len(places), 2)))


def check_legs(network: Network, rules: RoadRules, sites: Points, access: Points) -> int:
    """Compare every pair; return how many of them have a way."""
    starts, ends = places_of(sites), places_of(access)
    graph = reference_graph(network.segments, {*starts, *ends}, rules)
    found = legs(network, rules, sites, access)
    to_access, to_access_miles = response(network, rules, sites, access)
    assert np.array_equal(to_access, found.loaded_min)
    assert np.array_equal(to_access_miles, found.loaded_miles)
    check_elimination(network, rules, sites, access)
    turned = graph.reverse()
    for row, start in enumerate(starts):
        loaded = [found.loaded_min[row] - 0.65, found.loaded_miles[row]]
        empty = [found.empty_min[row] - 0.65, found.empty_miles[row]]
        wanted = [*reference_ways(graph, start, ends), *reference_ways(turned, start, ends)]
        for ours, theirs in zip([*loaded, *empty], wanted, strict=True):
            assert ours == pytest.approx(theirs, abs=1e-6, rel=0)
    return int(np.isfinite(found.loaded_min).sum())


def check_elimination(network: Network, rules: RoadRules, sites: Points, access: Points) -> None:
    """Compare the legs that many sites get with those that few get, which networkx vouches for."""
    ladder = build_ladder(network.outward.graph, network.outward.arc_miles)
    both_ways = SiteReach(
        outward=search_by(ladder, network, network.outward, sites),
        homeward=search_by(ladder.turned, network, network.homeward, sites),
    )
    many, few = legs_from(network, rules, both_ways, access), legs(network, rules, sites, access)
    for ours, theirs in (
        (many.loaded_min, few.loaded_min),
        (many.loaded_miles, few.loaded_miles),
        (many.empty_min, few.empty_min),
        (many.empty_miles, few.empty_miles),
    ):
        assert ours == pytest.approx(theirs, abs=1e-9, rel=0)


def check_hose(network: Network, sites: Points, access: Points, reach_ft: float) -> int:
    """Compare hose distances; return how many are within reach."""
    starts, ends = places_of(sites), places_of(access)
    graph = reference_graph(network.segments, {*starts, *ends}, RULES, hose=True)
    found_ft = road_feet(network, sites, access, reach_ft=reach_ft)
    for i, start in enumerate(starts):
        near = nx.single_source_dijkstra_path_length(graph, start, weight="feet")
        wanted = [near.get(end, math.inf) for end in ends]
        wanted = [feet if feet <= reach_ft else math.inf for feet in wanted]
        assert found_ft[i] == pytest.approx(wanted, abs=1e-6, rel=0)
    return int(np.isfinite(found_ft).sum())


def check_shortest(network: Network, places: Points, access: Points) -> int:
    """Compare miles of the shortest road, not the quickest; return how many have a way."""
    starts, ends = places_of(places), places_of(access)
    graph = reference_graph(network.segments, {*starts, *ends}, RULES)
    found = road_miles(network, places, access)
    for i, start in enumerate(starts):
        near = nx.single_source_dijkstra_path_length(graph, start, weight="miles")
        wanted = [near.get(end, math.inf) for end in ends]
        assert found[i] == pytest.approx(wanted, abs=1e-9, rel=0)
    return int(np.isfinite(found).sum())


@st.composite
def small_roads(draw: st.DrawFn) -> tuple[gpd.GeoDataFrame, list[Place], list[Place]]:
    """Draw up to 12 roads between up to 5 junctions: parallels, loops, one-ways, closed ones."""
    junction = st.integers(0, draw(st.integers(0, 4)))
    roads = draw(
        st.lists(
            st.tuples(junction, junction, st.booleans(), st.booleans(), st.integers(0, 4)),
            min_size=1,
            max_size=12,
        )
    )
    # Lengths and speeds from a generator: round figures would tie, and ties leave miles open.
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    where = rng.uniform(0, 5000, (5, 2))
    lines = [LineString([where[u], *rng.uniform(0, 5000, (2, 2)), where[v]]) for u, v, *_ in roads]
    count = len(roads)
    segments = gpd.GeoDataFrame(
        {
            "segment_id": range(count),
            "from_node": [10 + u for u, *_ in roads],
            "to_node": [10 + v for _, v, *_ in roads],
            "road_class": rng.choice(["residential", "trunk_link", "motorway"], count),
            "forward_open": [
                forward or number == 0 for number, (*_, forward, _, _) in enumerate(roads)
            ],
            "backward_open": [backward for *_, backward, _ in roads],
            "public": [shut != 1 or number == 0 for number, (*_, shut) in enumerate(roads)],
            "may_stop": True,
            "unpaved": rng.random(count) < 0.3,
            "posted_mph": np.where(rng.random(count) < 0.5, rng.uniform(5, 70, count), np.nan),
        },
        geometry=lines,
        crs="EPSG:32616",
    )
    open_ways = segments.public & (segments.forward_open | segments.backward_open)
    place = st.tuples(
        st.sampled_from(np.flatnonzero(open_ways).tolist()),
        st.sampled_from([0.0, 1.0, 0.5]) | st.floats(0.01, 0.99),
    )
    some = st.lists(place, min_size=1, max_size=4)
    return segments, draw(some), draw(some)


@settings(max_examples=150, deadline=None)
@given(small_roads(), st.sampled_from(TravelMethod))
def test_small_roads_with_parallels_loops_and_one_ways(
    drawn: tuple[gpd.GeoDataFrame, list[Place], list[Place]], method: TravelMethod
) -> None:
    segments, sites, access = drawn
    rules = RoadRules(method=method)
    network = build_network(segments, rules)
    check_legs(network, rules, on_segments(sites), on_segments(access))


@settings(max_examples=150, deadline=None)
@given(small_roads())
def test_where_a_tanker_comes_to_and_back_from_on_small_roads(
    drawn: tuple[gpd.GeoDataFrame, list[Place], list[Place]],
) -> None:
    segments, sites, access = drawn
    access = [place for place in access if place not in sites]  # between them is no way to find
    graph = reference_graph(segments, {*sites, *access}, RULES)
    wanted = [
        any(nx.has_path(graph, site, place) and nx.has_path(graph, place, site) for site in sites)
        for place in access
    ]
    nowhere = Points(
        segment=np.array([-1]),
        share=np.array([np.nan]),
        off_road_m=np.array([np.inf]),
        xy=np.full((1, 2), np.nan),
    )
    network = build_network(segments, RULES)
    assert there_and_back(network, on_segments(sites), on_segments(access)).tolist() == wanted
    assert not there_and_back(network, nowhere, on_segments(access)).any()
    assert not there_and_back(network, on_segments(sites), nowhere).any()


@settings(max_examples=100, deadline=None)
@given(small_roads(), st.floats(0.7, 12))
def test_a_response_that_takes_no_longer_than_the_limit_is_found_all_the_same(
    drawn: tuple[gpd.GeoDataFrame, list[Place], list[Place]], limit_min: float
) -> None:
    segments, stations, access = drawn
    network = build_network(segments, RULES)
    given = network, RULES, on_segments(stations), on_segments(access)
    (whole_min, _), (some_min, _) = response(*given), response(*given, limit_min=limit_min)
    near = whole_min <= limit_min
    assert np.array_equal(some_min[near], whole_min[near])
    assert (some_min[~near] > limit_min).all()


@settings(max_examples=50, deadline=None)
@given(small_roads(), st.floats(100, 50_000))
def test_hose_on_small_roads(
    drawn: tuple[gpd.GeoDataFrame, list[Place], list[Place]], reach_ft: float
) -> None:
    segments, sites, access = drawn
    network = build_network(segments, RULES)
    check_hose(network, on_segments(sites), on_segments(access), reach_ft)


@settings(max_examples=100, deadline=None)
@given(small_roads())
def test_shortest_road_on_small_roads(
    drawn: tuple[gpd.GeoDataFrame, list[Place], list[Place]],
) -> None:
    segments, places, access = drawn
    network = build_network(segments, RULES)
    check_shortest(network, on_segments(places), on_segments(access))


@pytest.fixture(scope="module")
def county() -> Network:
    """Return the roads of a real rural county in Indiana."""
    file = OSM / "terre_haute_in.osm.pbf"
    if not file.exists():
        pytest.skip(f"{file.name} is not in ../shared/osm")
    segments, _ = build_segments(read_osm(file, "osm.pbf"), RULES)
    return build_network(segments, RULES)


def beside_the_roads(network: Network, count: int, seed: int) -> Points:
    """Return random places near roads, at most half a mile off."""
    rng = np.random.default_rng(seed)
    west, south, east, north = network.segments.total_bounds
    xy = rng.uniform((west, south), (east, north), (count, 2))
    return snap(gpd.GeoSeries.from_xy(*xy.T), network, limit_ft=2640)


def test_a_real_county(county: Network) -> None:
    sites, access = beside_the_roads(county, 16, 1), beside_the_roads(county, 80, 2)
    on_road = [np.flatnonzero(points.on_road) for points in (sites, access)]
    assert [len(rows) for rows in on_road] >= [10, 50]
    sites, access = sites.take(on_road[0][:10]), access.take(on_road[1][:50])
    assert check_legs(county, RULES, sites, access) > 300
    assert check_hose(county, sites, access, 20_000) > 10
    assert check_shortest(county, sites, access) > 300


def test_our_networkx_graph_is_the_same_network(county: Network) -> None:
    """From junction to junction, over the graph handed out for tracing."""
    graph = to_networkx(county)
    rng = np.random.default_rng(4)
    stop = np.flatnonzero(county.drivable)
    chosen = rng.choice(stop, 5)
    sites = on_segments([(int(segment), 0.0) for segment in chosen])
    ends = rng.choice(stop, 200)
    access = on_segments([(int(segment), 1.0) for segment in ends])
    minutes, _ = response(county, RULES, sites, access)
    for row, segment in enumerate(chosen):
        start = int(county.node_ids[county.tail[segment]])
        far = nx.single_source_dijkstra_path_length(graph, start, weight="minutes")
        wanted = [far.get(int(county.node_ids[county.head[end]]), math.inf) for end in ends]
        assert minutes[row] - 0.65 == pytest.approx(wanted, abs=1e-6, rel=0)
