"""The network: minutes either way, parallel roads, loops and what is closed."""

from collections.abc import Callable

import geopandas as gpd
import numpy as np
import pytest

from haulshed.errors import NetworkError
from haulshed.roads.network import build_network, to_networkx
from haulshed.roads.speeds import SpeedSource
from haulshed.scenario import RoadRules, TravelMethod

Make = Callable[..., gpd.GeoDataFrame]
Line = list[tuple[float, float]]

HALF_MILE_M = 804.672  # 1 minute at 30 mph


def road(tail: int, head: int, line: Line, **changed: object) -> dict[str, object]:
    return {"from_node": tail, "to_node": head, "line": line, **changed}


def test_minutes_are_length_over_speed_and_infinite_where_closed(make_segments: Make) -> None:
    line = [(0, 0), (HALF_MILE_M, 0)]
    segments = make_segments(
        [
            road(1, 2, line),
            road(1, 2, line, backward_open=False),
            road(1, 2, line, forward_open=False),
            road(1, 2, line, public=False),
            road(1, 2, [(0, 0), (0, HALF_MILE_M), (HALF_MILE_M, HALF_MILE_M)]),
        ]
    )
    network = build_network(segments, RoadRules())
    inf = np.inf
    assert network.forward_min == pytest.approx([1, 1, inf, inf, 2])
    assert network.backward_min == pytest.approx([1, inf, 1, inf, 2])
    assert network.length_mi == pytest.approx([0.5, 0.5, 0.5, 0.5, 1])
    assert network.drivable.tolist() == [True, True, True, False, True]


def test_parallel_roads_are_not_added_up(make_segments: Make) -> None:
    # A: 0.5 mi at 15 mph = 2 min. B: 0.75 mi at 30 mph = 1.5 min. The matrix must hold 1.5 (and
    # B's 0.75 mi), not 3.5 and not A's 0.5 mi.
    aside = HALF_MILE_M / 4
    segments = make_segments(
        [
            road(7, 9, [(0, 0), (HALF_MILE_M, 0)], posted_mph=15.0),
            road(9, 7, [(HALF_MILE_M, 0), (HALF_MILE_M, aside), (0, aside), (0, 0)]),
        ]
    )
    network = build_network(segments, RoadRules())
    for sense in (network.outward, network.homeward):
        assert sense.graph.toarray() == pytest.approx(np.array([[0, 1.5], [1.5, 0]]))
        assert sense.arc_miles == pytest.approx([0.75, 0.75])


def test_a_loop_is_kept_as_a_segment_but_leads_nowhere_in_the_graph(make_segments: Make) -> None:
    ring = [(0, 0), (100, 0), (100, 100), (0, 0)]
    network = build_network(make_segments([road(5, 5, ring)]), RoadRules())
    assert network.outward.graph.nnz == 0
    assert np.isfinite(network.forward_min).all()


def test_road_distance_makes_minutes_of_miles_alone(make_segments: Make) -> None:
    rules = RoadRules(method=TravelMethod.ROAD_DISTANCE)
    line = [(0, 0), (2 * HALF_MILE_M, 0)]
    network = build_network(make_segments([road(1, 2, line, posted_mph=5.0)]), rules)
    assert network.forward_min == pytest.approx([1.7])  # X = 1.7 min a mile, one mile
    assert network.speed_source.tolist() == [SpeedSource.ROAD_DISTANCE]


@pytest.mark.parametrize(
    "closed", [{"public": False}, {"forward_open": False, "backward_open": False}]
)
def test_no_road_for_a_tanker_is_an_error_that_says_the_cure(
    make_segments: Make, closed: dict[str, bool]
) -> None:
    segments = make_segments([road(1, 2, [(0, 0), (1, 0)], **closed)])
    with pytest.raises(NetworkError, match=r"none of the 1 road segments.*roads\.private"):
        build_network(segments, RoadRules())


def test_networkx_gets_every_open_direction_under_its_segment(make_segments: Make) -> None:
    line = [(0, 0), (HALF_MILE_M, 0)]
    segments = make_segments(
        [
            road(11, 12, line),
            road(12, 11, line[::-1], posted_mph=15.0, backward_open=False),
            road(12, 12, [(0, 0), (HALF_MILE_M / 2, 0), (0, 0)]),
            road(12, 13, line, public=False),
        ]
    )
    graph = to_networkx(build_network(segments, RoadRules()))
    edges = {(u, v, key): minutes for u, v, key, minutes in graph.edges(keys=True, data="minutes")}
    assert edges == pytest.approx({(11, 12, 0): 1, (12, 11, 0): 1, (12, 11, 1): 2, (12, 12, 2): 1})
    assert sorted(graph) == [11, 12, 13]
    assert graph.edges[12, 11, 1]["miles"] == pytest.approx(0.5)
