"""What lands on which segment, where, and what does not."""

from collections.abc import Callable, Sequence

import geopandas as gpd
import numpy as np
import pytest
from shapely import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from haulshed.roads.network import Network, build_network
from haulshed.roads.points import Points
from haulshed.roads.snap import access_points, snap
from haulshed.scenario import Operation, RoadRules

Make = Callable[..., gpd.GeoDataFrame]
XY = tuple[float, float]
Line = list[tuple[float, float]]

FT = 0.3048
CRS = "EPSG:32616"


def road(tail: int, head: int, line: Line, **changed: object) -> dict[str, object]:
    return {"from_node": tail, "to_node": head, "line": line, **changed}


def series(*points: XY | None) -> gpd.GeoSeries:
    return gpd.GeoSeries([None if xy is None else Point(xy) for xy in points], crs=CRS)


def parcel_table(
    shapes: Sequence[BaseGeometry],
    *,
    structure: Sequence[XY | None] | None = None,
    access: Sequence[XY | None] | None = None,
) -> gpd.GeoDataFrame:
    count = len(shapes)
    frame = gpd.GeoDataFrame(
        {"parcel_id": [f"P{i}" for i in range(count)]},
        geometry=list(shapes),
        crs=CRS,
    )
    frame["structure"] = series(*(structure or [None] * count))
    frame["access"] = series(*(access or [None] * count))
    return frame


@pytest.fixture
def cross(make_segments: Make) -> Network:
    """Return an east-west road of 1,000 m, cut at its middle by a road that goes 500 m north."""
    return build_network(
        make_segments(
            [
                road(1, 2, [(0, 0), (500, 0)]),
                road(2, 3, [(500, 0), (1000, 0)]),
                road(2, 4, [(500, 0), (500, 500)]),
            ]
        ),
        RoadRules(),
    )


def test_a_point_keeps_its_share_its_place_and_its_distance(cross: Network) -> None:
    points = snap(series((750, -30), (500, 400)), cross, limit_ft=200)
    assert points.segment.tolist() == [1, 2]
    assert points.share == pytest.approx([0.5, 0.8])
    assert points.off_road_m == pytest.approx([30, 0])
    assert points.xy == pytest.approx(np.array([[750, 0], [500, 400]]))


def test_beyond_the_limit_there_is_no_road_but_the_distance_is_kept(cross: Network) -> None:
    at_limit, beyond = 200 * FT - 1e-9, 200 * FT + 0.01
    points = snap(series((100, at_limit), (100, beyond), None), cross, limit_ft=200)
    assert points.on_road.tolist() == [True, False, False]
    assert points.segment.tolist() == [0, -1, -1]
    assert points.off_road_m == pytest.approx([at_limit, beyond, np.inf])
    assert np.isnan(points.share).tolist() == [False, True, True]
    assert np.isnan(points.xy[1:]).all()


def test_ties_go_to_the_lowest_segment(cross: Network) -> None:
    # Just below the junction all three end nearest; (520, 20) is 20 m from segments 1 and 2.
    points = snap(series((500, -10), (520, 20), (480, 20)), cross, limit_ft=200)
    assert points.segment.tolist() == [0, 1, 0]
    assert points.share == pytest.approx([1, 0.04, 0.96])


def test_a_tie_spoilt_by_rounding_is_still_a_tie(make_segments: Make) -> None:
    # The second road is nearer by a tenth of a micrometre, the third by ten.
    def between(gap_m: float) -> Points:
        segments = make_segments(
            [road(1, 2, [(0, 0), (100, 0)]), road(3, 4, [(0, 20 - gap_m), (100, 20 - gap_m)])]
        )
        return snap(series((50, 10)), build_network(segments, RoadRules()), limit_ft=200)

    assert between(1e-7).segment.tolist() == [0]
    assert between(1e-5).segment.tolist() == [1]


