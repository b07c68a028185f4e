"""Laws of travel and snapping that hold on any roads."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from haulshed.roads.network import Network, build_network
from haulshed.roads.points import Points
from haulshed.roads.snap import snap
from haulshed.roads.travel import Legs, legs
from haulshed.scenario import RoadRules, SpeedTable, TravelMethod

RULES = RoadRules()
SEEDS = st.integers(0, 2**32 - 1)
TABLES = ("loaded_min", "empty_min", "loaded_miles", "empty_miles")


def town(seed: int, *, one_way_share: float = 0.3) -> gpd.GeoDataFrame:
    """Return a ragged grid of crooked roads, some one-way, some private, some doubled."""
    rng = np.random.default_rng(seed)
    side = 5
    where = np.indices((side, side)).reshape(2, -1).T * 700 + rng.uniform(-200, 200, (side**2, 2))
    tail, head = np.nonzero(np.triu(np.abs(where[:, None] - where).sum(axis=2) < 900, k=1))
    keep = np.repeat(np.flatnonzero(rng.random(len(tail)) < 0.8), 1 + (rng.random() < 0.5))
    tail, head = tail[keep], head[keep]
    middle = (where[tail] + where[head]) / 2 + rng.uniform(-150, 150, (len(tail), 2))
    count = len(tail)
    way = rng.choice([0, 1, 2], count, p=[1 - one_way_share, one_way_share / 2, one_way_share / 2])
    return gpd.GeoDataFrame(
        {
            "segment_id": np.arange(count),
            "from_node": tail,
            "to_node": head,
            "road_class": rng.choice(["residential", "tertiary", "secondary"], count),
            "forward_open": way != 1,
            "backward_open": way != 2,
            "public": np.arange(count) % 9 != 8,
            "may_stop": True,
            "unpaved": rng.random(count) < 0.3,
            "posted_mph": np.where(rng.random(count) < 0.3, rng.uniform(10, 60, count), np.nan),
        },
        geometry=shapely.linestrings(np.stack((where[tail], middle, where[head]), axis=1)),
        crs="EPSG:32616",
    )


def places(network: Network, seed: int, count: int = 8) -> Points:
    xy = np.random.default_rng(seed).uniform(-300, 3200, (count, 2))
    return snap(gpd.GeoSeries(shapely.points(xy)), network, limit_ft=5000)


def all_legs(segments: gpd.GeoDataFrame, rules: RoadRules, seed: int) -> Legs:
    network = build_network(segments, rules)
    return legs(network, rules, places(network, seed), places(network, seed + 1))


@settings(max_examples=25, deadline=None)
@given(SEEDS)
def test_going_by_way_of_a_third_place_is_never_quicker(seed: int) -> None:
    network = build_network(town(seed), RULES)
    points = places(network, seed)
    minutes = legs(network, RULES, points, points).loaded_min - RULES.leg_fixed_min
    by_way_of = (minutes[:, :, None] + minutes[None, :, :]).min(axis=1)
    assert np.diag(minutes) == pytest.approx(np.zeros(len(minutes)), abs=1e-12)
    assert (minutes <= by_way_of + 1e-9).all()


@settings(max_examples=25, deadline=None)
@given(SEEDS)
def test_the_empty_leg_is_the_loaded_leg_the_other_way(seed: int) -> None:
    network = build_network(town(seed), RULES)
    sites, access = places(network, seed), places(network, seed + 1)
    there, back = legs(network, RULES, sites, access), legs(network, RULES, access, sites)
    assert there.empty_min == pytest.approx(back.loaded_min.T)
    assert there.empty_miles == pytest.approx(back.loaded_miles.T)


@settings(max_examples=25, deadline=None)
@given(SEEDS)
def test_without_one_ways_both_legs_are_alike(seed: int) -> None:
    found = all_legs(town(seed, one_way_share=0), RULES, seed)
    assert found.loaded_min == pytest.approx(found.empty_min)
    assert found.loaded_miles == pytest.approx(found.empty_miles)


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.floats(20, 80), st.floats(20, 80))
def test_faster_roads_never_lengthen_a_leg(seed: int, one_mph: float, other_mph: float) -> None:
    slow, fast = sorted((one_mph, other_mph))
    slower, faster = (
        all_legs(town(seed), RoadRules(max_mph=mph, speed_mph=SpeedTable(residential=mph)), seed)
        for mph in (slow, fast)
    )
    assert (faster.loaded_min <= slower.loaded_min + 1e-9).all()
    assert (faster.empty_min <= slower.empty_min + 1e-9).all()


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.integers(0, 20))
def test_opening_a_one_way_never_lengthens_a_leg(seed: int, number: int) -> None:
    segments = town(seed)
    opened = segments.copy()
    opened.loc[number % len(segments), ["forward_open", "backward_open"]] = True
    before, after = all_legs(segments, RULES, seed), all_legs(opened, RULES, seed)
    assert (after.loaded_min <= before.loaded_min + 1e-9).all()


@settings(max_examples=25, deadline=None)
@given(SEEDS)
def test_order_and_direction_of_drawing_change_nothing(seed: int) -> None:
    segments = town(seed)
    rng = np.random.default_rng(seed)
    order = rng.permutation(len(segments))
    turned = segments.iloc[order].reset_index(drop=True)
    turned["segment_id"] = np.arange(len(turned))
    flip = rng.random(len(turned)) < 0.5
    for one, other in (("from_node", "to_node"), ("forward_open", "backward_open")):
        turned[one], turned[other] = (
            turned[one].where(~flip, turned[other]),
            turned[other].where(~flip, turned[one]),
        )
    turned.geometry = turned.geometry.where(~flip, turned.geometry.reverse())
    network, other = build_network(segments, RULES), build_network(turned, RULES)
    sites, access = places(network, seed), places(network, seed + 1)
    found = legs(network, RULES, sites, access)
    again = legs(other, RULES, _moved(sites, order, flip), _moved(access, order, flip))
    for name in TABLES:
        assert getattr(found, name) == pytest.approx(getattr(again, name))


def _moved(points: Points, order: NDArray[np.int64], flip: NDArray[np.bool_]) -> Points:
    """Return the same places by the numbers and directions of the turned roads."""
    place = pd.Series(np.arange(len(order)), index=order)
    segment = place.reindex(points.segment, fill_value=-1).to_numpy()  # -1: on no road
    return replace(
        points,
        segment=segment,
        share=np.where(flip[segment], 1 - points.share, points.share),
    )


@settings(max_examples=25, deadline=None)
@given(SEEDS)
def test_no_leg_is_shorter_than_the_straight_line_nor_faster_than_the_limit(seed: int) -> None:
    network = build_network(town(seed), RULES)
    sites, access = places(network, seed), places(network, seed + 1)
    found = legs(network, RULES, sites, access)
    straight_mi = np.hypot(*(sites.xy[:, None] - access.xy).transpose(2, 0, 1)) / 1609.344
    assert (found.loaded_miles >= straight_mi - 1e-9).all()
    at_limit = found.loaded_miles / RULES.max_mph * 60 + RULES.leg_fixed_min
    assert (found.loaded_min >= at_limit - 1e-9).all()


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.floats(1, 5))
def test_road_distance_is_a_line_over_the_least_miles(seed: int, x_min_per_mile: float) -> None:
    by_miles = RoadRules(
        method=TravelMethod.ROAD_DISTANCE, road_distance_min_per_mile=x_min_per_mile
    )
    found = all_legs(town(seed), by_miles, seed)
    quickest = all_legs(town(seed), RULES, seed)
    reached = np.isfinite(found.loaded_miles)
    assert np.array_equal(reached, np.isfinite(quickest.loaded_miles))
    line = 0.65 + x_min_per_mile * found.loaded_miles[reached]
    assert found.loaded_min[reached] == pytest.approx(line)
    assert (found.loaded_miles <= quickest.loaded_miles + 1e-9).all()


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.floats(10, 3000))
def test_snapping_is_the_least_distance_of_all(seed: int, limit_ft: float) -> None:
    network = build_network(town(seed), RULES)
    xy = np.random.default_rng(seed).uniform(-300, 3200, (30, 2))
    points = shapely.points(xy)
    found = snap(gpd.GeoSeries(points), network, limit_ft=limit_ft)
    distance_m = shapely.distance(points[:, None], network.lines)
    distance_m[:, ~network.segments["public"].to_numpy()] = np.inf
    least_m = distance_m.min(axis=1)
    assert found.off_road_m == pytest.approx(least_m)
    lowest = (distance_m <= least_m[:, None] + 1e-6).argmax(axis=1)
    assert np.array_equal(found.segment, np.where(least_m <= limit_ft * 0.3048, lowest, -1))
    on = found.on_road
    assert np.hypot(*(found.xy[on] - xy[on]).T) == pytest.approx(found.off_road_m[on])
    along = shapely.line_interpolate_point(
        network.lines[found.segment[on]], found.share[on], normalized=True
    )
    assert shapely.get_coordinates(along) == pytest.approx(found.xy[on])
