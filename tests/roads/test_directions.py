"""Turns against junctions made by hand: what a driver would be told there."""

from collections.abc import Callable, Sequence
from math import cos, radians, sin

import geopandas as gpd
import numpy as np
import pytest
from shapely import Point

from haulshed.roads.directions import Directions, Side, Turn, directions, roads_of
from haulshed.roads.junctions import junctions_of
from haulshed.roads.network import Network, build_network
from haulshed.roads.points import Points, place
from haulshed.roads.route import ways_from
from haulshed.scenario import RoadRules
from haulshed.tables.segments import Segments

MakeSegments = Callable[[Sequence[dict[str, object]]], gpd.GeoDataFrame]
Road = dict[str, object]

#: Half a kilometre: long against all that a driver sees at a junction.
FAR_M = 500.0


def on(network: Network, segment: int, share: float) -> Points:
    line = network.lines[segment]
    spot = line.interpolate(share, normalized=True)
    shares, xy = place(network, np.array([segment]), np.array(spot.coords))
    return Points(segment=np.array([segment]), share=shares, off_road_m=np.zeros(1), xy=xy)


def told(
    make_segments: MakeSegments,
    roads: list[Road],
    *,
    start: tuple[int, float] = (0, 0.0),
    end: tuple[int, float] = (1, 1.0),
    leads_to: tuple[float, float] = (0.0, 0.0),
) -> Directions:
    network = build_network(Segments(make_segments(roads)), RoadRules())
    junctions = junctions_of(network)
    way = ways_from(network, on(network, *start), junctions).way(on(network, *end))
    assert way is not None
    return directions(roads_of(network, junctions), way, leads_to)


def arm(number: int, degrees_from_north: float, **what: object) -> Road:
    """Return a road from the junction at 0, 0 out to node `number`, in a compass direction."""
    angle = radians(degrees_from_north)
    out = (FAR_M * sin(angle), FAR_M * cos(angle))
    return {"from_node": 0, "to_node": number, "line": [(0, 0), out], **what}


def south(**what: object) -> Road:
    """Return the road by which one comes to the junction, driving north."""
    return {"from_node": 1, "to_node": 0, "line": [(0, -FAR_M), (0, 0)], "name": "Mill Road"} | what


@pytest.mark.parametrize(
    ("direction", "turn"),
    [
        (0, Turn.STRAIGHT),
        (15, Turn.STRAIGHT),
        (345, Turn.STRAIGHT),
        (40, Turn.BEAR_RIGHT),
        (320, Turn.BEAR_LEFT),
        (90, Turn.RIGHT),
        (270, Turn.LEFT),
        (150, Turn.SHARP_RIGHT),
        (210, Turn.SHARP_LEFT),
        (179, Turn.U_TURN),
    ],
)
def test_the_word_for_a_turn(make_segments: MakeSegments, direction: float, turn: Turn) -> None:
    steps = told(make_segments, [south(), arm(2, direction, name="Ridge Road")]).steps
    assert [(step.turn, step.name) for step in steps] == [
        (Turn.START, "Mill Road"),
        (turn, "Ridge Road"),
    ]


def test_another_class_of_the_same_road_is_no_step(make_segments: MakeSegments) -> None:
    ahead = arm(2, 5, name="Mill Road", road_class="tertiary", unpaved=True)
    aside = arm(3, 90, name="Ridge Road")
    (step,) = told(make_segments, [south(), ahead, aside]).steps
    assert step.miles == pytest.approx(2 * FAR_M / 1609.344)
    assert step.unpaved_miles == pytest.approx(FAR_M / 1609.344)


def test_a_bend_with_no_road_aside_is_no_step(make_segments: MakeSegments) -> None:
    assert len(told(make_segments, [south(), arm(2, 90, name="Mill Road")]).steps) == 1


def test_a_road_that_turns_at_a_junction_is_a_step(make_segments: MakeSegments) -> None:
    roads = [south(), arm(2, 90, name="Mill Road"), arm(3, 0, name="Ridge Road")]
    step = told(make_segments, roads).steps[1]
    assert (step.turn, step.same_road) == (Turn.RIGHT, True)


def test_unnamed_roads_are_told_apart_by_turns_alone(make_segments: MakeSegments) -> None:
    cross = [south(name=""), arm(2, 0), arm(3, 90), arm(4, 270)]
    assert len(told(make_segments, cross).steps) == 1
    turned = told(make_segments, cross, end=(2, 1.0)).steps
    assert [(step.turn, step.name) for step in turned] == [(Turn.START, ""), (Turn.RIGHT, "")]


