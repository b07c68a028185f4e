"""Who may pass a posted road, and how few passages that makes."""

from collections.abc import Callable, Sequence

import geopandas as gpd
import numpy as np
import pytest
from shapely import box

from haulshed.errors import NetworkError
from haulshed.roads.closures import without_area, without_ways
from haulshed.roads.network import build_network
from haulshed.roads.passage import Figures, limits_of, passages, without
from haulshed.roads.points import Points
from haulshed.roads.travel import legs, road_feet
from haulshed.scenario import PostedWeights, RoadRules

Make = Callable[[Sequence[dict[str, object]]], gpd.GeoDataFrame]
RULES = RoadRules(leg_fixed_min=0)
HALF_MILE_M = 804.672


def square(make_segments: Make, **bridge: object) -> gpd.GeoDataFrame:
    """Return a half mile over a bridge from 1 to 2, and three half miles around it."""
    corners = [(0, 0), (HALF_MILE_M, 0), (HALF_MILE_M, HALF_MILE_M), (0, HALF_MILE_M)]

    def side(start: int, end: int, at: tuple[int, int], **more: object) -> dict[str, object]:
        line = [corners[at[0]], corners[at[1]]]
        return {"from_node": start, "to_node": end, "line": line, **more}

    return make_segments(
        [
            side(1, 2, (0, 1), **{"bridge": True, "may_stop": False, **bridge}),
            side(1, 4, (0, 3)),
            side(4, 3, (3, 2)),
            side(3, 2, (2, 1)),
        ]
    )


def vehicles(*rows: tuple[float, float]) -> Figures:
    weight_lb, height_ft = np.array(rows, dtype=float).T
    return Figures(weight_lb=weight_lb, height_ft=height_ft, rated_lb=weight_lb)


def ends() -> tuple[Points, Points]:
    """Return the two ends of the bridge, put on the roads beside it."""

    def at(segment: int, share: float) -> Points:
        return Points(
            segment=np.array([segment]),
            share=np.array([share]),
            off_road_m=np.zeros(1),
            xy=np.zeros((1, 2)),
        )

    return at(1, 0.0), at(3, 1.0)


def minutes(segments: gpd.GeoDataFrame, rules: RoadRules, weight_lb: float) -> float:
    network = build_network(segments, rules)
    sorted_out = passages(network, limits_of(segments, rules), vehicles((weight_lb, 10)))
    own = without(network, sorted_out.stopped[sorted_out.of_vehicle[0]])
    return float(legs(own, rules, *ends()).loaded_min[0, 0])


def test_a_weight_at_the_limit_passes_and_one_above_it_drives_around(make_segments: Make) -> None:
    # 30 mph: a minute a half mile; three around.
    posted = square(make_segments, max_weight_lb=20_000.0)
    assert minutes(posted, RULES, 20_000) == pytest.approx(1)
    assert minutes(posted, RULES, 20_001) == pytest.approx(3)


def test_what_holds_is_the_scenarios_choice(make_segments: Make) -> None:
    bridge = square(make_segments, max_weight_lb=20_000.0)
    road = square(make_segments, max_weight_lb=20_000.0, bridge=False)
    rated = square(make_segments, max_rated_lb=20_000.0)
    forbidden = square(make_segments, hgv_allowed=False)
    low = square(make_segments, max_height_ft=9.0)
    only_bridges = RULES.model_copy(update={"posted_weights": PostedWeights.BRIDGES})
    none = RULES.model_copy(update={"posted_weights": PostedWeights.NONE})
    law = RULES.model_copy(update={"legal_limits": True})
    around = 3.0
    for segments, by_rules in (
        (bridge, {"all": around, "bridges": around, "none": 1, "law": around}),
        (road, {"all": around, "bridges": 1, "none": 1, "law": around}),
        (rated, {"all": 1, "bridges": 1, "none": 1, "law": around}),
        (forbidden, {"all": 1, "bridges": 1, "none": 1, "law": around}),
        (low, {"all": around, "bridges": around, "none": around, "law": around}),
    ):
        rules = {"all": RULES, "bridges": only_bridges, "none": none, "law": law}
        for name, wanted in by_rules.items():
            assert minutes(segments, rules[name], 40_000) == pytest.approx(wanted), name


def test_nothing_posted_is_one_passage(make_segments: Make) -> None:
    segments = square(make_segments)
    network = build_network(segments, RULES)
    got = passages(network, limits_of(segments, RULES), vehicles((10, 5), (90_000, 14)))
    assert got.of_vehicle.tolist() == [0, 0]
    assert len(got.stopped) == 1
    assert without(network, got.stopped[0]) is network


def test_limits_between_two_weights_part_them_and_no_others(make_segments: Make) -> None:
    segments = square(make_segments)
    segments["max_weight_lb"] = [20_000.0, 30_000.0, np.nan, 30_000.0]
    network = build_network(segments, RULES)
    fleet = vehicles((15_000, 9), (25_000, 9), (28_000, 9), (40_000, 9), (60_000, 9))
    got = passages(network, limits_of(segments, RULES), fleet)
    assert got.of_vehicle.tolist() == [0, 1, 1, 2, 2]
    assert [stopped.tolist() for stopped in got.stopped] == [
        [False] * 4,
        [True, False, False, False],
        [True, True, False, True],
    ]


def test_a_limit_on_a_road_that_nobody_may_use_makes_no_passage(make_segments: Make) -> None:
    segments = square(make_segments)
    segments["max_weight_lb"] = [20_000.0, np.nan, np.nan, np.nan]
    segments["public"] = [False, True, True, True]
    network = build_network(segments, RULES)
    got = passages(network, limits_of(segments, RULES), vehicles((40_000, 9)))
    assert got.of_vehicle.tolist() == [0]


def test_a_closed_way_carries_nothing_and_no_hose(make_segments: Make) -> None:
    segments = square(make_segments)
    shut = without_ways(segments, [100])
    assert minutes(segments, RULES, 1) == pytest.approx(1)
    assert minutes(shut, RULES, 1) == pytest.approx(3)
    hose_ft = [
        road_feet(build_network(each, RULES), *ends(), reach_ft=10_000)[0, 0]
        for each in (segments, shut)
    ]
    assert hose_ft == pytest.approx([2640, 3 * 2640])
    assert not build_network(shut, RULES).may_stop[0]
    assert segments["forward_open"].all()  # the argument is as it was


def test_a_closed_area_closes_what_it_touches(make_segments: Make) -> None:
    segments = square(make_segments)
    flood = box(HALF_MILE_M / 2, HALF_MILE_M - 10, HALF_MILE_M / 2 + 50, HALF_MILE_M + 10)
    shut = without_area(segments, flood)
    assert shut["forward_open"].tolist() == [True, True, False, True]
    assert without_ways(segments, ()) is segments


def test_a_way_that_is_not_there_cannot_be_closed(make_segments: Make) -> None:
    with pytest.raises(NetworkError, match="closed_ways: 7, 9: no such way"):
        without_ways(square(make_segments), [7, 100, 9])
