"""Candidates on a road of which every distance can be worked out on paper."""

from collections.abc import Callable
from pathlib import Path

import pytest
from pyproj import Transformer
from shapely import LineString, box

from by_hand import (
    NORTH_M,
    WEST_M,
    engine,
    hydrant,
    inputs,
    parcel,
    road,
    road_point,
    station,
    tanker,
)
from haulshed.case import Inputs
from haulshed.errors import CrsError, TableError
from haulshed.inputs.candidates_file import read_candidates
from haulshed.inputs.district import read_district
from haulshed.inputs.waters import read_waters
from haulshed.options.candidate_keys import CandidateKeys
from haulshed.options.candidates import as_options, find_candidates
from haulshed.options.waters import Water
from haulshed.units import M_PER_FT

M_PER_MI = 1609.344


def quiet(step: str, done: int = 0, of: int = 0) -> None: ...


@pytest.fixture
def district() -> Inputs:
    return inputs(
        sites=[hydrant("H1", 4.0), hydrant("H2", 4.2), hydrant("H3", 4.6, flow_gpm=800.0)],
        stations=[station()],
        apparatus=[tanker(1), engine(1)],
        parcels=[parcel(), parcel(parcel_id="P2", geometry=road_point(1.0))],
        segments=road(-5.0, 0.0, 5.0),
    )


def pond(name: str, mile: float, off_ft: float, side_ft: float = 200.0) -> Water:
    """Return a square pond north of the road, its near edge `off_ft` from it."""
    west, south = WEST_M + mile * M_PER_MI, NORTH_M + off_ft * M_PER_FT
    side_m = side_ft * M_PER_FT
    shape = box(west, south, west + side_m, south + side_m)
    return Water(osm_id=name, name="", shape=shape, running=False, seasonal=False)


def brook(name: str, mile: float) -> Water:
    x = WEST_M + mile * M_PER_MI
    line = LineString([(x, NORTH_M + 10), (x, NORTH_M + 900)])
    return Water(osm_id=name, name="Marl Brook", shape=line, running=True, seasonal=True)


def keys(*sources: str, **more: object) -> CandidateKeys:
    return CandidateKeys.model_validate({"sources": sources, **more})


def test_ponds_near_the_road_with_water_enough(district: Inputs) -> None:
    waters = [
        pond("w1", 0.0, 100.0),
        pond("w2", 2.0, 250.0),  # too far
        pond("w3", -3.0, 50.0, side_ft=30.0),  # too little
        pond("w4", -2.0, 150.0, side_ft=100.0),
    ]
    found = find_candidates(district, waters, keys("ponds", within_ft=200))
    assert found["site_id"].tolist() == ["w1", "w4"]
    # 200 ft × 200 ft × 2 ft × 7.48052 gal/ft³ (12³/231) = 598,442 gal, rounded down
    assert found["usable_gal"].tolist() == [598_000, 149_000]
    assert found["road_ft"].tolist() == pytest.approx([100, 150])
    assert found["area_ft2"].tolist() == pytest.approx([40_000, 10_000])
    assert found.geometry.y.tolist() == pytest.approx([NORTH_M, NORTH_M])
    assert all("Depth" in verify for verify in found["verify"])


def test_a_pond_with_a_fill_site_is_no_candidate(district: Inputs) -> None:
    found = find_candidates(district, [pond("w1", 4.0, 60.0)], keys("ponds", within_ft=200))
    assert found.empty
    assert as_options(found) == ()


def test_streams_beside_the_road_and_apart(district: Inputs) -> None:
    waters = [brook("w7", 1.0), brook("w8", 1.2), brook("w9", -4.0)]
    found = find_candidates(district, waters, keys("streams", apart_ft=2640))
    assert sorted(site.split("-")[0] for site in found["site_id"]) == ["w7", "w9"]
    assert set(found["source_id"]) == {"Marl Brook"}
    assert all("seasonal" in verify for verify in found["verify"])


def test_those_with_most_parcels_near_come_first(district: Inputs) -> None:
    waters = [pond("w1", 0.2, 50.0), pond("w4", -4.5, 50.0)]
    found = find_candidates(district, waters, keys("ponds", at_most=1))
    assert found["site_id"].tolist() == ["w1"]


def test_a_main_s_end_is_carried_on_outward() -> None:
    made = inputs(
        sites=[hydrant("H1", 4.0, source_id="M"), hydrant("H2", 4.3, source_id="M")],
        stations=[station()],
        apparatus=[tanker(1), engine(1)],
        parcels=[parcel()],
        segments=road(-5.0, 0.0, 4.6, 5.0),
    )
    none = find_candidates(made, (), keys("main ends"))
    assert none.empty  # where two pieces of one road meet there is no crossroads


