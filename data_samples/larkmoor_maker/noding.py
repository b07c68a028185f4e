"""Roads joined at their crossings: every crossing becomes one vertex that both roads have."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely import LineString, Point, STRtree
from shapely.geometry.base import BaseGeometry

from larkmoor_maker.frame import Point2
from larkmoor_maker.road import Road

#: An end this near to another road meets it [m].
_NEAR_M = 5.0
#: A vertex this near to a crossing is moved on to it [m].
_SAME_M = 8.0


def joined(roads: Sequence[Road]) -> list[Road]:
    """Return the roads with a shared vertex wherever two of them meet."""
    lines = [road.line for road in roads]
    tree = STRtree(lines)
    cuts: list[list[Point2]] = [[] for _ in lines]
    first, second = tree.query(lines, predicate="dwithin", distance=_NEAR_M)
    for i, j in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if i < j:
            for point in _meetings(lines[i], lines[j]):
                cuts[i].append(point)
                cuts[j].append(point)
    return [
        replace(road, line=_with_vertices(road.line, points))
        for road, points in zip(roads, cuts, strict=True)
    ]


def _meetings(one: LineString, other: LineString) -> list[Point2]:
    """Return where two roads meet: at ends first, so that an end keeps its place."""
    found: list[Point] = []
    for line, against in ((one, other), (other, one)):
        ends = [Point(line.coords[0]), Point(line.coords[-1])]
        found.extend(end for end in ends if end.distance(against) <= _NEAR_M)
    crossing = one.intersection(other)
    found.extend(part for part in _points(crossing))
    kept: list[Point2] = []
    for point in found:
        if all(Point(k).distance(point) > 2 * _NEAR_M for k in kept):
            kept.append((point.x, point.y))
    return kept


def _points(geometry: BaseGeometry) -> list[Point]:
    parts = shapely.get_parts(geometry)
    return [part for part in parts if isinstance(part, Point)]


def _with_vertices(line: LineString, points: list[Point2]) -> LineString:
    """Return a line with every one of `points` as a vertex, near vertices giving way to them."""
    placed = sorted({point: line.project(Point(point)) for point in points}.items(), key=_second)
    taken = [distance for _, distance in placed]
    same = min(_SAME_M, line.length / 30)
    rest = [
        ((x, y), line.project(Point(x, y)) if 0 < i < len(line.coords) - 1 else i and line.length)
        for i, (x, y) in enumerate(line.coords)
    ]
    kept = [pair for pair in rest if all(abs(pair[1] - t) > same for t in taken)]
    ordered = [point for point, _ in sorted([*kept, *placed], key=_second)]
    if line.is_ring and ordered[0] != ordered[-1]:
        ordered.append(ordered[0])
    return LineString(ordered)


def _second(pair: tuple[Point2, float]) -> float:
    return pair[1]


def shared_points(roads: Sequence[Road]) -> Counter[Point2]:
    """Return how many roads have each vertex; more than one is a junction."""
    return Counter(point for road in roads for point in set(road.line.coords))
