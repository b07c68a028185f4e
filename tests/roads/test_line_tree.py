"""The nearest line, and the place on it, against shapely's (GEOS) own answers pair by pair."""

import numpy as np
import pytest
import shapely
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from haulshed.roads.line_tree import BRANCHES, RUN, build_tree, near, nearest
from haulshed.roads.lines import SAME_M, Lines, distances, lines_of, nearest_places

Positions = list[tuple[float, float]]
Lengths = list[Positions]

#: Whole metres, so that many lines are equally near; tenths of a micrometre, so that some are
#: nearly; any others.
WHOLE = st.integers(-4, 4).map(float)
NEARLY = st.integers(-30, 30).map(lambda tenths: tenths * 1e-7)
COORDINATE = WHOLE | NEARLY | st.floats(-3000, 3000).map(lambda any_m: round(any_m, 7))
POSITION = st.tuples(COORDINATE, COORDINATE)
#: Positions may repeat: pieces of no length, lines of no length.
LINES = st.lists(st.lists(POSITION, min_size=2, max_size=3 * RUN), min_size=1, max_size=12)
#: A county's width off the roads, and farther.
FAR = st.tuples(st.floats(-1e7, 1e7), st.floats(-1e7, 1e7))
POINTS = st.lists(POSITION | FAR, min_size=1, max_size=8)
#: Coordinates of a district far from the origin of its system [m].
OFFSETS = st.sampled_from([(0.0, 0.0), (447_609.2, 4_345_593.6)])


def apart(points: NDArray[np.float64], lines: NDArray[np.object_]) -> NDArray[np.float64]:
    """Return the distance of each point to each line, (points, lines)."""
    return np.asarray(shapely.distance(shapely.points(points)[:, None], lines))


def lowest_of(distance_m: NDArray[np.float64]) -> list[int]:
    """Return the lowest line of those nearest to a micrometre."""
    least_m = distance_m.min(axis=1, keepdims=True)
    return np.argmax(distance_m <= least_m + SAME_M, axis=1).tolist()


#: Looked at one after the other, each takes less than a micrometre off; the first one is then no
#: longer as near as the last.
CREEPING: Lengths = [[(-1, 9 - away), (1, 9 - away)] for away in (1.5e-6, 0.8e-6, 0)]


@given(LINES, POINTS, OFFSETS)
@example(CREEPING, [(0, 10)], (0.0, 0.0))
@example([[(0, 0), (0, 0), (3, 0)]], [(0, 1)], (0.0, 0.0))
@example([[(5, 5), (5, 5)]], [(5, 5), (-1e6, 1e6)], (0.0, 0.0))
def test_the_nearest_line_and_its_distance(
    drawn: Lengths, points: Positions, offset: tuple[float, float]
) -> None:
    lines = shapely.linestrings(
        np.concatenate(drawn) + offset, indices=np.repeat(range(len(drawn)), [*map(len, drawn)])
    )
    xy = np.array(points) + offset
    found, distance_m = nearest(
        build_tree(lines_of(lines), np.ones(len(lines), np.bool_)), xy, within_m=np.inf
    )
    wanted_m = apart(xy, lines)
    assert found.tolist() == lowest_of(wanted_m)
    np.testing.assert_allclose(distance_m, wanted_m.min(axis=1), rtol=1e-12, atol=1e-9)


@given(LINES, POINTS, st.floats(0, 5000), st.data())
def test_only_chosen_lines_and_only_within_reach(
    drawn: Lengths, points: Positions, within_m: float, data: st.DataObject
) -> None:
    size = len(drawn)
    chosen = np.array(data.draw(st.lists(st.booleans(), min_size=size, max_size=size)))
    lines = np.array([shapely.LineString(one) for one in drawn])
    found, distance_m = nearest(
        build_tree(lines_of(lines), chosen), np.array(points), within_m=within_m
    )
    wanted_m = np.where(chosen, apart(np.array(points), lines), np.inf)
    least_m = wanted_m.min(axis=1)
    wanted = np.where(least_m <= within_m, lowest_of(wanted_m), -1)
    assert found.tolist() == wanted.tolist()
    assert np.isinf(distance_m).tolist() == (wanted < 0).tolist()