def test_candidates_become_options_that_add_them(district: Inputs) -> None:
    found = find_candidates(
        district, [pond("w1", 0.0, 100.0)], keys("ponds", pond={"capital": 7_000})
    )
    (option,) = as_options(found)
    after = option.applied(district).fill_sites.set_index("site_id")
    assert after.loc["w1", "usable_gal"] == 598_000
    assert after.loc["w1"].geometry.distance(found.geometry.iloc[0]) < 0.01
    assert option.capital == 7_000
    assert option.title == "Pond, 0.9 acres"


WATERS = """\
  <node id="21" lat="45.0005" lon="-100.03"/>
  <node id="22" lat="45.0005" lon="-100.028"/>
  <node id="23" lat="45.002" lon="-100.028"/>
  <node id="24" lat="45.002" lon="-100.03"/>
  <node id="25" lat="45.0003" lon="-99.98"/>
  <node id="26" lat="45.02" lon="-99.98"/>
  <way id="31">
    <nd ref="21"/><nd ref="22"/><nd ref="23"/><nd ref="24"/><nd ref="21"/>
    <tag k="natural" v="water"/><tag k="name" v="Mill Pond"/>
  </way>
  <way id="32"><nd ref="25"/><nd ref="26"/><tag k="waterway" v="stream"/></way>
  <way id="33"><nd ref="25"/><nd ref="26"/>
    <tag k="waterway" v="stream"/><tag k="tunnel" v="culvert"/></way>
"""


def with_waters(roads: str) -> str:
    nodes, ways = WATERS.split("  <way", 1)
    roads = roads.replace('  <way id="10">', nodes + '  <way id="10">')
    return roads.replace("</osm>", "  <way" + ways + "</osm>")


def test_waters_of_a_map_file(tiny_district: Callable[..., Path]) -> None:
    from_conftest = tiny_district()
    roads = (from_conftest / "roads.osm").read_text(encoding="utf-8")
    (from_conftest / "roads.osm").write_text(with_waters(roads), encoding="utf-8")
    read = read_district(from_conftest, progress=quiet)
    crs = read.inputs.segments.crs
    waters = read_waters(from_conftest / "roads.osm", crs)
    assert [(water.osm_id, water.running) for water in waters] == [("w31", False), ("w32", True)]
    asked = keys("ponds", "streams", "crossroads", within_ft=300)
    options = read_candidates(asked, read.inputs, from_conftest, from_conftest / "roads.osm", quiet)
    assert {option.title for option in options} == {
        "Mill Pond",
        "Stream",
        "Cistern at Mill Road & Ridge Road",
    }


def test_a_list_without_a_system_says_what_helps(tiny_district: Callable[..., Path]) -> None:
    folder = tiny_district()
    (folder / "ponds.csv").write_text("site_id,kind,x,y\nK-1,pond,1,2\n", encoding="utf-8")
    inputs = read_district(folder, progress=quiet).inputs
    listed = keys(file="ponds.csv")
    with pytest.raises(CrsError) as caught:
        read_candidates(listed, inputs, folder, folder / "roads.osm", quiet)
    assert str(caught.value) == (
        "ponds.csv, [candidates] of the options file, does not say the coordinate system of x and"
        ' y. Set it there: crs = "EPSG:…".'
    )


def test_a_list_in_a_system_that_the_options_file_names(
    tiny_district: Callable[..., Path],
) -> None:
    folder = tiny_district()
    east, north = Transformer.from_crs(4326, 32614, always_xy=True).transform(-100.0, 45.001)
    ponds = f"site_id,kind,x,y,usable_gal,flow_gpm\nK-1,pond,{east},{north},90000,500\n"
    (folder / "ponds.csv").write_text(ponds, encoding="utf-8")
    inputs = read_district(folder, progress=quiet).inputs
    listed = keys(file="ponds.csv", crs="EPSG:32614")
    (option,) = read_candidates(listed, inputs, folder, folder / "roads.osm", quiet)
    assert option.new_site is not None
    place = option.new_site.row["lon"], option.new_site.row["lat"]
    assert place == pytest.approx((-100.0, 45.001), abs=1e-9)


def test_a_system_that_nobody_knows_is_named_in_the_options_file(
    tiny_district: Callable[..., Path],
) -> None:
    folder = tiny_district()
    (folder / "ponds.csv").write_text("site_id,kind,x,y\nK-1,pond,1,2\n", encoding="utf-8")
    inputs = read_district(folder, progress=quiet).inputs
    listed = keys(file="ponds.csv", crs="EPSG:0")
    with pytest.raises(TableError, match=r"^the options file: \[candidates\]: crs = EPSG:0 is no"):
        read_candidates(listed, inputs, folder, folder / "roads.osm", quiet)
