"""
Our ways and their length against pyrosm, which has its own PBF decoder and its own driving filter.

Two rules differ on purpose, and the tests hold them to be the only differences: a public road that
is mapped private stays a road for a tanker, and private service roads and car-park lanes are kept
(as public or as lay only), where pyrosm leaves them out.
"""

from pathlib import Path

import geopandas as gpd
import pyrosm
import pytest

from haulshed.inputs.roads import read_roads
from haulshed.scenario import RoadRules
from haulshed.tables.segments import Segments

SHIPPED = ("test_pbf", "helsinki_pbf")
REAL = Path(__file__).parents[3] / "shared" / "osm"
FILES = [
    *(pytest.param(Path(pyrosm.get_data(name)), id=name) for name in SHIPPED),
    *(
        pytest.param(
            REAL / f"{name}.osm.pbf",
            id=name,
            marks=pytest.mark.skipif(not REAL.is_dir(), reason="extracts not beside the repo"),
        )
        for name in ("terre_haute_in", "north_bayreuth_de", "hudson_nh")
    ),
]


def ours(path: Path) -> Segments:
    return read_roads(path, RoadRules(), cache_dir=None, progress=lambda _: None)[0]


def theirs(path: Path, network: str) -> gpd.GeoDataFrame:
    roads = pyrosm.OSM(str(path)).get_network(network)
    # One extract holds a way twice; pyrosm gives it twice.
    return roads.drop_duplicates("id").set_index("id")


def mapped_private(path: Path, ways: set[int]) -> set[int]:
    """Return which of `ways` have an access tag of private, read by pyrosm without its filter."""
    found = pyrosm.OSM(str(path)).get_data_by_custom_criteria(
        custom_filter={"highway": True}, osm_keys_to_keep=["highway"], extra_attributes=["access"]
    )
    return set(found.loc[found["id"].isin(ways) & (found["access"] == "private"), "id"])


@pytest.mark.parametrize("path", FILES)
def test_same_ways_but_for_service_roads(path: Path) -> None:
    mine = ours(path)
    found = set(mine.loc[mine["road_class"] != "service", "way_id"])
    wanted = set(theirs(path, "driving").index)
    assert wanted <= found
    assert mapped_private(path, found - wanted) == found - wanted


@pytest.mark.parametrize("path", FILES)
def test_service_roads_that_pyrosm_has_are_ours_too(path: Path) -> None:
    mine = ours(path)
    assert set(theirs(path, "driving+service").index) <= set(mine["way_id"])


@pytest.mark.parametrize("path", FILES)
def test_same_length_way_by_way(path: Path) -> None:
    mine = ours(path)
    roads = theirs(path, "driving+service").to_crs(mine.crs)
    length_m = mine.length.groupby(mine["way_id"]).sum()
    wanted_m = roads.length
    both = length_m.index.intersection(wanted_m.index)
    assert len(both) == len(wanted_m)
    assert length_m[both].to_numpy() == pytest.approx(wanted_m[both].to_numpy(), rel=1e-9)