@given(LINES, POINTS, st.data())
def test_the_place_on_a_line(drawn: Lengths, points: Positions, data: st.DataObject) -> None:
    lines = np.array([shapely.LineString(one) for one in drawn])
    row = np.array([data.draw(st.integers(0, len(drawn) - 1)) for _ in points])
    seeds = shapely.points(np.array(points))
    along_m, xy = nearest_places(lines_of(lines), row, np.array(points))
    length_m = shapely.length(lines[row])
    wanted_m = shapely.line_locate_point(lines[row], seeds)
    # An end within a micrometre is the end.
    np.testing.assert_allclose(along_m, wanted_m, rtol=1e-12, atol=1.001 * SAME_M)
    inner = (wanted_m > 2 * SAME_M) & (length_m - wanted_m > 2 * SAME_M)
    np.testing.assert_allclose(along_m[inner], wanted_m[inner], rtol=1e-12, atol=1e-9)
    spots = shapely.get_coordinates(shapely.line_interpolate_point(lines[row], along_m))
    np.testing.assert_allclose(xy, spots, rtol=1e-12, atol=1e-9)
    distance_m = shapely.distance(lines[row], seeds)
    found_m = distances(lines_of(lines), row, np.array(points))
    np.testing.assert_allclose(found_m, distance_m, rtol=1e-12, atol=1e-9)


@given(LINES, st.lists(st.tuples(POSITION, POSITION), min_size=1, max_size=8), st.floats(0, 50))
def test_no_line_near_a_box_is_missed_and_no_pair_comes_twice(
    drawn: Lengths, corners: list[tuple[tuple[float, float], tuple[float, float]]], within_m: float
) -> None:
    lines = np.array([shapely.LineString(one) for one in drawn])
    boxes = shapely.bounds(shapely.linestrings(corners))
    tree = build_tree(lines_of(lines), np.ones(len(lines), np.bool_))
    pairs = list(zip(*(one.tolist() for one in near(tree, boxes, within_m=within_m)), strict=True))
    shapes = shapely.box(*boxes.T)[:, None]
    wanted = np.argwhere(shapely.dwithin(shapes, lines, within_m)).tolist()
    assert len(set(pairs)) == len(pairs)
    assert set(map(tuple, wanted)) <= set(pairs)
    # What comes besides is near by its own box at least.
    bounds = shapely.box(*shapely.bounds(lines).T)
    apart_m = shapely.distance(shapes, bounds)
    assert all(apart_m[pair] <= np.sqrt(2) * within_m + SAME_M for pair in pairs)


def random_lines(count: int) -> Lines:
    starts = np.random.default_rng(5).uniform(0, 1000, (count, 2))
    return lines_of(shapely.linestrings(np.stack((starts, starts + 7), axis=1)))


@pytest.mark.parametrize("count", [0, 1, 2, BRANCHES, BRANCHES + 1, BRANCHES**2 + 1, 333])
def test_every_box_of_the_tree_holds_what_is_within_it(count: int) -> None:
    lines = random_lines(count)
    tree = build_tree(lines, np.ones(count, np.bool_))
    assert sorted(tree.line[tree.line >= 0].tolist()) == list(range(count))
    for box, past in enumerate(tree.past.tolist()):
        assert box < past <= len(tree.past)
        inner = tree.boxes[box:past]
        assert (inner[:, :2] >= tree.boxes[box, :2]).all()
        assert (inner[:, 2:] <= tree.boxes[box, 2:]).all()
    if count:
        assert tree.past[0] == len(tree.past)


def test_a_point_that_is_missing_has_no_line() -> None:
    tree = build_tree(random_lines(3), np.ones(3, np.bool_))
    points = np.array([[np.nan, np.nan], [1.0, 1.0]])
    found, distance_m = nearest(tree, points, within_m=np.inf)
    assert (found[0], distance_m[0]) == (-1, np.inf)
    assert found[1] >= 0
    assert not len(near(tree, np.full((1, 4), np.nan), within_m=9.0)[0])
    nowhere, _ = nearest(tree, np.full((2, 2), np.nan), within_m=np.inf)
    assert nowhere.tolist() == [-1, -1]