def test_only_eligible_segments_are_taken(cross: Network, make_segments: Make) -> None:
    eligible = np.array([False, False, True])
    points = snap(series((100, 10)), cross, eligible=eligible, limit_ft=5000)
    assert points.segment.tolist() == [2]
    assert points.off_road_m == pytest.approx([np.hypot(400, 0)])
    none = snap(series((100, 10)), cross, eligible=np.zeros(3, dtype=bool), limit_ft=5000)
    assert none.segment.tolist() == [-1]
    assert none.off_road_m.tolist() == [np.inf]
    closed = make_segments(
        [road(1, 2, [(0, 0), (9, 0)], public=False), road(3, 4, [(0, 9), (9, 9)])]
    )
    by_default = snap(series((1, 1)), build_network(closed, RoadRules()), limit_ft=200)
    assert by_default.segment.tolist() == [1]


def test_an_end_within_a_micrometre_is_the_junction(cross: Network) -> None:
    points = snap(series((5e-7, 0), (1000 - 5e-7, 0), (5e-6, 0)), cross, limit_ft=200)
    assert points.share.tolist()[:2] == [0, 1]
    assert 0 < points.share[2] < 1e-7


def test_no_points_at_all(cross: Network) -> None:
    points = snap(series(), cross, limit_ft=200)
    assert len(points.segment) == 0
    assert points.xy.shape == (0, 2)


def test_a_way_that_touches_comes_before_a_nearer_one_that_does_not(make_segments: Make) -> None:
    # The lot fronts the south road (its edge 10 m off the line); the back road is nearer to the
    # house but 30 m behind the lot's rear edge.
    lot = box(0, 10, 40, 100)
    segments = make_segments(
        [road(1, 2, [(-100, 130), (200, 130)]), road(3, 4, [(-100, 0), (200, 0)])]
    )
    network = build_network(segments, RoadRules())
    found = access_points(parcel_table([lot], structure=[(20, 90)]), network, Operation())
    assert found.points.segment.tolist() == [1]
    assert found.points.xy == pytest.approx(np.array([[20, 0]]))
    assert found.points.off_road_m == pytest.approx([90])
    # With the touch taken away (the front edge 16 m = 52 ft off the line) the nearer one is left.
    short = access_points(
        parcel_table([box(0, 16, 40, 100)], structure=[(20, 90)]), network, Operation()
    )
    assert short.points.segment.tolist() == [0]


def test_of_the_ways_that_touch_the_one_nearest_to_the_structure(cross: Network) -> None:
    corner = box(510, 10, 700, 200)
    found = access_points(
        parcel_table([corner] * 3, structure=[(520, 150), (650, 20), (530, 30)]), cross, Operation()
    )
    assert found.points.segment.tolist() == [2, 1, 1]  # the last is 30 m from both: lowest id


@pytest.mark.parametrize("closed", [{"may_stop": False}, {"public": False}])
def test_never_on_a_motorway_ramp_bridge_tunnel_or_private_road(
    make_segments: Make, closed: dict[str, bool]
) -> None:
    segments = make_segments(
        [
            road(1, 2, [(0, 0), (400, 0)], **closed),
            road(3, 4, [(0, 300), (400, 300)]),
        ]
    )
    network = build_network(segments, RoadRules())
    table = parcel_table([box(10, 5, 50, 60)] * 2, structure=[(20, 50)] * 2, access=[None, (20, 4)])
    found = access_points(table, network, Operation())
    assert found.points.segment.tolist() == [1, 1]
    assert found.points.xy[1] == pytest.approx([20, 300])


def test_an_own_access_point_wins(cross: Network) -> None:
    table = parcel_table(
        [box(510, 10, 700, 200)] * 2,
        structure=[(520, 150)] * 2,
        access=[(690, 3), (690, 9000)],
    )
    found = access_points(table, cross, Operation())
    assert found.points.segment.tolist() == [1, -1]  # far from every road: none, not another one
    assert found.points.xy[0] == pytest.approx([690, 0])
    # Straight from the structure, 170 m east and 150 m south.
    assert found.points.off_road_m[0] == pytest.approx(np.hypot(170, 150))


