"""Roads and waters as OSM XML: ways cut at junctions, nodes shared, numbered in order."""

from collections.abc import Iterable, Mapping, Sequence
from io import StringIO
from xml.sax.saxutils import quoteattr

import shapely
from shapely import LineString, STRtree
from shapely.geometry.base import BaseGeometry

from larkmoor_maker.frame import Point2, degrees
from larkmoor_maker.noding import shared_points
from larkmoor_maker.road import Road
from larkmoor_maker.water import RIVER_NAME, Waters

_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    "<!-- Larkmoor, an invented district in open ocean, made by make_larkmoor.py.\n"
    "     Not OpenStreetMap data: only its file format. -->\n"
    '<osm version="0.6" generator="make_larkmoor.py">\n'
)
_CULVERT_M = 9.0
_JUNCTIONS_A_WAY = 4

Way = tuple[Sequence[Point2], Mapping[str, str]]


def osm_xml(roads: Sequence[Road], waters: Waters, more: Iterable[Way]) -> str:
    """Return the OSM file: roads cut at junctions, waters, and `more` areas."""
    ways = [*_road_ways(roads), *_water_ways(roads, waters), *more, *_lake_ways(waters)]
    places = list(dict.fromkeys(point for points, _ in ways for point in points))
    numbers = {point: number for number, point in enumerate(places, start=1)}
    out = StringIO()
    out.write(_HEAD)
    for number, (lon, lat) in enumerate(degrees(places), start=1):
        out.write(f'<node id="{number}" version="1" lat="{lat:.7f}" lon="{lon:.7f}"/>\n')
    for number, (points, tags) in enumerate(ways, start=1):
        out.write(f'<way id="{number}" version="1">\n')
        out.write("".join(f'<nd ref="{numbers[point]}"/>' for point in points))
        out.write(f"\n{_tags(tags)}</way>\n")
    out.write('<relation id="1" version="1">\n')
    for number, role in ((len(ways) - 1, "outer"), (len(ways), "inner")):
        out.write(f'<member type="way" ref="{number}" role="{role}"/>\n')
    lake = {"type": "multipolygon", "natural": "water", "name": "Larkmoor Water"}
    out.write(f"{_tags(lake)}</relation>\n</osm>\n")
    return out.getvalue()


def area_ways(area: BaseGeometry, tags: Mapping[str, str]) -> list[Way]:
    """Return the outlines of an area as closed ways; holes are left out."""
    return [(list(part.exterior.coords), tags) for part in shapely.get_parts(area)]


def _tags(tags: Mapping[str, str]) -> str:
    return "".join(f"<tag k={quoteattr(k)} v={quoteattr(v)}/>\n" for k, v in tags.items())


def _road_ways(roads: Sequence[Road]) -> list[Way]:
    """Return the roads as ways; a long road is cut at every few junctions, as mappers do."""
    uses = shared_points(roads)
    ways: list[Way] = []
    for road in roads:
        points = list(road.line.coords)
        start, met = 0, 0
        for i in range(1, len(points) - 1):
            met += uses[points[i]] > 1
            if met == _JUNCTIONS_A_WAY and not road.line.is_ring:
                ways.append((points[start : i + 1], road.tags))
                start, met = i, 0
        ways.append((points[start:], road.tags))
    return ways


def _water_ways(roads: Sequence[Road], waters: Waters) -> list[Way]:
    """Return the river, the creeks with a culvert under every road, and the ponds."""
    ways: list[Way] = [(list(waters.river.coords), {"waterway": "river", "name": RIVER_NAME})]
    ways.extend(area_ways(waters.river_area, {"natural": "water", "water": "river"}))
    lines = STRtree([road.line for road in roads])
    for name, creek in waters.creeks.items():
        ways.extend(_creek_ways(creek, lines, {"waterway": "stream", "name": name}))
    for name, area in waters.ponds.items():
        ways.extend(area_ways(area, {"natural": "water", "water": "pond", "name": name}))
    return ways


def _creek_ways(creek: LineString, roads: STRtree, tags: Mapping[str, str]) -> list[Way]:
    """Return a creek cut into open stretches and culverts."""
    near = [roads.geometries[i] for i in roads.query(creek, predicate="intersects")]
    crossings = [point for road in near for point in shapely.get_parts(road.intersection(creek))]
    pipes = shapely.union_all([point.buffer(_CULVERT_M) for point in crossings])
    piped = {**tags, "tunnel": "culvert", "layer": "-1"}
    return [
        (list(part.coords), kept)
        for line, kept in ((creek.difference(pipes), tags), (creek.intersection(pipes), piped))
        for part in shapely.get_parts(line)
    ]


def _lake_ways(waters: Waters) -> list[Way]:
    """Return the shore of the lake and of its islet, the two members of its relation."""
    shore = list(waters.lake.exterior.coords)
    islet = list(waters.islet.exterior.coords)
    return [(shore, {}), (islet, {"place": "islet", "name": "Heron Islet"})]
