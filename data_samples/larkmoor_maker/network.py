"""All roads of the district in one: drawn, surveyed, village streets and lanes, meeting cleanly."""

from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely import LineString, Point, STRtree

from larkmoor_maker.frame import Point2
from larkmoor_maker.highways import drawn_roads, section_roads
from larkmoor_maker.lanes import grow_lanes
from larkmoor_maker.noding import joined
from larkmoor_maker.road import Road
from larkmoor_maker.village import (
    MIDDLE,
    ROUNDABOUT_M,
    islet_lane,
    village_outline,
    village_streets,
)
from larkmoor_maker.water import RIVER_HALF_WIDTH, Waters

#: An end of a drawn road this near to another one was meant to meet it [m].
_MEANT_M = 260.0
_MAIN_STREET = {"name": "Main Street", "maxspeed": "30 mph"}
#: Bridges with a posted weight [short tons]: an old truss that stops every full tanker, and one
#: that stops the heavy ones.
_POSTED = {"Upper Ford Lane": {"maxweight": "12 st"}, "Cold Spring Road": {"maxweight": "22 st"}}
_IN_VILLAGE = {"primary": _MAIN_STREET, "secondary": {"maxspeed": "30 mph"}}


def road_network(waters: Waters) -> list[Road]:
    """Return the roads, driveways left out, each crossing a vertex of both roads."""
    drawn = _meeting(drawn_roads(), [])
    ring = Point(MIDDLE).buffer(ROUNDABOUT_M, quad_segs=4)
    drawn = [piece for road in drawn for piece in _cut(road, ring)]
    sections = _meeting(section_roads(waters), drawn)
    streets = village_streets()
    there = [*drawn, *sections, *streets]
    lanes = grow_lanes(there, waters)
    connected = _reached(joined([*there, *lanes]))
    bridged = [piece for road in connected for piece in _bridged(road, waters)]
    return [*bridged, islet_lane(waters.islet)]


def _cut(road: Road, ring: shapely.Polygon) -> list[Road]:
    """Return a road cut at the roundabout and where the village begins."""
    outline = village_outline()
    changes = _IN_VILLAGE.get(road.tags["highway"])
    pieces = road.without(ring) if road.line.intersects(ring) else [road]
    if changes is None:
        return pieces
    made = []
    for piece in pieces:
        inside = replace(piece, tags={**road.tags, **changes})
        for kept, line in ((inside, piece.line.intersection(outline)),
                           (piece, piece.line.difference(outline))):  # fmt: skip
            made.extend(
                replace(kept, line=part) for part in shapely.get_parts(line) if part.length > 1
            )
    return made


def _meeting(roads: Sequence[Road], others: Sequence[Road]) -> list[Road]:
    """Return roads whose ends lie on the road that they were meant to meet."""
    made = []
    for i, road in enumerate(roads):
        rest = [other.line for other in (*roads[:i], *roads[i + 1 :], *others)]
        tree = STRtree(rest)
        coords = list(road.line.coords)
        coords[0] = _moved(coords[0], tree)
        coords[-1] = _moved(coords[-1], tree)
        made.append(replace(road, line=LineString(coords)))
    return made


def _moved(end: Point2, tree: STRtree) -> Point2:
    point = Point(end)
    nearest = tree.geometries[tree.nearest(point)]
    if not 0 < nearest.distance(point) < _MEANT_M:
        return end
    on = nearest.interpolate(nearest.project(point))
    return on.x, on.y


def _reached(roads: list[Road]) -> list[Road]:
    """Return the roads that hang together with the first one."""
    by_point: dict[Point2, list[int]] = {}
    for i, road in enumerate(roads):
        for point in road.line.coords:
            by_point.setdefault(point, []).append(i)
    seen, waiting = {0}, [0]
    while waiting:
        for point in roads[waiting.pop()].line.coords:
            new = [i for i in by_point[point] if i not in seen]
            seen.update(new)
            waiting.extend(new)
    return [road for i, road in enumerate(roads) if i in seen]


def _bridged(road: Road, waters: Waters) -> list[Road]:
    """Return a road cut into bridge and approaches where it crosses the river."""
    span = waters.river.buffer(RIVER_HALF_WIDTH + 9)
    if not road.spans or not road.line.intersects(span):
        return [road]
    over = shapely.get_parts(road.line.intersection(span))
    posted = _POSTED.get(road.tags["name"], {})
    tags = {**road.tags, "bridge": "yes", "layer": "1", **posted}
    tags.pop("surface", None)
    bridges = [replace(road, line=part, tags={**tags, "surface": "concrete"}) for part in over]
    approaches = shapely.get_parts(road.line.difference(span))
    return [*bridges, *(replace(road, line=part) for part in approaches)]
