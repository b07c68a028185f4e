"""Elimination on graphs that real roads do not show, and the choice of how to search."""

from collections.abc import Callable, Sequence

import geopandas as gpd
import numpy as np
import pytest
from scipy.sparse import csr_array, random_array
from scipy.sparse.csgraph import dijkstra

from haulshed.roads import travel
from haulshed.roads.elimination import WIDTH, Stubs, build_ladder, sweep
from haulshed.roads.network import Network, build_network
from haulshed.roads.points import Points
from haulshed.scenario import RoadRules

MakeSegments = Callable[[Sequence[dict[str, object]]], gpd.GeoDataFrame]


def from_nodes(nodes: list[int]) -> Stubs:
    ends = np.array(nodes)[:, None]
    nothing = np.zeros(ends.shape)
    return Stubs(ends, nothing, nothing)


@pytest.mark.parametrize("density", [0.01, 0.02, 0.2])
def test_any_graph_against_scipys_dijkstra(density: float) -> None:
    graph = csr_array(random_array((150, 150), density=density, rng=7))
    graph.setdiag(0)
    graph.eliminate_zeros()
    sources = list(range(WIDTH + 9))  # more than one sweep
    miles = np.ones(graph.nnz)
    cost, _ = sweep(build_ladder(graph, miles), from_nodes(sources))
    wanted = dijkstra(graph, indices=sources)
    np.testing.assert_allclose(cost.T, wanted, atol=1e-12)
    assert np.isfinite(wanted).sum() > len(sources)  # more than each source itself


def test_miles_are_those_of_the_cheapest_way_not_the_shortest() -> None:
    # 0 → 1 → 2 costs 2 over 10 miles; 0 → 2 costs 3 over 1 mile.
    graph = csr_array(([1.0, 3.0, 1.0], [1, 2, 2], [0, 2, 3, 3]), shape=(3, 3))
    cost, miles = sweep(build_ladder(graph, np.array([5.0, 1.0, 5.0])), from_nodes([0]))
    assert cost.T.tolist() == [[0, 1, 2]]
    assert miles.T.tolist() == [[0, 5, 10]]


def test_progress_ends_at_the_last_source() -> None:
    graph = csr_array(([1.0], [1], [0, 1, 1]), shape=(2, 2))
    told: list[tuple[int, int]] = []
    sweep(
        build_ladder(graph, np.ones(1)),
        from_nodes([0] * (WIDTH + 1)),
        progress=lambda done, of: told.append((done, of)),
    )
    assert told == [(WIDTH, WIDTH + 1), (WIDTH + 1, WIDTH + 1)]


@pytest.fixture
def two_roads(make_segments: MakeSegments) -> Network:
    roads = [
        {"from_node": 1, "to_node": 2, "line": [(0, 0), (1609.344, 0)]},
        {"from_node": 2, "to_node": 3, "line": [(1609.344, 0), (1609.344, 800)]},
    ]
    return build_network(make_segments(roads), RoadRules())


@pytest.mark.parametrize(("meshed", "eliminates"), [(travel.MESHED, 1), (0.1, 0)])
def test_many_sites_eliminate_unless_the_roads_are_too_meshed(
    two_roads: Network, monkeypatch: pytest.MonkeyPatch, meshed: float, eliminates: int
) -> None:
    calls: list[int] = []
    real = travel.search_by

    def counted(*given: object, **named: object) -> object:
        calls.append(1)
        return real(*given, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(travel, "MESHED", meshed)
    monkeypatch.setattr(travel, "search_by", counted)
    many = travel.MANY_SITES
    sites = Points(
        segment=np.zeros(many, dtype=np.int64),
        share=np.linspace(0, 1, many),
        off_road_m=np.zeros(many),
        xy=np.zeros((many, 2)),
    )
    at_the_end = Points(
        segment=np.array([1]), share=np.array([1.0]), off_road_m=np.zeros(1), xy=np.zeros((1, 2))
    )
    found = travel.legs(two_roads, RoadRules(leg_fixed_min=0), sites, at_the_end)
    assert len(calls) == 2 * eliminates
    # 30 mph is 2 min a mile: the mile that is left of the first road, then 800 m of the second.
    by_hand = 2 * (1 - sites.share) + 2 * 800 / 1609.344
    assert found.loaded_min[:, 0] == pytest.approx(by_hand)
    assert found.loaded_miles[:, 0] == pytest.approx(by_hand / 2)
    assert found.empty_min == pytest.approx(found.loaded_min)
