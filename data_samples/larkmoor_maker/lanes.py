"""The lanes: grown from the county roads as farms and cabins were reached, winding where steep.

A lane sets out square to a road, keeps its distance from the others, follows the lie of the ridges,
and either meets another road or comes to a dead end.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import LineString, Point, Polygon

from larkmoor_maker.frame import MI, Point2, along, boundary, miles, random, unit
from larkmoor_maker.names import lane_names
from larkmoor_maker.road import Road
from larkmoor_maker.water import Waters

_STEP_M = 75.0
#: A lane of no more points than this is no lane.
_FEW = 3
_TRIES = 6000
#: In US data much of the rural grid is tagged residential.
_KINDS, _KIND_SHARES = ("residential", "unclassified"), (0.45, 0.55)


@dataclass(frozen=True, slots=True, kw_only=True)
class Country:
    """How lanes grow in one part of the district."""

    name: str
    corners_mi: Sequence[Point2]
    spacing_mi: float  #: lanes keep this far from other roads
    wiggle: float  #: how strongly they wind
    ridges: float  #: how strongly they follow the ridges, 0 to 1
    meet_share: float  #: share of meetings with another road that become a junction
    gravel_share: float
    longest_mi: float
    total_mi: float  #: lanes grown in all
    shortest_mi: float = 0.25


COUNTRIES = (
    Country(name="upland farms", spacing_mi=0.4, wiggle=0.1, ridges=0, meet_share=0.85,
            gravel_share=0.45, longest_mi=3.6, total_mi=92, shortest_mi=0.35,
            corners_mi=((-9.8, -0.03), (-0.7, -0.03), (-1.3, 2.0), (-2.8, 3.2), (-2.6, 4.4),
                        (-3.4, 5.6), (-2.9, 7.0), (-3.8, 8.2), (-3.6, 9), (-5.9, 9), (-5.9, 7),
                        (-9.8, 6.9))),
    Country(name="valley farms", spacing_mi=0.36, wiggle=0.1, ridges=0, meet_share=0.85,
            gravel_share=0.35, longest_mi=3.0, total_mi=70, shortest_mi=0.3,
            corners_mi=((-0.1, -8.9), (9.9, -8.9), (9.9, -4.9), (8.4, -4.7), (7.6, -3.5),
                        (6.2, -3.7), (5.2, -2.5), (3.8, -2.5), (3.0, -1.3), (1.6, -1.1),
                        (0.4, -0.2), (-0.1, -2.5))),
    Country(name="ridges", spacing_mi=0.3, wiggle=0.45, ridges=0.6, meet_share=0.35,
            gravel_share=0.8, longest_mi=5.0, total_mi=125, shortest_mi=0.3,
            corners_mi=((-2.2, 4.6), (-2.2, 3.3), (-0.8, 2.4), (-0.2, 1.1), (0.9, 0.6),
                        (1.8, -0.6), (3.1, -0.8), (4.0, -1.9), (5.1, -1.9), (6.2, -3.0),
                        (7.6, -2.9), (8.6, -4.1), (9.9, -4.3), (9.9, 4.8), (7.6, 5.3), (4.6, 5.6),
                        (1.0, 5.5), (-2.6, 5.9))),
    Country(name="moor", spacing_mi=0.8, wiggle=0.45, ridges=0.4, meet_share=0,
            gravel_share=1, longest_mi=4.5, total_mi=15, shortest_mi=1.2,
            corners_mi=((-2.8, 6.4), (-0.5, 5.6), (4.0, 5.4), (9.2, 5.4), (9.2, 8.9), (3.2, 8.9),
                        (3.2, 6.4), (-0.4, 6.6), (-1.2, 8.8), (-2.8, 8.8))),
)  # fmt: skip


@dataclass(slots=True, kw_only=True)
class _Map:
    """What is there already, as points every few steps, each with its road's number."""

    points: np.ndarray = field(default_factory=lambda: np.empty((0, 2)))
    owner: np.ndarray = field(default_factory=lambda: np.empty(0, dtype=int))
    roads: list[Road] = field(default_factory=list)

    def add(self, road: Road) -> None:
        """Put a road on the map."""
        distances = np.arange(0, road.line.length + 25, 25)
        new = shapely.get_coordinates(shapely.line_interpolate_point(road.line, distances))
        self.points = np.vstack([self.points, new])
        self.owner = np.append(self.owner, np.full(len(new), len(self.roads)))
        self.roads.append(road)

    def nearest(self, at: Point2, but: int) -> tuple[float, int]:
        """Return distance to and number of the nearest road except `but`."""
        away = np.hypot(self.points[:, 0] - at[0], self.points[:, 1] - at[1])
        away[self.owner == but] = np.inf
        best = int(np.argmin(away))
        return float(away[best]), int(self.owner[best])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ground:
    """What growing looks at: the country, its land, the roads there, the random numbers."""

    country: Country
    zone: Polygon
    there: _Map
    rng: np.random.Generator


@dataclass(frozen=True, slots=True, kw_only=True)
class _Start:
    """Where a lane sets out: the road by its number, the place, the heading."""

    parent: int
    at: Point2
    heading: float