def test_at_a_fork_the_less_straight_road_is_a_step(make_segments: MakeSegments) -> None:
    fork = [south(), arm(2, 20, name="Mill Road"), arm(3, 355, name="Ridge Road")]
    assert told(make_segments, fork).steps[1].turn is Turn.BEAR_RIGHT


def test_a_road_that_may_not_be_entered_is_no_choice(make_segments: MakeSegments) -> None:
    one_way_in = arm(3, 355, name="Ridge Road", forward_open=False)
    fork = [south(), arm(2, 20, name="Mill Road"), one_way_in]
    assert len(told(make_segments, fork).steps) == 1


def test_a_short_link_is_a_part_of_its_junction(make_segments: MakeSegments) -> None:
    """A crossing of a divided road: 15 m without a name between the two carriageways."""
    link = {"from_node": 0, "to_node": 5, "line": [(0, 0), (0, 15)]}
    beyond = {"from_node": 5, "to_node": 2, "line": [(0, 15), (-500, 15)], "name": "Ridge Road"}
    steps = told(make_segments, [south(), link, beyond], end=(2, 1.0)).steps
    assert [(step.turn, step.name) for step in steps][1:] == [(Turn.LEFT, "Ridge Road")]


def test_a_segment_is_driven_either_way(make_segments: MakeSegments) -> None:
    """Drawn towards the junction or away from it, a road is told alike."""
    drawn_in = {"from_node": 2, "to_node": 0, "line": [(FAR_M, 0), (0, 0)], "name": "Ridge Road"}
    step = told(make_segments, [south(), drawn_in], end=(1, 0.0)).steps[1]
    assert (step.turn, step.heading) == (Turn.RIGHT, "east")


def ring(exits: dict[int, str]) -> list[Road]:
    """Return a roundabout of 30 m radius, driven against the clock, and a road at each exit."""
    radius = 30.0
    corners = [(0, -radius), (radius, 0), (0, radius), (-radius, 0)]
    roads: list[Road] = [
        {
            "from_node": 10 + number,
            "to_node": 10 + (number + 1) % 4,
            "way_id": 7,
            "line": [corners[number], corners[(number + 1) % 4]],
            "backward_open": False,
        }
        for number in range(4)
    ]
    for number, name in exits.items():
        x, y = corners[number]
        out = (x * 10, y * 10)
        line = [(x, y), out]
        roads.append({"from_node": 10 + number, "to_node": number, "line": line, "name": name})
    return roads


@pytest.mark.parametrize(("name", "exit_"), [("East Road", 1), ("North Road", 2), ("West Road", 3)])
def test_exits_of_a_roundabout_are_counted(
    make_segments: MakeSegments, name: str, exit_: int
) -> None:
    names = {0: "South Road", 1: "East Road", 2: "North Road", 3: "West Road"}
    roads = ring(names)
    leaves = next(n for n, road in enumerate(roads) if road.get("name") == name)
    steps = told(make_segments, roads, start=(4, 1.0), end=(leaves, 1.0)).steps
    assert [(step.turn, step.exit, step.name) for step in steps] == [
        (Turn.START, 0, "South Road"),
        (Turn.ROUNDABOUT, exit_, name),
    ]


def test_an_exit_that_may_not_be_taken_is_not_counted(make_segments: MakeSegments) -> None:
    roads = ring({0: "South Road", 1: "East Road", 2: "North Road"})
    roads[5]["forward_open"] = False
    steps = told(make_segments, roads, start=(4, 1.0), end=(6, 1.0)).steps
    assert steps[1].exit == 1


@pytest.mark.parametrize(
    ("leads_to", "side"),
    [
        ((100.0, 40.0), Side.LEFT),
        ((100.0, -40.0), Side.RIGHT),
        ((100.0, 1.0), Side.ON_ROAD),
    ],
)
def test_the_side_of_what_it_leads_to(
    make_segments: MakeSegments, leads_to: tuple[float, float], side: Side
) -> None:
    road = {"from_node": 1, "to_node": 2, "line": [(0, 0), (500, 0)]}
    assert told(make_segments, [road], end=(0, 0.2), leads_to=leads_to).side is side


def test_a_way_of_no_length_has_no_step(make_segments: MakeSegments) -> None:
    road = {"from_node": 1, "to_node": 2, "line": [(0, 0), (500, 0)]}
    here = told(make_segments, [road], start=(0, 0.5), end=(0, 0.5))
    assert (here.steps, here.way.miles, here.line.shape) == ((), 0.0, (0, 2))


def test_the_line_is_that_of_the_way(make_segments: MakeSegments) -> None:
    line = told(make_segments, [south(), arm(2, 90)], start=(0, 0.5), end=(1, 0.5)).line
    assert Point(line[0]).distance(Point(0, -250)) < 1e-6
    assert Point(line[-1]).distance(Point(250, 0)) < 1e-6
