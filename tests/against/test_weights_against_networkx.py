"""Legs and arrivals by weight class against networkx on the roads that each unit may drive.

The reference reads the limits anew with pyosmium, takes every road out that is too weak or too low
for the unit, and searches what is left. Data: OpenStreetMap (© OpenStreetMap contributors, ODbL),
Lauf, Germany: twenty weight-posted ways. Units, sites and places are made up.
"""

import math
from pathlib import Path

import networkx as nx
import numpy as np
import osmium
import pytest

from against.test_travel_against_networkx import places_of, reference_graph
from by_hand import inputs
from haulshed.assess.ground import Ground, ground, site_reach
from haulshed.assess.incidents import Incidents, incidents
from haulshed.assess.rises import parcel_rises
from haulshed.inputs.osm_file import read_osm
from haulshed.roads.segments import build_segments
from haulshed.roads.snap import access_points
from haulshed.scenario import RoadRules, Scenario
from haulshed.tables.segments import Segments

EXTRACT = Path(__file__).parents[3] / "shared" / "osm" / "lauf_de.osm.pbf"
LB_PER_T = 1000 / 0.45359237
FT_PER_M = 1 / 0.3048
RULES = RoadRules(leg_fixed_min=0.65)
#: Full and empty weight [t], height [m].
UNITS = {
    "T1": (4.9, 2.5, 2.2),
    "T2": (14.0, 6.0, 3.0),
    "T3": (14.5, 6.5, 3.0),
    "T4": (26.0, 13.0, 3.0),
    "T5": (31.0, 13.0, 3.65),
    "E1": (16.0, 13.0, 3.0),
}

pytestmark = pytest.mark.skipif(
    not EXTRACT.is_file(), reason="real extracts (../shared/osm) are not part of the project"
)


@pytest.fixture(scope="module")
def segments() -> Segments:
    made, _ = build_segments(read_osm(EXTRACT, "osm.pbf"), RULES)
    return made


@pytest.fixture(scope="module")
def posted() -> tuple[dict[int, float], dict[int, float]]:
    """Return weights [t] and heights [m] by way."""
    weights, heights = {}, {}
    for way in osmium.FileProcessor(str(EXTRACT), osmium.osm.WAY):
        if "maxweight" in way.tags:
            weights[way.id] = float(way.tags["maxweight"])
        if "maxheight" in way.tags:
            heights[way.id] = float(way.tags["maxheight"])
    return weights, heights


@pytest.fixture(scope="module")
def case(
    segments: Segments, posted: tuple[dict[int, float], dict[int, float]]
) -> tuple[Ground, Incidents]:
    """Return sites, stations and parcels drawn on the roads, many of them by the posted ones."""
    rng = np.random.default_rng(7)
    public = segments[segments["public"]]
    weak = public[public["way_id"].isin([*posted[0], *posted[1]])]
    near = public[public.distance(weak.union_all()) < 400]
    drawn = [near.sample(12, random_state=3), public.sample(12, random_state=4)]
    points = [
        line.interpolate(rng.uniform(0.2, 0.8), normalized=True)
        for frame in drawn
        for line in frame.geometry
    ]
    unit = {"station_id": "S1", "tank_gal": 1000.0, "pump_gpm": 750.0}
    given = inputs(
        segments=segments,
        scenario=Scenario(roads=RULES),
        sites=[
            {"site_id": f"F{i:02}", "kind": "hydrant", "geometry": point, "flow_gpm": 500.0}
            for i, point in enumerate(points[::3])
        ],
        stations=[
            {"station_id": f"S{i}", "geometry": point, "aid": "own", "turnout_min": 0.0}
            for i, point in enumerate(points[1:3])
        ],
        parcels=[
            {"parcel_id": f"P{i:02}", "geometry": point, "structure": point}
            for i, point in enumerate(points)
        ],
        apparatus=[
            {
                **unit,
                "unit_id": name,
                "kind": "tanker" if name.startswith("T") else "engine",
                "weight_lb": full_t * LB_PER_T,
                "empty_weight_lb": empty_t * LB_PER_T,
                "height_ft": high_m * FT_PER_M,
            }
            for name, (full_t, empty_t, high_m) in UNITS.items()
        ],
    )
    base = ground(given)
    access = access_points(base.inputs.parcels, base.network, base.inputs.scenario.operation)
    found = site_reach(base, lambda *_: None)
    lay_ft, rises = np.full(len(points), 100.0), parcel_rises(base.inputs, access)
    return base, incidents(base, found, access.points, lay_ft, rises)


