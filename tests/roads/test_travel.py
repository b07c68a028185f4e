"""Legs worked on paper. Roads are at 30 mph, so 804.672 m (half a mile) take a minute."""

from collections.abc import Callable

import geopandas as gpd
import numpy as np
import pytest
from shapely import Point

from haulshed.roads import search as search_module
from haulshed.roads.network import Network, build_network
from haulshed.roads.points import Points
from haulshed.roads.snap import snap
from haulshed.roads.travel import legs, legs_from, reach, response, road_feet
from haulshed.scenario import RoadRules, TravelMethod

Make = Callable[..., gpd.GeoDataFrame]
XY = tuple[float, float]
Line = list[tuple[float, float]]

MIN_M = 804.672
INF = np.inf
RULES = RoadRules(leg_fixed_min=0.65)


def road(tail: int, head: int, line: Line, **changed: object) -> dict[str, object]:
    """Return a road whose coordinates are in minutes at 30 mph."""
    return {
        "from_node": tail,
        "to_node": head,
        "line": [(x * MIN_M, y * MIN_M) for x, y in line],
        **changed,
    }


def on(network: Network, *places: XY) -> Points:
    """Return places (coordinates in minutes at 30 mph) on the road."""
    points = gpd.GeoSeries([Point(x * MIN_M, y * MIN_M) for x, y in places])
    return snap(points, network, limit_ft=10_000)


def drive(network: Network, site: XY, access: XY) -> tuple[float, float, float, float]:
    """Return loaded and empty minutes less the fixed part, and loaded and empty miles."""
    found = legs(network, RULES, on(network, site), on(network, access))
    return (
        found.loaded_min[0, 0] - 0.65,
        found.empty_min[0, 0] - 0.65,
        found.loaded_miles[0, 0],
        found.empty_miles[0, 0],
    )


def test_points_in_the_middle_of_two_roads_in_line(make_segments: Make) -> None:
    # 0———4———8, site at 1, access at 6: 5 min and 2.5 mi both ways; the nearest junctions would
    # have said 8 or 4.
    network = build_network(
        make_segments([road(1, 2, [(0, 0), (4, 0)]), road(2, 3, [(4, 0), (8, 0)])]), RULES
    )
    assert drive(network, (1, 0), (6, 0)) == pytest.approx((5, 5, 2.5, 2.5))


def test_two_road_pair_takes_the_quicker_and_its_miles(make_segments: Make) -> None:
    # From the fork at 1 to the fork at 3: straight 2 min long but posted 15 mph, so 4 min for
    # 1 mi; round by the detour 3 min for 1.5 mi. Site at 0.5, access at 3.5:
    # 0.5 + 3 + 0.5 = 4 min over 0.25 + 1.5 + 0.25 = 2 mi.
    network = build_network(
        make_segments(
            [
                road(1, 2, [(0, 0), (1, 0)]),
                road(2, 3, [(1, 0), (3, 0)], posted_mph=15.0),
                road(3, 2, [(3, 0), (3, 0.5), (1, 0.5), (1, 0)]),
                road(3, 4, [(3, 0), (4, 0)]),
            ]
        ),
        RULES,
    )
    assert drive(network, (0.5, 0), (3.5, 0)) == pytest.approx((4, 4, 2, 2))
    # On the slow road itself, 0.5 from the fork at 1: 0.5 + 0.5 times 2 = 1.5 min, 0.5 mi.
    assert drive(network, (0.5, 0), (1.5, 0)) == pytest.approx((1.5, 1.5, 0.5, 0.5))


def test_lollipop_loop_goes_the_shorter_way_round(make_segments: Make) -> None:
    # A stick of 1 from the site, then a ring of 4 (a square of side 1) that starts and ends at
    # the same junction. A point 3 along the ring is 1 back: 1 + 1 = 2 min, not 1 + 3.
    ring = [(1, 0), (2, 0), (2, 1), (1, 1), (1, 0)]
    stick = road(1, 2, [(0, 0), (1, 0)])
    network = build_network(make_segments([stick, road(2, 2, ring)]), RULES)
    assert drive(network, (0, 0), (1, 1)) == pytest.approx((2, 2, 1, 1))
    # One-way round the ring: out 1 + 3 = 4 min, home 1 + 1 = 2.
    one_way = build_network(make_segments([stick, road(2, 2, ring, backward_open=False)]), RULES)
    assert drive(one_way, (0, 0), (1, 1)) == pytest.approx((4, 2, 2, 1))


