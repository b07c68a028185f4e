"""
Our segments against osmnx's graph of the same roads, step by step between neighbouring nodes.

osmnx's XML reader takes ways without `highway` and knows fewer implied one-ways, so it is given a
file that holds only the roads, picked here by a filter of its own, with every one-way written out.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np
import osmium
import osmnx as ox
import pytest

from haulshed.inputs.roads import read_roads
from haulshed.scenario import RoadRules
from haulshed.tables.segments import Segments

REAL = Path(__file__).parents[3] / "shared" / "osm"

#: Mean radius of the Earth [m] by which osmnx measures.
EARTH_M = 6_371_009

NODES = {n: (39.5 + n // 10 / 100, -87 + n % 10 / 100) for n in range(60)}
ODD_ROADS = [
    ([0, 1, 2, 12, 11, 1], {"highway": "residential"}),  # a lollipop
    ([2, 3, 4], {"highway": "tertiary"}),
    ([2, 13, 4], {"highway": "service"}),  # beside the road before, between the same nodes
    ([20, 31, 42, 32, 31, 30], {"highway": "unclassified"}),  # crosses itself
    ([4, 14, 24], {"highway": "residential", "oneway": "-1"}),
    ([24, 25, 35, 34, 24], {"highway": "tertiary", "junction": "roundabout"}),
    ([25, 26, 36, 25], {"highway": "residential", "junction": "circular"}),
    ([36, 37, 38], {"highway": "motorway"}),
    ([38, 39], {"highway": "motorway", "oneway": "no"}),
    ([38, 28], {"highway": "motorway_link"}),
    ([28, 18, 8], {"highway": "primary", "oneway": "1"}),
    ([8, 7, 7, 6], {"highway": "secondary", "oneway": "reversible"}),  # one node twice in a row
    ([50, 51], {"highway": "living_street"}),  # cut off from the rest
    ([6, 16], {"highway": "service", "access": "no"}),
    ([6, 17], {"highway": "service", "access": "no", "emergency": "yes"}),
    ([17, 18], {"highway": "residential", "vehicle": "no", "motor_vehicle": "yes"}),
    ([7, 17], {"highway": "track"}),
    ([17, 27, 26, 17], {"highway": "service", "area": "yes"}),
    ([8, 9], {"highway": "footway"}),
    ([9, 19], {"waterway": "stream"}),
]

Way = tuple[int, Sequence[int], dict[str, str]]
Place = tuple[float, float]


def is_road(tags: Mapping[str, str]) -> bool:
    ramps = ("motorway", "trunk", "primary", "secondary", "tertiary")
    classes = {*ramps, *(f"{name}_link" for name in ramps)}
    classes |= {"unclassified", "residential", "living_street", "service", "road"}
    entry = tags.get("motor_vehicle", tags.get("vehicle", tags.get("access")))
    closed = entry == "no" and tags.get("emergency") != "yes"
    return tags.get("highway") in classes and tags.get("area") != "yes" and not closed


def oneway_written_out(tags: dict[str, str]) -> dict[str, str]:
    implied = tags["highway"] == "motorway" or tags.get("junction") in {"roundabout", "circular"}
    said = tags.get("oneway", "yes" if implied else "no")
    plain = {key: value for key, value in tags.items() if key not in {"junction", "oneway"}}
    return {**plain, "oneway": said if said in {"yes", "true", "1", "-1"} else "no"}


def write_xml(path: Path, nodes: Mapping[int, Place], ways: Sequence[Way]) -> Path:
    used = sorted({ref for _, refs, _ in ways for ref in refs})
    with osmium.SimpleWriter(path, overwrite=True) as writer:
        for node in used:
            lat, lon = nodes[node]
            writer.add_node(osmium.osm.mutable.Node(id=node + 1, location=(lon, lat)))
        for way, refs, tags in ways:
            refs_on = [ref + 1 for ref in refs]
            writer.add_way(osmium.osm.mutable.Way(id=way, nodes=refs_on, tags=tags))
    return path


def contents(path: Path) -> tuple[dict[int, Place], list[Way]]:
    nodes, ways = {}, []
    for thing in osmium.FileProcessor(path):
        if thing.is_node():
            nodes[thing.id - 1] = (thing.location.lat, thing.location.lon)
        elif thing.is_way():
            refs = [node.ref - 1 for node in thing.nodes]
            ways.append((thing.id, refs, {tag.k: tag.v for tag in thing.tags}))
    return nodes, ways


def great_circle_m(start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Return haversine distances between rows of (lat, lon) in degrees."""
    (lat1, lon1), (lat2, lon2) = np.radians(start).T, np.radians(end).T
    half = np.sin((lat2 - lat1) / 2) ** 2
    half += np.cos(lat1) * np.cos(lat2) * np.sin((lon2 - lon1) / 2) ** 2
    return 2 * EARTH_M * np.arcsin(np.sqrt(half))


def our_steps(segments: Segments) -> list[tuple[Place, Place]]:
    """Return every step between neighbouring points that may be driven, in degrees."""
    steps = []
    degrees = segments.to_crs(4326)
    for row in degrees.itertuples():
        places = [(round(lat, 7), round(lon, 7)) for lon, lat in row.geometry.coords]
        along = list(pairwise(places))
        if row.forward_open:
            steps.extend(along)
        if row.backward_open:
            steps.extend((there, here) for here, there in along)
    return steps


def compare(ours: Path, theirs: Path) -> None:
    segments, notes = read_roads(ours, RoadRules(), cache_dir=None, progress=lambda _: None)
    graph = ox.graph_from_xml(theirs, simplify=False, retain_all=True)
    at = {n: (round(d["y"], 7), round(d["x"], 7)) for n, d in graph.nodes(data=True)}
    wanted = [(at[tail], at[head]) for tail, head in graph.edges()]
    found = our_steps(segments)
    none = sum(here == there for here, there in wanted)
    assert none <= 2 * notes["pieces_of_no_length"]
    assert {place for step in found for place in step} == set(at.values())
    assert Counter(found) == Counter(step for step in wanted if step[0] != step[1])
    start, end = (np.array(side) for side in zip(*found, strict=True))
    length_m = sum(d["length"] for *_, d in graph.edges(data=True))
    assert great_circle_m(start, end).sum() == pytest.approx(length_m, rel=1e-6)


def test_odd_roads(tmp_path: Path) -> None:
    ways: list[Way] = [(n, refs, dict(tags)) for n, (refs, tags) in enumerate(ODD_ROADS, 1)]
    ours = write_xml(tmp_path / "all.osm", NODES, ways)
    roads = [(n, refs, oneway_written_out(tags)) for n, refs, tags in ways if is_road(tags)]
    theirs = write_xml(tmp_path / "roads.osm", NODES, roads)
    compare(ours, theirs)


@pytest.mark.skipif(not REAL.is_dir(), reason="real extracts are not beside the repo")
@pytest.mark.parametrize(
    "name",
    [
        *("three_rivers_mi.osm", "harsdorf_de.osm.pbf", "hudson_nh.osm.pbf"),
        *("beatty_nv.osm.pbf", "helgoland_de.osm.pbf"),
    ],
)
def test_real_roads(tmp_path: Path, name: str) -> None:
    nodes, ways = contents(REAL / name)
    roads = [
        (n, refs, oneway_written_out(tags))
        for n, refs, tags in ways
        if is_road(tags) and len(set(refs)) > 1
    ]
    theirs = write_xml(tmp_path / "roads.osm", nodes, roads)
    compare(REAL / name, theirs)
