"""Odd roads, drawn by hand near a UTM zone's middle, and what must become of them."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import CRS, Geod

from haulshed.errors import CrsError, NetworkError
from haulshed.roads.raw import RawWays
from haulshed.roads.segments import build_segments
from haulshed.scenario import RoadRules
from haulshed.tables.segments import SEGMENTS, Segments

RULES = RoadRules()
Way = tuple[int, Sequence[int], Mapping[str, str]]
Places = Mapping[int, tuple[float, float]]

#: A grid of nodes, 0.01° apart: node 10·row + column.
GRID: Places = {
    10 * row + column: (-87.0 + 0.01 * column, 39.5 + 0.01 * row)
    for row in range(6)
    for column in range(10)
}


def raw(ways: Sequence[Way], places: Places = GRID) -> RawWays:
    ids = sorted(places)
    return RawWays(
        node_id=np.array(ids, dtype=np.int64),
        lon=np.array([places[node][0] for node in ids], dtype=float),
        lat=np.array([places[node][1] for node in ids], dtype=float),
        way_id=np.array([way for way, _, _ in ways], dtype=np.int64),
        ref_start=np.cumsum([0, *(len(nodes) for _, nodes, _ in ways)]),
        refs=np.array([node for _, nodes, _ in ways for node in nodes], dtype=np.int64),
        tags=tuple({"highway": "residential", **tags} for _, _, tags in ways),
        notes={},
    )


def build(*ways: Way, places: Places = GRID) -> tuple[Segments, dict[str, int]]:
    return build_segments(raw(ways, places), RULES)


def ends(segments: Segments) -> list[tuple[int, int, int]]:
    return list(zip(segments["way_id"], segments["from_node"], segments["to_node"], strict=True))


def test_one_way_alone_is_one_segment() -> None:
    segments, notes = build((7, (0, 1, 2, 3), {"name": "Mill Lane", "oneway": "-1"}))
    assert ends(segments) == [(7, 0, 3)]
    row = segments.iloc[0]
    assert (row["name"], row["forward_open"], row["backward_open"]) == ("Mill Lane", False, True)
    assert len(row["geometry"].coords) == 4
    assert {key for key, count in notes.items() if count} == {"ways_read"}


def test_cut_where_ways_meet_and_nothing_is_joined() -> None:
    segments, _ = build((2, (1, 11, 21), {}), (1, (0, 1, 2, 3), {}), (3, (3, 4), {}))
    assert ends(segments) == [(1, 0, 1), (1, 1, 3), (2, 1, 21), (3, 3, 4)]


def test_rows_are_in_order_and_hold_the_table() -> None:
    segments, _ = build((9, (3, 2, 1), {}), (4, (2, 12), {}), (9000000000, (12, 13), {}))
    assert list(segments["segment_id"]) == list(segments.index) == [0, 1, 2, 3]
    assert list(segments.columns) == [column.name for column in SEGMENTS.columns]
    assert ends(segments) == [(4, 2, 12), (9, 3, 2), (9, 2, 1), (9000000000, 12, 13)]


def test_ways_that_cross_without_a_common_node_do_not_meet() -> None:
    segments, _ = build((1, (0, 11), {}), (2, (1, 10), {"bridge": "yes"}))
    assert ends(segments) == [(1, 0, 11), (2, 1, 10)]


def test_lollipop_loop_keeps_one_node_at_both_ends() -> None:
    segments, _ = build((1, (0, 1, 2, 12, 11, 1), {}))
    assert ends(segments) == [(1, 0, 1), (1, 1, 1)]
    assert segments.geometry.iloc[1].is_ring


def test_ring_alone() -> None:
    segments, _ = build((1, (0, 1, 11, 0), {"junction": "roundabout"}))
    assert ends(segments) == [(1, 0, 0)]
    assert (segments["forward_open"].iloc[0], segments["backward_open"].iloc[0]) == (True, False)


def test_roundabout_is_cut_at_each_arm_and_closes() -> None:
    segments, _ = build(
        (1, (11, 12, 22, 21, 11), {"junction": "roundabout"}), (2, (2, 12), {}), (3, (31, 21), {})
    )
    assert ends(segments)[:3] == [(1, 11, 12), (1, 12, 21), (1, 21, 11)]
    assert not segments["backward_open"].iloc[:3].any()


def test_two_roads_between_the_same_nodes_stay_two() -> None:
    segments, _ = build((1, (0, 1, 2), {}), (2, (0, 10, 11, 12, 2), {}), (3, (0, 2), {}))
    assert ends(segments) == [(1, 0, 2), (2, 0, 2), (3, 0, 2)]
    assert segments.length.nunique() == 3


def test_way_that_crosses_itself_is_cut_there() -> None:
    segments, _ = build((1, (0, 11, 22, 12, 11, 10), {}))
    assert ends(segments) == [(1, 0, 11), (1, 11, 11), (1, 11, 10)]


def test_way_that_comes_back_the_same_way() -> None:
    segments, _ = build((1, (0, 1, 2, 1, 0), {}))
    assert sum(segments.length) == pytest.approx(4 * segments.length.iloc[0], rel=1e-3)
    assert set(segments["from_node"]) | set(segments["to_node"]) == {0, 1}


def test_nothing_is_invented_across_a_gap() -> None:
    segments, notes = build((1, (0, 1, 999, 998, 3, 4), {}))
    assert ends(segments) == [(1, 0, 1), (1, 3, 4)]
    assert notes["nodes_missing"] == 2
    assert notes["ways_too_short"] == 0


def test_lone_node_between_gaps_is_no_road_and_cuts_none() -> None:
    segments, notes = build((1, (999, 2, 998), {}), (2, (1, 2, 3), {}))
    assert ends(segments) == [(2, 1, 3)]
    assert (notes["ways_too_short"], notes["nodes_missing"]) == (1, 2)


def test_gap_ends_a_ring_that_no_longer_closes() -> None:
    segments, _ = build((1, (0, 1, 999, 10, 0), {}))
    assert ends(segments) == [(1, 0, 1), (1, 10, 0)]


def test_node_twice_in_a_row_is_once() -> None:
    segments, notes = build((1, (0, 0, 1, 1, 1, 2), {}), (2, (5, 5), {}))
    assert ends(segments) == [(1, 0, 2)]
    assert len(segments.geometry.iloc[0].coords) == 3
    assert notes["ways_too_short"] == 1


def test_piece_of_no_length_is_dropped_and_its_ends_are_one() -> None:
    places = {**GRID, 100: GRID[1]}
    segments, notes = build(
        (1, (0, 1, 100, 2), {}), (2, (1, 11), {}), (3, (100, 21), {}), places=places
    )
    assert ends(segments) == [(1, 0, 1), (1, 1, 2), (2, 1, 11), (3, 1, 21)]
    assert notes["pieces_of_no_length"] == 1
    assert (segments.length > 0).all()


def test_places_that_only_coincide_are_not_joined() -> None:
    places = {**GRID, 100: GRID[1]}
    segments, _ = build((1, (0, 1), {}), (2, (100, 2), {}), places=places)
    assert ends(segments) == [(1, 0, 1), (2, 100, 2)]


def test_what_is_left_out_is_counted() -> None:
    _, notes = build(
        (1, (0, 1), {}),
        (2, (1, 2), {"access": "no"}),
        (3, (2, 3), {"area": "yes"}),
        (4, (3, 4), {"highway": "track"}),
        (5, (4, 5), {"highway": "path"}),
        (6, (5, 6), {"oneway": "reversible", "maxspeed": "signals"}),
    )
    counted = {key: count for key, count in notes.items() if count}
    assert counted == {
        "ways_read": 6,
        "ways_closed": 1,
        "ways_area": 1,
        "ways_track": 1,
        "ways_other_class": 1,
        "oneway_not_understood": 1,
        "maxspeed_no_figure": 1,
    }


def test_way_left_out_cuts_nothing() -> None:
    segments, _ = build((1, (0, 1, 2), {}), (2, (1, 11), {"access": "no"}))
    assert ends(segments) == [(1, 0, 2)]


def test_driveway_is_kept_for_the_lay_and_cuts_the_road() -> None:
    segments, _ = build((1, (0, 1, 2), {}), (2, (1, 11), {"service": "driveway"}))
    assert ends(segments) == [(1, 0, 1), (1, 1, 2), (2, 1, 11)]
    assert list(segments["public"]) == [True, True, False]


@pytest.mark.parametrize(
    "ways",
    [
        [],
        [(1, (0, 1), {"access": "no"})],
        [(1, (0, 1), {"service": "driveway"})],
        [(1, (998, 999), {})],
        [(1, (0,), {})],
    ],
)
def test_no_road_that_a_tanker_may_use(ways: Sequence[Way]) -> None:
    with pytest.raises(NetworkError, match="No road that a tanker may use"):
        build(*ways)


def test_length_is_the_ellipsoid_s_within_utm_s_scale() -> None:
    segments, _ = build((1, (0, 1, 12, 33), {}))
    lon, lat = zip(*(GRID[node] for node in (0, 1, 12, 33)), strict=True)
    true_m = Geod(ellps="WGS84").line_length(lon, lat)
    assert segments.length.iloc[0] == pytest.approx(true_m, rel=1e-3)


# UTM zones: Snyder, Map Projections: A Working Manual, USGS PP 1395, p. 58 and figure 11.
@pytest.mark.parametrize(
    ("lon", "lat", "epsg"),
    [
        (-87.4, 39.5, 32616),
        (11.6, 50.0, 32632),
        (-8.6, 41.1, 32629),
        (179.98, -16.8, 32760),
        (-179.98, -16.8, 32701),
        (-180.0, 10.0, 32601),
        (0.0, -0.5, 32731),
    ],
)
def test_auto_is_the_utm_zone(lon: float, lat: float, epsg: int) -> None:
    segments, _ = build((1, (1, 2), {}), places={1: (lon, lat), 2: (lon, lat + 0.01)})
    assert segments.crs.to_epsg() == epsg


@pytest.mark.parametrize("crs", ["auto", "EPSG:3460"])  # Fiji's own grid crosses 180°, too
def test_road_across_180_degrees_stays_short(crs: str) -> None:
    places = {1: (179.98, -16.8), 2: (-179.99, -16.81), 3: (179.99, -16.82)}
    segments, _ = build_segments(raw([(1, (1, 2, 3), {})], places), RULES, crs)
    lon, lat = zip(*places.values(), strict=True)
    true_m = Geod(ellps="WGS84").line_length(lon, lat)
    assert segments.length.iloc[0] == pytest.approx(true_m, rel=2e-3)


def test_given_system_is_taken() -> None:
    ways = raw([(1, (0, 1), {})])
    assert build_segments(ways, RULES, "EPSG:26916")[0].crs.to_epsg() == 26916
    local = "+proj=tmerc +lat_0=39.5 +lon_0=-87 +units=m +type=crs"
    assert build_segments(ways, RULES, local)[0].crs == CRS(local)


@pytest.mark.parametrize(
    ("crs", "why"),
    [
        ("EPSG:4326", "not a projected system"),
        ("EPSG:4978", "not a projected system"),
        ("EPSG:3857", "Mercator"),
        ("EPSG:3785", "Mercator"),
        ("EPSG:3395", "Mercator"),
        ("EPSG:2965", "not in metres"),  # Indiana East, US survey feet
        ("EPSG:32632", "lengths wrong|not reach"),  # a zone on the other side of the Atlantic
        ("EPSG:6933", "lengths wrong"),  # equal areas, not lengths
        ("EPSG:99999", "no coordinate system"),
        ("mars", "no coordinate system"),
        ("", "no coordinate system"),
    ],
)
def test_unfit_system_is_refused_with_a_cure(crs: str, why: str) -> None:
    with pytest.raises(CrsError, match=why) as raised:
        build_segments(raw([(1, (0, 1), {})]), RULES, crs)
    assert "EPSG:32616" in str(raised.value)


def test_no_utm_at_the_pole() -> None:
    with pytest.raises(CrsError, match="there is none at latitude 88"):
        build((1, (1, 2), {}), places={1: (0.0, 88.0), 2: (0.0, 88.1)})


NODES = st.integers(0, 15).map(lambda n: 10 * (n // 4) + n % 4)
WAYS = st.lists(st.lists(NODES, min_size=2, max_size=7), min_size=1, max_size=6)


@pytest.mark.parametrize(
    ("crs", "stray"),
    [
        ("auto", (3.0, 0.0)),  # a quarter of the globe off
        ("EPSG:32616", (3.0, 0.0)),
    ],
)
def test_road_outside_the_system_is_refused(crs: str, stray: tuple[float, float]) -> None:
    places = {**GRID, 100: stray}
    with pytest.raises(CrsError, match="outside the area of WGS 84 / UTM zone"):
        build_segments(raw([(1, (*GRID, 100), {})], places), RULES, crs)


def test_unfit_system_at_the_pole_is_refused_without_a_zone() -> None:
    places = {1: (0.0, 88.0), 2: (0.0, 88.1)}
    with pytest.raises(CrsError, match=r"not a projected system.*none at latitude 88"):
        build_segments(raw([(1, (1, 2), {})], places), RULES, "EPSG:4326")


def test_system_that_does_not_reach_the_roads() -> None:
    """A gnomonic map shows less than half of the globe; these roads are on the other."""
    places = {1: (50.0, -39.0), 2: (50.0, -39.1)}
    crs = "+proj=gnom +lat_0=39 +lon_0=-87 +units=m +type=crs"
    with pytest.raises(CrsError, match="does not reach the roads"):
        build_segments(raw([(1, (1, 2), {})], places), RULES, crs)


@given(WAYS, st.randoms(use_true_random=False))
@settings(deadline=None, max_examples=60)
def test_laws_of_cutting(node_lists: list[list[int]], random: Random) -> None:
    """Whole length kept; no inner point is a junction; the file's order changes nothing."""
    ways: list[Way] = [(number, nodes, {}) for number, nodes in enumerate(node_lists, 1)]
    steps = [pair for _, nodes, _ in ways for pair in pairwise(nodes)]
    moving = [(a, b) for a, b in steps if a != b]
    if not moving:
        with pytest.raises(NetworkError):
            build(*ways)
        return
    segments, _ = build(*ways)
    apart, _ = build(*((n, step, {}) for n, step in enumerate(moving, 1)))
    assert segments.length.sum() == pytest.approx(apart.length.sum(), rel=1e-9)
    junctions = set(segments["from_node"]) | set(segments["to_node"])
    at = {line.coords[0] for line in apart.geometry} | {line.coords[-1] for line in apart.geometry}
    inner = [xy for line in segments.geometry for xy in line.coords[1:-1]]
    assert len(set(inner)) == len(inner)
    assert len(set(inner)) + len(junctions) == len(at)
    random.shuffle(ways)
    assert build(*ways)[0].equals(segments)
