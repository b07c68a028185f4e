"""No hose line is lost by looking straight across first: against networkx over every road.

Roads: OpenStreetMap (© OpenStreetMap contributors, ODbL), Hudson, New Hampshire; the rest is made.
"""

from pathlib import Path

import networkx as nx
import numpy as np
import pytest

from benchmarks.county import Size, make_county
from haulshed import pipeline
from haulshed.assess.ground import Ground, ground, site_reach
from haulshed.assess.hose_lines import laid_lines
from haulshed.assess.incidents import Incidents, incidents
from haulshed.assess.rises import parcel_rises
from haulshed.inputs.district import read_district
from haulshed.roads.lay import lays
from haulshed.roads.points import Points
from haulshed.roads.snap import access_points
from haulshed.units import FT_PER_MI

EXTRACT = Path(__file__).parents[3] / "shared" / "osm" / "hudson_nh.osm.pbf"

pytestmark = pytest.mark.skipif(
    not EXTRACT.is_file(), reason="real extracts (../shared/osm) are not part of the project"
)


def made(folder: Path, reach_ft: float) -> tuple[Ground, Incidents]:
    size = Size(parcels=250, sites=25, stations=6, apparatus=18, draws=0)
    district = make_county(folder, EXTRACT, size)
    with district.open("a", encoding="utf-8") as file:
        file.write(f"[supply_line]\nhose_reach_ft = {reach_ft}\n")
    read = read_district(
        district, scenario=None, set_aside=False, cache_dir=None, progress=pipeline.quiet
    )
    inputs = read.inputs
    base = ground(inputs)
    access = access_points(inputs.parcels, base.network, inputs.scenario.operation)
    lay = lays(inputs.parcels, access, inputs.scenario.supply_line)
    rises = parcel_rises(inputs, access)
    found = site_reach(base, pipeline.quiet)
    return base, incidents(base, found, access.points, lay.lay_ft, rises)


def straight_ft(base: Ground, one: Points, at: int, other: Points, to: int) -> float:
    """Return the road between two places on one segment; infinite on two."""
    if one.segment[at] != other.segment[to]:
        return np.inf
    feet = base.network.length_mi[one.segment[at]] * FT_PER_MI
    return float(abs(one.share[at] - other.share[to]) * feet)


def ends(base: Ground, points: Points, at: int) -> list[tuple[int, float]]:
    """Return the junctions at the ends of a place's segment, and the road to each."""
    network, segment = base.network, points.segment[at]
    feet = network.length_mi[segment] * FT_PER_MI
    share = points.share[at]
    return [
        (int(network.tail[segment]), share * feet),
        (int(network.head[segment]), (1 - share) * feet),
    ]


@pytest.mark.parametrize("reach_ft", [1000.0, 4000.0])
def test_every_line_that_networkx_finds_is_laid(tmp_path: Path, reach_ft: float) -> None:
    base, there = made(tmp_path, reach_ft)
    network, graph = base.network, nx.Graph()
    public = network.segments["public"].to_numpy(dtype=bool) & ~network.closed
    for row in np.flatnonzero(public):
        tail, head = int(network.tail[row]), int(network.head[row])
        feet = float(network.length_mi[row]) * FT_PER_MI
        if feet < graph.get_edge_data(tail, head, {"feet": np.inf})["feet"]:
            graph.add_edge(tail, head, feet=feet)
    suction = base.sites["needs_pumper"].to_numpy(dtype=bool)
    sites, expected = base.site_points, {}
    for site in np.flatnonzero(base.site_serves):
        from_end = {
            junction: nx.single_source_dijkstra_path_length(
                graph, junction, cutoff=reach_ft, weight="feet"
            )
            for junction, _ in ends(base, sites, site)
        }
        for parcel in np.flatnonzero(there.engines >= 1 + suction[site]):
            ways = [
                feet + from_end[junction].get(other, np.inf) + more
                for junction, feet in ends(base, sites, site)
                for other, more in ends(base, there.access, parcel)
            ]
            feet = min(*ways, straight_ft(base, sites, site, there.access, parcel))
            if feet <= reach_ft:
                expected[site, parcel] = feet
    laid = laid_lines(base, there)
    got = dict(zip(zip(laid.site, laid.parcel, strict=True), laid.road_ft, strict=True))
    assert len(expected) > reach_ft / 100
    assert got.keys() == expected.keys()
    for pair, feet in expected.items():
        assert got[pair] == pytest.approx(feet, rel=1e-9, abs=1e-6)
