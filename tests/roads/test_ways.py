"""Tag rules, one by one. What a key means: the OpenStreetMap wiki's page of that key."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haulshed.roads.ways import ROAD_CLASSES, TAGS_USED, UNPAVED, LeftOut, left_out, road
from haulshed.roads.ways import posted_limit_mph as limit
from haulshed.scenario import RoadRules, SpeedTable

RULES = RoadRules()
#: International mile, 1959: exactly 1.609344 km.
KM_PER_MILE = 1.609344


def directions(**tags: str) -> tuple[bool, bool]:
    found = road({"highway": "residential", **tags}, RULES)
    return found.forward_open, found.backward_open


@pytest.mark.parametrize(
    "highway",
    [
        *("motorway", "trunk", "primary", "secondary", "tertiary"),
        *("motorway_link", "trunk_link", "primary_link", "secondary_link", "tertiary_link"),
        *("unclassified", "residential", "living_street", "service", "road"),
    ],
)
def test_roads_are_kept_with_their_class(highway: str) -> None:
    assert left_out({"highway": highway}, RULES) is None
    assert road({"highway": highway}, RULES).road_class == highway


@pytest.mark.parametrize("highway", ["footway", "path", "proposed", "construction", "bus_stop"])
def test_other_ways_are_left_out(highway: str) -> None:
    assert left_out({"highway": highway}, RULES) is LeftOut.OTHER_CLASS


def test_way_without_highway_is_left_out() -> None:
    assert left_out({"name": "a fence"}, RULES) is LeftOut.OTHER_CLASS


def test_every_class_has_a_speed() -> None:
    classes = {"link" if name.endswith("_link") else name for name in ROAD_CLASSES}
    assert classes == set(SpeedTable.model_fields)


def test_track_only_if_asked() -> None:
    assert left_out({"highway": "track"}, RULES) is LeftOut.TRACK
    assert left_out({"highway": "track"}, RoadRules(tracks=True)) is None


def test_area_is_never_a_road() -> None:
    everything = RoadRules(tracks=True, private=True)
    assert left_out({"highway": "service", "area": "yes"}, everything) is LeftOut.AREA
    assert left_out({"highway": "service", "area": "no"}, everything) is None


@pytest.mark.parametrize("key", ["access", "vehicle", "motor_vehicle"])
def test_no_is_closed_but_for_emergencies(key: str) -> None:
    assert left_out({"highway": "service", key: "no"}, RULES) is LeftOut.CLOSED
    assert left_out({"highway": "service", key: "no", "emergency": "yes"}, RULES) is None
    assert left_out({"highway": "service", key: "no", "emergency": "no"}, RULES) is LeftOut.CLOSED
    assert left_out({"highway": "service", key: "destination"}, RULES) is None


@pytest.mark.parametrize(
    ("tags", "closed"),
    [
        ({"access": "no", "vehicle": "yes"}, False),
        ({"access": "yes", "vehicle": "no"}, True),
        ({"vehicle": "no", "motor_vehicle": "permissive"}, False),
        ({"vehicle": "yes", "motor_vehicle": "no"}, True),
        ({"access": "no", "motor_vehicle": "yes"}, False),
        ({"access": "yes", "vehicle": "yes", "motor_vehicle": "no"}, True),
    ],
)
def test_more_specific_access_wins(tags: dict[str, str], *, closed: bool) -> None:
    found = left_out({"highway": "unclassified", **tags}, RULES)
    assert found is (LeftOut.CLOSED if closed else None)


@pytest.mark.parametrize(
    ("tags", "public"),
    [
        ({"highway": "service", "service": "driveway"}, False),
        ({"highway": "service", "access": "private"}, False),
        ({"highway": "service", "motor_vehicle": "private"}, False),
        ({"highway": "service", "access": "private", "motor_vehicle": "yes"}, True),
        ({"highway": "service", "access": "private", "emergency": "yes"}, True),
        ({"highway": "service", "service": "driveway", "emergency": "yes"}, False),
        ({"highway": "service", "service": "alley"}, True),
        ({"highway": "service"}, True),
        ({"highway": "residential", "access": "private"}, True),
    ],
)
def test_private_roads_carry_the_lay_only(tags: dict[str, str], *, public: bool) -> None:
    assert left_out(tags, RULES) is None
    assert road(tags, RULES).public is public
    assert road(tags, RoadRules(private=True)).public


@pytest.mark.parametrize("said", ["yes", "true", "1"])
def test_oneway_forward(said: str) -> None:
    assert directions(oneway=said) == (True, False)


def test_oneway_against_the_line() -> None:
    assert directions(oneway="-1") == (False, True)


@pytest.mark.parametrize("junction", ["roundabout", "circular"])
def test_circles_are_oneway(junction: str) -> None:
    assert directions(junction=junction) == (True, False)
    assert directions(junction=junction, oneway="no") == (True, True)
    assert directions(junction=junction, oneway="-1") == (False, True)
    assert directions(junction="yes") == (True, True)


def test_motorway_is_oneway_but_not_its_ramps() -> None:
    assert directions(highway="motorway") == (True, False)
    assert directions(highway="motorway", oneway="no") == (True, True)
    assert directions(highway="motorway_link") == (True, True)
    assert directions(highway="trunk") == (True, True)


@pytest.mark.parametrize("said", ["reversible", "alternating", "Yes, mostly"])
def test_unknown_oneway_is_two_way_and_said_so(said: str) -> None:
    assert directions(oneway=said) == (True, True)
    assert not road({"highway": "residential", "oneway": said}, RULES).oneway_understood
    assert road({"highway": "residential", "oneway": "no"}, RULES).oneway_understood
    assert road({"highway": "residential"}, RULES).oneway_understood


@pytest.mark.parametrize(
    "surface",
    [
        *("unpaved", "gravel", "dirt", "ground", "earth", "compacted", "fine_gravel", "grass"),
        *("sand", "mud", "pebblestone", "rock", "grass_paver", "woodchips"),
    ],
)
def test_unpaved_surfaces(surface: str) -> None:
    assert road({"highway": "tertiary", "surface": surface}, RULES).unpaved


@pytest.mark.parametrize("surface", ["asphalt", "paved", "concrete", "sett", "paving_stones", ""])
def test_paved_surfaces(surface: str) -> None:
    assert surface not in UNPAVED
    assert not road({"highway": "tertiary", "surface": surface}, RULES).unpaved


def test_surface_list_with_an_unpaved_part_is_unpaved() -> None:
    assert road({"highway": "tertiary", "surface": "asphalt; gravel"}, RULES).unpaved
    assert not road({"highway": "tertiary"}, RULES).unpaved


@pytest.mark.parametrize(
    ("maxspeed", "kmh"), [("50", 50), ("50 km/h", 50), ("30kmh", 30), ("7.5", 7.5), (" 80 ", 80)]
)
def test_limit_in_kmh(maxspeed: str, kmh: float) -> None:
    assert limit(maxspeed) == pytest.approx(kmh / KM_PER_MILE, rel=1e-12)


@pytest.mark.parametrize("maxspeed", ["45 mph", "45mph", "45 MPH"])
def test_limit_in_mph(maxspeed: str) -> None:
    assert limit(maxspeed) == 45


@pytest.mark.parametrize(
    ("maxspeed", "mph"),
    [
        ("50;30", 30 / KM_PER_MILE),
        ("30;50", 30 / KM_PER_MILE),
        ("none;50", 50 / KM_PER_MILE),
        ("40 mph; 50", 50 / KM_PER_MILE),
        ("35 mph;25 mph", 25),
    ],
)
def test_least_of_a_list(maxspeed: str, mph: float) -> None:
    assert limit(maxspeed) == pytest.approx(mph, rel=1e-12)


@pytest.mark.parametrize(
    "maxspeed",
    [
        *("none", "signals", "walk", "RO:rural", "DE:urban", "variable", "5 knots", "10 kn"),
        *("0", "0 mph", "", ";", "-30", "fast", "50 mph per hour", "1e400", "nan", "inf", "٣٠"),
    ],
)
def test_no_limit_known(maxspeed: str) -> None:
    assert math.isnan(limit(maxspeed))


def test_limit_that_is_no_figure_is_told_apart_from_none_mapped() -> None:
    assert not road({"highway": "road", "maxspeed": "RO:rural"}, RULES).limit_understood
    assert road({"highway": "road", "maxspeed": "50"}, RULES).limit_understood
    assert road({"highway": "road"}, RULES).limit_understood


@pytest.mark.parametrize(
    ("tags", "may_stop"),
    [
        ({"highway": "motorway"}, False),
        ({"highway": "motorway_link"}, False),
        ({"highway": "tertiary_link"}, False),
        ({"highway": "trunk"}, True),
        ({"highway": "residential", "bridge": "yes"}, False),
        ({"highway": "residential", "bridge": "viaduct"}, False),
        ({"highway": "residential", "bridge": "no"}, True),
        ({"highway": "residential", "tunnel": "building_passage"}, False),
        ({"highway": "residential", "tunnel": "no"}, True),
    ],
)
def test_where_one_may_stop(tags: dict[str, str], *, may_stop: bool) -> None:
    assert road(tags, RULES).may_stop is may_stop


def test_name_else_number() -> None:
    assert road({"highway": "road", "name": "Mill Lane", "ref": "7"}, RULES).name == "Mill Lane"
    assert road({"highway": "road", "ref": "7"}, RULES).name == "7"
    assert road({"highway": "road"}, RULES).name == ""


@given(st.dictionaries(st.sampled_from(TAGS_USED), st.text(max_size=12)))
def test_any_tags_make_a_road_that_is_open_somewhere(tags: dict[str, str]) -> None:
    tags = {**tags, "highway": "unclassified"}
    found = road(tags, RULES)
    assert found.forward_open or found.backward_open
    assert math.isnan(found.posted_mph) or found.posted_mph > 0