def test_two_points_on_one_ring_use_its_junction_where_that_is_shorter(make_segments: Make) -> None:
    # Ring of 4; points 0.5 and 3.5 along it are 3 apart by the ring, 1 apart over its junction.
    ring = [(1, 0), (2, 0), (2, 1), (1, 1), (1, 0)]
    network = build_network(make_segments([road(1, 2, [(0, 0), (1, 0)]), road(2, 2, ring)]), RULES)
    assert drive(network, (1.5, 0), (1, 0.5)) == pytest.approx((1, 1, 0.5, 0.5))


def test_dead_end_is_reached_and_left_by_its_mouth(make_segments: Make) -> None:
    # Main road 0———4, dead end up from its middle at 2, access 1.5 into it, site at 1.
    network = build_network(
        make_segments(
            [
                road(1, 2, [(0, 0), (2, 0)]),
                road(2, 3, [(2, 0), (4, 0)]),
                road(2, 4, [(2, 0), (2, 3)]),
            ]
        ),
        RULES,
    )
    assert drive(network, (1, 0), (2, 1.5)) == pytest.approx((2.5, 2.5, 1.25, 1.25))


def test_same_segment_both_ways(make_segments: Make) -> None:
    network = build_network(make_segments([road(1, 2, [(0, 0), (4, 0)])]), RULES)
    assert drive(network, (1, 0), (3.5, 0)) == pytest.approx((2.5, 2.5, 1.25, 1.25))
    assert drive(network, (3.5, 0), (1, 0)) == pytest.approx((2.5, 2.5, 1.25, 1.25))
    assert drive(network, (2, 0), (2, 0)) == pytest.approx((0, 0, 0, 0))


def test_same_segment_of_a_one_way_goes_round_the_block_one_way(make_segments: Make) -> None:
    # One-way 0→4, a two-way detour of 6 back from 4 to 0. Site at 1, access at 3:
    # loaded 2 straight; empty 1 to the end, 6 round, 1 in: 8 min and 4 mi.
    block = [
        road(1, 2, [(0, 0), (4, 0)], backward_open=False),
        road(2, 1, [(4, 0), (4, 1), (0, 1), (0, 0)]),
    ]
    network = build_network(make_segments(block), RULES)
    assert drive(network, (1, 0), (3, 0)) == pytest.approx((2, 8, 1, 4))
    assert drive(network, (3, 0), (1, 0)) == pytest.approx((8, 2, 4, 1))
    # Without the detour there is no way back: an answer, not an error.
    alone = build_network(make_segments(block[:1]), RULES)
    assert drive(alone, (1, 0), (3, 0)) == pytest.approx((2, INF, 1, INF))


def test_same_segment_can_be_quicker_round_than_along(make_segments: Make) -> None:
    # Site and access at the two ends' inner 0.5 of a road of 4 at 5 mph (6 times as slow):
    # along 3 times 6 = 18 min; out 0.5 times 6, round 6, in 0.5 times 6 = 12 min, and
    # 0.25 + 3 + 0.25 mi.
    network = build_network(
        make_segments(
            [
                road(1, 2, [(0, 0), (4, 0)], posted_mph=5.0),
                road(2, 1, [(4, 0), (4, 1), (0, 1), (0, 0)]),
            ]
        ),
        RULES,
    )
    assert drive(network, (0.5, 0), (3.5, 0)) == pytest.approx((12, 12, 3.5, 3.5))


def test_a_point_at_a_junction_is_the_junction_whatever_road_it_was_put_on(
    make_segments: Make,
) -> None:
    # The place (1, 0) is put on segment 0, a one-way that leads away from it. Tankers come by the
    # other road all the same: 1 min from the site at (1, 1).
    network = build_network(
        make_segments(
            [
                road(1, 2, [(1, 0), (3, 0)], backward_open=False),
                road(1, 3, [(1, 0), (1, 2)]),
            ]
        ),
        RULES,
    )
    at = on(network, (1, 0))
    assert at.segment.tolist() == [0]
    assert drive(network, (1, 1), (1, 0)) == pytest.approx((1, 1, 0.5, 0.5))
    assert drive(network, (1, 0), (1, 1)) == pytest.approx((1, 1, 0.5, 0.5))
    # Nor can one come home from the one-way's far end, which has no other road.
    assert drive(network, (1, 1), (3, 0)) == pytest.approx((3, INF, 1.5, INF))


def test_a_junction_reached_in_no_time_is_still_reached(make_segments: Make) -> None:
    # The site stands on the junction: its arc to it costs exactly 0, which a sparse matrix could
    # take for no arc at all. So does a road of no length between two junctions.
    network = build_network(
        make_segments(
            [
                road(1, 2, [(0, 0), (1, 0)]),
                road(2, 3, [(1, 0), (1, 0)]),
                road(3, 4, [(1, 0), (2, 0)]),
            ]
        ),
        RULES,
    )
    assert drive(network, (0, 0), (2, 0)) == pytest.approx((2, 2, 1, 1))
    assert drive(network, (1, 0), (2, 0)) == pytest.approx((1, 1, 0.5, 0.5))


