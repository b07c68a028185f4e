"""
Points of every kind put on a real extract's roads, against the search tree of GEOS (shapely).

Data: OpenStreetMap (© OpenStreetMap contributors, ODbL).
"""

from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import shapely

from haulshed.inputs.roads import read_roads
from haulshed.roads.network import build_network
from haulshed.roads.snap import snap
from haulshed.scenario import RoadRules
from haulshed.units import M_PER_FT

OSM = Path(__file__).parents[3] / "shared" / "osm"
SAME_M = 1e-6
LIMIT_FT = 2640.0
COUNT = 4000

pytestmark = pytest.mark.skipif(
    not OSM.is_dir(), reason="real extracts (../shared/osm) are not part of the project"
)


@pytest.mark.parametrize("name", ["hudson_nh.osm.pbf", "fiji_antimeridian.osm.pbf"])
def test_a_real_extract(name: str) -> None:
    segments, _ = read_roads(OSM / name, RoadRules(), cache_dir=None, progress=lambda *_step: None)
    network = build_network(segments, RoadRules())
    rng = np.random.default_rng(11)
    corners = shapely.get_coordinates(network.lines)
    near = corners[rng.integers(len(corners), size=COUNT)]
    away_m = rng.choice([0.0, 1.0, 60.0, 2000.0], (COUNT, 1))  # on junctions, beside, in the woods
    points = shapely.points(near + away_m * rng.normal(size=(COUNT, 2)))
    found = snap(gpd.GeoSeries(points, crs=segments.crs), network, limit_ft=LIMIT_FT)

    drivable = np.flatnonzero(network.drivable)
    tree = shapely.STRtree(network.lines[drivable])
    (_, _), least_m = tree.query_nearest(points, all_matches=False, return_distance=True)
    row, at = tree.query(points, predicate="dwithin", distance=least_m + SAME_M)
    lowest = np.full(COUNT, len(network.lines))
    np.minimum.at(lowest, row, drivable[at])
    wanted = np.where(least_m <= LIMIT_FT * M_PER_FT, lowest, -1)
    assert np.array_equal(found.segment, wanted)
    assert np.array_equal(found.off_road_m, least_m)
    assert (found.segment < 0).any()
    on = found.on_road
    lines = network.lines[found.segment[on]]
    share = shapely.line_locate_point(lines, points[on], normalized=True)
    assert found.share[on] == pytest.approx(share, abs=1e-7)
    assert shapely.distance(shapely.points(found.xy[on]), points[on]) == pytest.approx(least_m[on])