def test_the_limit_is_from_the_parcel_to_the_road(cross: Network) -> None:
    # 2,640 ft is 804.7 m. A point 800 m off has a road, one 810 m off has none; a large parcel
    # that comes within 700 m has one though its house is 900 m off.
    table = parcel_table(
        [Point(100, -800), Point(100, -810), box(0, -1000, 200, -700)],
        structure=[None, None, (100, -900)],
    )
    found = access_points(table, cross, Operation())
    assert found.points.on_road.tolist() == [True, False, True]
    assert found.points.off_road_m == pytest.approx([800, 810, 900])


def test_a_missing_structure_is_a_point_within_the_parcel(cross: Network) -> None:
    # A horseshoe: its centroid lies outside it.
    horseshoe = Polygon(
        [(0, 10), (100, 10), (100, 100), (90, 100), (90, 20), (10, 20), (10, 100), (0, 100)]
    )
    assert not horseshoe.contains(horseshoe.centroid)
    found = access_points(parcel_table([horseshoe, Point(7, 7)]), cross, Operation())
    assert horseshoe.contains(found.structures[0])
    assert found.structures[1] == Point(7, 7)


def test_a_mapped_driveway_decides_where_the_lay_starts(make_segments: Make) -> None:
    # House at (100, 200), 200 m from the south road straight. The drive runs from its yard
    # (90, 200) east and down to the side road's junction at (300, 100).
    segments = make_segments(
        [
            road(1, 2, [(0, 0), (300, 0)]),
            road(2, 3, [(300, 0), (300, 100)]),
            road(3, 4, [(300, 100), (300, 400)]),
            road(3, 5, [(300, 100), (90, 100), (90, 200)], public=False),
        ]
    )
    network = build_network(segments, RoadRules())
    table = parcel_table(
        [box(50, 20, 150, 250)] * 3,
        structure=[(100, 200), (100, 240), (100, 200)],
        access=[None, None, (120, 0)],
    )
    found = access_points(table, network, Operation())
    # The second house stands 41 m = 135 ft from the drive's end, so it takes the road 200 m east
    # before the one 240 m south; the third has its own access.
    assert found.points.segment.tolist() == [1, 2, 0]
    assert found.points.share[0] == 1
    assert found.points.xy == pytest.approx(np.array([[300, 100], [300, 240], [120, 0]]))
    # 210 + 100 m of drive and 10 m of yard.
    assert found.driveway_ft == pytest.approx([320 / FT, np.nan, np.nan], nan_ok=True)


def test_a_private_lane_between_two_roads_is_left_by_the_nearer_end(make_segments: Make) -> None:
    segments = make_segments(
        [
            road(1, 2, [(0, 0), (300, 0)]),
            road(3, 4, [(0, 400), (300, 400)]),
            road(2, 4, [(300, 0), (300, 400)], public=False),
        ]
    )
    network = build_network(segments, RoadRules())
    table = parcel_table([Point(290, 150), Point(290, 250)])
    found = access_points(table, network, Operation())
    assert found.points.xy == pytest.approx(np.array([[300, 0], [300, 400]]))
    assert found.driveway_ft == pytest.approx([160 / FT] * 2)


def test_ways_that_touch_tie_within_a_micrometre(make_segments: Make) -> None:
    # A strip between two roads, its house in the middle but for a tenth of a micrometre.
    segments = make_segments([road(1, 2, [(0, 0), (99, 0)]), road(3, 4, [(0, 40), (99, 40)])])
    table = parcel_table([box(10, 8, 90, 32)], structure=[(50, 20 + 1e-7)])
    found = access_points(table, build_network(segments, RoadRules()), Operation())
    assert found.points.segment.tolist() == [0]


def test_order_of_parcels_changes_nothing(cross: Network) -> None:
    rng = np.random.default_rng(3)
    shapes = [Point(xy).buffer(20) for xy in rng.uniform(-100, 1100, (40, 2))]
    table = parcel_table(shapes)
    order = rng.permutation(40)
    found = access_points(table, cross, Operation())
    shuffled = access_points(table.iloc[order], cross, Operation())
    assert np.array_equal(found.points.segment[order], shuffled.points.segment)
    assert np.array_equal(found.points.xy[order], shuffled.points.xy, equal_nan=True)