@pytest.fixture(scope="module")
def graph(case: tuple[Ground, Incidents]) -> nx.MultiDiGraph:
    base, there = case
    places = {
        *places_of(base.site_points),
        *places_of(base.station_points),
        *places_of(there.access),
    }
    whole = reference_graph(base.network.segments, places, RULES)
    way_of = base.network.segments["way_id"].to_numpy()
    by_ends = base.network.segments[["from_node", "to_node"]].to_numpy()
    for tail, head, data in whole.edges(data=True):
        inner = [end for end in (tail, head) if isinstance(end, tuple)]
        if inner:
            data["way"] = way_of[inner[0][0]]
            continue
        same = (np.sort(by_ends, axis=1) == sorted((tail, head))).all(axis=1)
        miles = base.network.length_mi[same]
        data["way"] = way_of[same][np.abs(miles - data["miles"]).argmin()]
    return whole


def driven(
    graph: nx.MultiDiGraph,
    posted: tuple[dict[int, float], dict[int, float]],
    weight_t: float,
    high_m: float,
) -> nx.MultiDiGraph:
    """Return the roads that a vehicle may drive."""
    weights, heights = posted

    def may(data: dict[str, float]) -> bool:
        if data["miles"] == 0:  # a place at a junction is the junction
            return True
        strong = weights.get(data["way"], math.inf) >= weight_t * (1 - 1e-9)
        return strong and heights.get(data["way"], math.inf) >= high_m * (1 - 1e-9)

    roads = nx.MultiDiGraph()
    roads.add_nodes_from(graph)
    roads.add_edges_from(edge for edge in graph.edges(data=True) if may(edge[2]))
    return roads


def minutes_to(graph: nx.MultiDiGraph, start: tuple[int, float]) -> dict[object, float]:
    return nx.single_source_dijkstra_path_length(graph, start, weight="minutes")


def test_legs_of_every_tanker(
    case: tuple[Ground, Incidents],
    graph: nx.MultiDiGraph,
    posted: tuple[dict[int, float], dict[int, float]],
) -> None:
    base, there = case
    tankers = [name for name in sorted(UNITS) if name.startswith("T")]
    sites, places = places_of(base.site_points), places_of(there.access)
    anyone = [minutes_to(graph, site) for site in sites]
    longer = cut = 0
    for number, name in enumerate(tankers):
        full_t, empty_t, high_m = UNITS[name]
        legs = there.legs[base.classes.of_tanker[number]]
        out, home = driven(graph, posted, full_t, high_m), driven(graph, posted, empty_t, high_m)
        back = home.reverse()
        for row, site in enumerate(sites):
            loaded, empty = minutes_to(out, site), minutes_to(back, site)
            for column, place in enumerate(places):
                far = loaded.get(place, math.inf), empty.get(place, math.inf)
                if math.inf in far:
                    far = (math.inf, math.inf)
                ours = legs.loaded_min[row, column], legs.empty_min[row, column]
                assert ours == pytest.approx([one + 0.65 for one in far], abs=1e-6)
                if place in anyone[row]:
                    cut += far[0] == math.inf
                    longer += math.inf > far[0] > anyone[row][place] + 1e-6
    assert longer > 20
    assert cut > 10


def test_arrival_of_every_unit_full(
    case: tuple[Ground, Incidents],
    graph: nx.MultiDiGraph,
    posted: tuple[dict[int, float], dict[int, float]],
) -> None:
    base, there = case
    station = places_of(base.station_points)[1]
    assert base.inputs.stations["station_id"].tolist()[1] == "S1"
    for column, name in enumerate(base.assignment.units["unit_id"]):
        full_t, _, high_m = UNITS[name]
        minutes = minutes_to(driven(graph, posted, full_t, high_m), station)
        wanted = [minutes.get(place, math.inf) + 0.65 for place in places_of(there.access)]
        assert there.arrival_min[:, column].tolist() == pytest.approx(wanted, abs=1e-6)


def test_no_more_classes_than_the_posted_limits_need(
    case: tuple[Ground, Incidents], posted: tuple[dict[int, float], dict[int, float]]
) -> None:
    base, _ = case
    open_ways = set(base.network.segments["way_id"][base.network.drivable])
    weights = {figure for way, figure in posted[0].items() if way in open_ways}
    heights = {figure for way, figure in posted[1].items() if way in open_ways}

    def stopping(weight_t: float, high_m: float) -> tuple[frozenset[float], frozenset[float]]:
        return (
            frozenset(one for one in weights if weight_t > one),
            frozenset(one for one in heights if high_m > one),
        )

    kinds = {
        name: (stopping(full_t, high_m), stopping(empty_t, high_m))
        for name, (full_t, empty_t, high_m) in UNITS.items()
        if name.startswith("T")
    }
    assert len(base.classes.pairs) == len(there_are := set(kinds.values()))
    assert 1 < len(there_are) < len(kinds)  # T2 and T3 are one class
    by_name = dict(zip(sorted(kinds), base.classes.of_tanker.tolist(), strict=True))
    assert by_name["T2"] == by_name["T3"]