def grow_lanes(roads: Sequence[Road], waters: Waters) -> list[Road]:
    """Return the lanes of every country."""
    there = _Map()
    for road in roads:
        there.add(road)
    count = len(roads)
    wet = waters.wide().buffer(70)
    for country in COUNTRIES:
        zone = Polygon(miles(country.corners_mi)).intersection(boundary()).difference(wet)
        shapely.prepare(zone)
        rng = random(f"lanes {country.name}")
        _fill(_Ground(country=country, zone=zone, there=there, rng=rng))
    names = lane_names(len(there.roads) - count)
    lanes = there.roads[count:]
    return [
        Road(line=lane.line.simplify(4), tags={"name": name, **lane.tags})
        for name, lane in zip(names, lanes, strict=True)
    ]


def _fill(ground: _Ground) -> None:
    """Grow lanes in a country until its miles are reached or no place is left."""
    country, rng = ground.country, ground.rng
    grown = 0.0
    for _ in range(_TRIES):
        if grown >= country.total_mi * MI:
            return
        start = _start(ground)
        line = _grow(ground, start) if start else None
        if line is not None:
            tags = {"highway": str(rng.choice(_KINDS, p=_KIND_SHARES))}
            if rng.random() < country.gravel_share:
                tags["surface"] = "gravel"
            ground.there.add(Road(line=line, tags=tags))
            grown += line.length


def _start(ground: _Ground) -> _Start | None:
    """Return a place on a road and a heading towards land that no road reaches yet."""
    west, south, east, north = ground.zone.bounds
    rng, there = ground.rng, ground.there
    goal = (float(rng.uniform(west, east)), float(rng.uniform(south, north)))
    away, parent = there.nearest(goal, -1)
    spacing = ground.country.spacing_mi * MI
    road = there.roads[parent]
    if away < spacing or not road.public or not ground.zone.contains(Point(goal)):
        return None
    distance = road.line.project(Point(goal)) + float(rng.normal(0, 0.25 * spacing))
    if not 0 < distance < road.line.length:
        distance = float(rng.uniform(0.1, 0.9)) * road.line.length
    at, angle = along(road.line, distance)
    towards = math.atan2(goal[1] - at[1], goal[0] - at[0])
    side = 1 if math.sin(towards - angle) > 0 else -1
    heading = angle + side * math.pi / 2 + float(rng.normal(0, 0.12))
    crowded, _ = there.nearest(at, parent)
    if crowded < 0.7 * spacing or not ground.zone.contains(LineString([at, goal])):
        return None
    return _Start(parent=parent, at=at, heading=heading)


def _grow(ground: _Ground, start: _Start) -> LineString | None:
    """Return a lane, or None if it comes to nothing."""
    country, rng, there = ground.country, ground.rng, ground.there
    spacing = country.spacing_mi * MI
    longest = float(rng.uniform(0.35, 1.0)) * country.longest_mi * MI
    points, turn, heading = [start.at], 0.0, start.heading
    while (len(points) - 1) * _STEP_M < longest:
        turn = 0.82 * turn + float(rng.normal(0, 0.11)) * country.wiggle
        heading += turn + country.ridges * _lean(points[-1], heading)
        ahead = unit(heading)
        here = (points[-1][0] + ahead[0] * _STEP_M, points[-1][1] + ahead[1] * _STEP_M)
        gone = len(points) * _STEP_M
        away, other = there.nearest(here, start.parent if gone < 1.3 * spacing else -1)
        if away < min(spacing, 0.75 * gone) and rng.random() < country.meet_share:
            return _meet(points, there.roads[other].line, ground.zone, spacing)
        if away < min(spacing, 0.75 * gone) or _astray(ground.zone, points, here, spacing):
            break
        points.append(here)
    line = LineString(points) if len(points) > _FEW else None
    return line if line and line.length > country.shortest_mi * MI else None


def _astray(zone: Polygon, points: list[Point2], here: Point2, spacing: float) -> bool:
    """Return whether a lane leaves its country or comes back to its own beginnings."""
    old = points[: -math.ceil(1.6 * spacing / _STEP_M)]
    close = any(math.dist(here, point) < 0.8 * spacing for point in old)
    return close or not zone.contains(Point(here))


def _meet(
    points: list[Point2], other: LineString, zone: Polygon, spacing: float
) -> LineString | None:
    """Return the lane led on to another road, if that is near and nothing lies between."""
    last = Point(points[-1])
    distance = other.project(last)
    if min(distance, other.length - distance) < 0.35 * spacing:
        distance = 0.0 if distance < other.length / 2 else other.length
    target = other.interpolate(distance)
    link = LineString([points[-1], target.coords[0]])
    if len(points) <= _FEW:
        return None
    if link.length > 1.5 * spacing or not zone.contains(link):
        return LineString(points)
    return LineString([*points, target.coords[0]])


def _lean(at: Point2, heading: float) -> float:
    """Return the turn towards the run of the ridge at a place [rad a step]."""
    run = math.radians(52) + 0.75 * math.sin(
        at[0] / (1.9 * MI) + 0.7 * math.sin(at[1] / (1.3 * MI))
    )
    run += 0.55 * math.sin(at[1] / (0.45 * MI) + at[0] / (0.8 * MI))
    off = (run - heading + math.pi / 2) % math.pi - math.pi / 2
    return 0.30 * off
