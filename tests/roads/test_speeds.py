"""Speeds: the least of three bounds, then the surface."""

from collections.abc import Callable

import geopandas as gpd
import pytest

from haulshed.roads.speeds import SpeedSource, tanker_speeds, unposted_share
from haulshed.scenario import RoadRules, SpeedTable, TravelMethod

Make = Callable[..., gpd.GeoDataFrame]

MILE_M = 1609.344


def road(**changed: object) -> dict[str, object]:
    return {"from_node": 1, "to_node": 2, "line": [(0, 0), (MILE_M, 0)], **changed}


@pytest.mark.parametrize(
    ("changed", "speed_mph", "source"),
    [
        ({"road_class": "tertiary"}, 35, SpeedSource.CLASS),
        ({"road_class": "tertiary", "posted_mph": 25.0}, 25, SpeedSource.POSTED),
        ({"road_class": "tertiary", "posted_mph": 55.0}, 35, SpeedSource.CLASS),
        ({"road_class": "motorway", "posted_mph": 70.0}, 45, SpeedSource.MAX),
        ({"road_class": "motorway_link"}, 30, SpeedSource.CLASS),
        # Equal bounds: the sign is better known than the table, the table than the limit.
        ({"road_class": "tertiary", "posted_mph": 35.0}, 35, SpeedSource.POSTED),
        ({"road_class": "trunk"}, 45, SpeedSource.CLASS),
        # 35 times 0.75 = 26.25: the surface comes after the bounds.
        ({"road_class": "tertiary", "posted_mph": 55.0, "unpaved": True}, 26.25, SpeedSource.CLASS),
    ],
)
def test_the_least_bound_wins_and_says_so(
    make_segments: Make, changed: dict[str, object], speed_mph: float, source: SpeedSource
) -> None:
    speed, named = tanker_speeds(make_segments([road(**changed)]), RoadRules())
    assert speed.tolist() == [speed_mph]
    assert named.tolist() == [source]


def test_a_road_without_a_limit_takes_nothing_from_its_neighbours(make_segments: Make) -> None:
    segments = make_segments([road(posted_mph=15.0), road(), road(posted_mph=15.0)])
    speed, source = tanker_speeds(segments, RoadRules())
    assert speed.tolist() == [15, 30, 15]
    assert source[1] is SpeedSource.CLASS


def test_road_distance_knows_one_speed(make_segments: Make) -> None:
    segments = make_segments([road(road_class="track", unpaved=True), road(posted_mph=15.0)])
    rules = RoadRules(method=TravelMethod.ROAD_DISTANCE, road_distance_min_per_mile=2.4)
    speed, source = tanker_speeds(segments, rules)
    assert speed.tolist() == [25, 25]  # 60 min / 2.4 min a mile
    assert set(source) == {SpeedSource.ROAD_DISTANCE}


def test_a_class_without_a_speed_is_refused(make_segments: Make) -> None:
    with pytest.raises(ValueError, match="footway"):
        tanker_speeds(make_segments([road(road_class="footway")]), RoadRules())


def test_every_class_of_the_table_has_its_own_speed(make_segments: Make) -> None:
    table = SpeedTable()
    names = [name for name in SpeedTable.model_fields if name != "link"]
    segments = make_segments([road(road_class=name) for name in names])
    speed, _ = tanker_speeds(segments, RoadRules(max_mph=90))
    assert speed.tolist() == [getattr(table, name) for name in names]


def test_unposted_share_goes_by_public_miles(make_segments: Make) -> None:
    segments = make_segments(
        [
            road(road_class="tertiary", posted_mph=45.0),
            road(road_class="tertiary", line=[(0, 0), (3 * MILE_M, 0)]),
            road(road_class="service", public=False),
            road(road_class="residential", posted_mph=25.0),
        ]
    )
    assert unposted_share(segments) == pytest.approx({"residential": 0, "tertiary": 0.75})
