"""Lays worked on paper, in metres on the ground and feet in the answer."""

from collections.abc import Callable

import geopandas as gpd
import numpy as np
import pytest
from numpy.typing import NDArray
from shapely import Point

from haulshed.roads.lay import LaySource, lays
from haulshed.roads.network import build_network
from haulshed.roads.snap import access_points
from haulshed.scenario import Operation, RoadRules, SupplyLine

Make = Callable[..., gpd.GeoDataFrame]
XY = tuple[float, float]
Line = list[tuple[float, float]]

FT = 0.3048
CRS = "EPSG:32616"


def road(tail: int, head: int, line: Line, **changed: object) -> dict[str, object]:
    return {"from_node": tail, "to_node": head, "line": line, **changed}


def lay_of(
    make_segments: Make,
    roads: list[dict[str, object]],
    houses: list[XY],
    *,
    access: list[XY | None] | None = None,
    lay_ft: list[float] | None = None,
) -> tuple[NDArray[np.float64], list[LaySource | None]]:
    count = len(houses)
    table = gpd.GeoDataFrame(
        {"lay_ft": lay_ft or [np.nan] * count}, geometry=[Point(xy) for xy in houses], crs=CRS
    )
    table["structure"] = gpd.GeoSeries([None] * count, crs=CRS)
    own = [None if xy is None else Point(xy) for xy in access or [None] * count]
    table["access"] = gpd.GeoSeries(own, crs=CRS)
    network = build_network(make_segments(roads), RoadRules())
    found = lays(table, access_points(table, network, Operation()), SupplyLine(detour=1.2))
    return found.lay_ft, found.lay_source.tolist()


STREET = [road(1, 2, [(0, 0), (200, 0)]), road(2, 3, [(200, 0), (400, 0)])]


def test_straight_distance_takes_the_detour_and_at_least_one_length_of_hose(
    make_segments: Make,
) -> None:
    # 30.48 m = 100 ft, times 1.2; 6 m = 20 ft would be 24 ft.
    lay_ft, source = lay_of(make_segments, STREET, [(50, 30.48), (50, 6)])
    assert lay_ft == pytest.approx([120, 50])
    assert source == [LaySource.STRAIGHT] * 2


def test_a_given_lay_wins_over_all_else(make_segments: Make) -> None:
    drive = road(2, 9, [(200, 0), (200, 90)], public=False)
    lay_ft, source = lay_of(
        make_segments, [*STREET, drive], [(200, 100), (50, 30), (50, 5000)], lay_ft=[700, 20, 900]
    )
    assert lay_ft.tolist() == [700, 50, 900]  # even where there is no road
    assert source == [LaySource.GIVEN] * 3


def test_no_road_no_lay(make_segments: Make) -> None:
    lay_ft, source = lay_of(make_segments, STREET, [(50, 5000)])
    assert np.isnan(lay_ft).all()
    assert source == [None]


def test_along_the_driveway_to_the_house_in_no_detour(make_segments: Make) -> None:
    # Drive: 60 m up, 80 m west; the house is 12 m beyond its end. 152 m in all.
    drive = road(2, 9, [(200, 0), (200, 60), (120, 60)], public=False)
    lay_ft, source = lay_of(make_segments, [*STREET, drive], [(108, 60)])
    assert lay_ft == pytest.approx([152 / FT])
    assert source == [LaySource.DRIVEWAY]


def test_a_house_beside_the_middle_of_a_long_driveway_takes_a_part_of_it(
    make_segments: Make,
) -> None:
    # Drawn from the far end to the road, one-way the wrong way and gated: hose minds neither.
    drive = road(
        9, 2, [(200, 300), (200, 0)], public=False, forward_open=False, backward_open=False
    )
    lay_ft, _ = lay_of(make_segments, [*STREET, drive], [(180, 100)])
    assert lay_ft == pytest.approx([(100 + 20) / FT])


def test_a_chain_of_private_ways_is_followed_to_the_nearest_meeting_with_the_road(
    make_segments: Make,
) -> None:
    # A private lane meets the street at 2 and, farther, at 3; the drive leaves it 70 m up.
    lane = [
        road(2, 8, [(200, 0), (200, 70)], public=False),
        road(8, 7, [(200, 70), (400, 70)], public=False),
        road(7, 3, [(400, 70), (400, 0)], public=False),
        road(8, 9, [(200, 70), (200, 150)], public=False),
    ]
    lay_ft, source = lay_of(make_segments, [*STREET, *lane], [(200, 160), (350, 90)])
    # First: 70 + 80 + 10. Second, from (350, 70): 50 + 70 to node 3 against 150 + 70 to node 2,
    # and 20 m of yard; the street is 90 m off.
    assert lay_ft == pytest.approx([160 / FT, 140 / FT])
    assert source == [LaySource.DRIVEWAY] * 2


@pytest.mark.parametrize(
    "drive",
    [
        road(8, 9, [(200, 10), (200, 90)], public=False),  # meets no road
        road(2, 9, [(200, 0), (200, 60)], public=False),  # ends 40 m = 131 ft short
    ],
)
def test_a_driveway_that_does_not_lead_all_the_way_is_none(
    make_segments: Make, drive: dict[str, object]
) -> None:
    lay_ft, source = lay_of(make_segments, [*STREET, drive], [(200, 100)])
    assert lay_ft == pytest.approx([100 / FT * 1.2])
    assert source == [LaySource.STRAIGHT]


def test_a_driveway_from_a_road_where_none_may_stop_is_none(make_segments: Make) -> None:
    ramp = road(20, 21, [(0, 300), (400, 300)], may_stop=False)
    drive = road(21, 9, [(400, 300), (200, 110)], public=False)
    _, source = lay_of(make_segments, [*STREET, ramp, drive], [(200, 100)])
    assert source == [LaySource.STRAIGHT]


def test_a_house_nearer_to_the_road_than_to_the_neighbours_driveway(make_segments: Make) -> None:
    drive = road(2, 9, [(200, 0), (200, 90)], public=False)
    lay_ft, source = lay_of(make_segments, [*STREET, drive], [(175, 20)])
    assert lay_ft == pytest.approx([20 / FT * 1.2])
    assert source == [LaySource.STRAIGHT]


def test_an_own_access_point_keeps_the_driveway_it_stands_at(make_segments: Make) -> None:
    # The county's point is 10 m from where the drive is drawn: the same driveway. 150 m is not.
    drive = road(2, 9, [(200, 0), (200, 90)], public=False)
    lay_ft, source = lay_of(
        make_segments,
        [*STREET, drive],
        [(200, 100), (200, 100)],
        access=[(210, 2), (50, 2)],
    )
    assert source == [LaySource.DRIVEWAY, LaySource.STRAIGHT]
    assert lay_ft == pytest.approx([100 / FT, np.hypot(150, 100) / FT * 1.2])