def test_cut_off_roads_and_points_off_the_road_are_infinite(make_segments: Make) -> None:
    network = build_network(
        make_segments(
            [
                road(1, 2, [(0, 0), (1, 0)]),
                road(3, 4, [(0, 9), (1, 9)]),
                road(2, 3, [(1, 0), (0, 9)], public=False),
            ]
        ),
        RULES,
    )
    sites = on(network, (0.5, 0), (50, 50))
    access = on(network, (1, 0), (0.5, 9), (99, 99))
    assert access.on_road.tolist() == [True, True, False]
    found = legs(network, RULES, sites, access)
    for name in ("loaded_min", "empty_min", "loaded_miles", "empty_miles"):
        table = getattr(found, name)
        assert np.isfinite(table).tolist() == [[True, False, False], [False, False, False]]
        assert np.isposinf(table).sum() == 5  # infinite, never NaN


def test_road_distance_is_the_published_line_over_the_shortest_road(make_segments: Make) -> None:
    # Figures printed with the published T = 0.65 + 1.7 D, rounded to a tenth (ISO, Response-Time
    # Considerations): 1.5 mi 3.2 min, 2.5 mi 4.9 min. One mile is 2 of this file's units. The
    # quick way round is longer and must not be taken.
    rules = RoadRules(method=TravelMethod.ROAD_DISTANCE)
    network = build_network(
        make_segments(
            [
                road(1, 2, [(0, 0), (5, 0)], posted_mph=5.0),
                road(1, 2, [(0, 0), (0, 1), (5, 1), (5, 0)], road_class="primary"),
            ]
        ),
        rules,
    )
    found = legs(network, rules, on(network, (0, 0)), on(network, (3, 0), (5, 0)))
    assert found.loaded_miles[0] == pytest.approx([1.5, 2.5])
    assert found.loaded_min[0] == pytest.approx([3.2, 4.9])
    assert found.empty_min == pytest.approx(found.loaded_min)


def test_response_has_the_fixed_part_and_goes_with_the_one_ways(make_segments: Make) -> None:
    network = build_network(
        make_segments([road(1, 2, [(0, 0), (4, 0)], backward_open=False)]), RULES
    )
    minutes, miles = response(network, RULES, on(network, (1, 0)), on(network, (3, 0), (0.5, 0)))
    assert minutes[0] == pytest.approx([2.65, INF])
    assert miles[0] == pytest.approx([1, INF])


def test_hose_lies_against_a_one_way_and_only_within_reach(make_segments: Make) -> None:
    # One unit is half a mile, 2,640 ft. From (1, 0) back to (0.8, 0): 528 ft; to (0, 0) and up the
    # side road 0.1: 2,640 + 264 = 2,904 ft; the private drive carries none.
    network = build_network(
        make_segments(
            [
                road(1, 2, [(0, 0), (4, 0)], backward_open=False),
                road(1, 3, [(0, 0), (0, 1)], posted_mph=5.0),
                road(2, 4, [(4, 0), (1, 0.1)], public=False),
            ]
        ),
        RULES,
    )
    site, access = on(network, (1, 0)), on(network, (0.8, 0), (0, 0.1), (1, 0))
    assert road_feet(network, site, access, reach_ft=3000)[0] == pytest.approx([528, 2904, 0])
    assert road_feet(network, site, access, reach_ft=1000)[0] == pytest.approx([528, INF, 0])


def test_batches_and_slices_change_nothing_and_progress_ends_at_the_end(
    make_segments: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    network = build_network(
        make_segments([road(i, i + 1, [(i, 0), (i + 1, 0)]) for i in range(6)]), RULES
    )
    sites = on(network, *[(0.3 + i, 0) for i in range(5)])
    access = on(network, *[(0.1 + 0.7 * i, 0) for i in range(8)])
    whole = legs(network, RULES, sites, access)
    calls = []
    monkeypatch.setattr(search_module, "BATCH_BYTES", 2 * 20 * 12)  # two sources of 12 junctions
    found = reach(network, sites, progress=lambda done, of: calls.append((done, of)))
    assert calls == [(2, 10), (4, 10), (5, 10), (7, 10), (9, 10), (10, 10)]
    pieces = [legs_from(network, RULES, found, access.take(slice(i, i + 3))) for i in (0, 3, 6)]
    for name in ("loaded_min", "empty_min", "loaded_miles", "empty_miles"):
        together = np.hstack([getattr(piece, name) for piece in pieces])
        assert np.array_equal(together, getattr(whole, name))
