"""Files of footprints, read with a district: what is used, mended, counted and refused."""

from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import pytest
from shapely import LineString, Point, Polygon, box

from haulshed import pipeline
from haulshed.case import Inputs
from haulshed.errors import InputError, TableError
from haulshed.inputs.district import read_district

Write = Callable[..., Path]

#: The polygons of two parcels by the road, degrees; some 260 by 360 ft at this latitude.
WEST, EAST = box(-100.031, 45.0005, -100.030, 45.0015), box(-100.030, 45.0005, -100.029, 45.0015)
HOUSE = box(-100.0306, 45.0009, -100.0304, 45.0010)
M_PER_FT = 0.3048


def parcels_file(folder: Path) -> None:
    frame = gpd.GeoDataFrame({"parcel_id": ["W", "E"]}, geometry=[WEST, EAST], crs=4326)
    frame.to_file(folder / "parcels.geojson")
    toml = folder / "district.toml"
    text = toml.read_text()
    toml.write_text(text.replace('file = "parcels.csv"', 'file = "parcels.geojson"'))


def with_file(folder: Path, name: str, *keys: str) -> None:
    toml = folder / "district.toml"
    named = f'"parcels.geojson"\nbuildings = "{name}"\n'
    section = "\n".join(("[buildings]", *keys, "")) if keys else ""
    toml.write_text(toml.read_text().replace('"parcels.geojson"\n', named) + section)


def district(write: Write, buildings: gpd.GeoDataFrame, *keys: str, name: str = "b.gpkg") -> Path:
    folder = write()
    parcels_file(folder)
    buildings.to_file(folder / name)
    with_file(folder, name, *keys)
    return folder


def read(folder: Path) -> Inputs:
    return read_district(folder, progress=lambda _step: None).inputs


def layer(*shapes: object, **columns: list[object]) -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(columns, geometry=list(shapes), crs=4326)


def test_a_layer_fills_the_parcels(tiny_district: Write) -> None:
    inputs = read(district(tiny_district, layer(HOUSE, height_m=[6.0], stories=[2])))
    west, east = inputs.parcels.iloc[0], inputs.parcels.iloc[1]
    # 0.0002° of longitude at 45° north are 15.77 m, 0.0001° of latitude 11.11 m (WGS 84).
    assert west["floor_area_ft2"] == pytest.approx(15.77 * 11.11 / M_PER_FT**2, rel=2e-3)
    assert west["height_ft"] == pytest.approx(6 / M_PER_FT)
    assert (west["stories"], west["structures"], east["structures"]) == (2, 1, 0)
    assert inputs.building_columns["W"] == (
        *("structure", "structures", "floor_area_ft2", "stories", "height_ft"),
    )
    assert inputs.building_columns["E"] == ("structures",)
    assert "b.gpkg: 1 buildings" in inputs.reading_notes
    assert "1 parcels without a building are taken to have no structure" in inputs.reading_notes


def test_any_system_of_coordinates_will_do(tiny_district: Write) -> None:
    # State plane in US survey feet, North Dakota South, where the tiny district is.
    buildings = layer(HOUSE).to_crs(2266)
    inputs = read(district(tiny_district, buildings, name="b.shp"))
    area_ft2 = inputs.parcels.iloc[0]["floor_area_ft2"]
    assert area_ft2 == pytest.approx(15.77 * 11.11 / M_PER_FT**2, rel=2e-3)


def test_everything_that_is_met_is_counted(tiny_district: Write) -> None:
    bow = Polygon(
        [(-100.0296, 45.0009), (-100.0294, 45.0010), (-100.0294, 45.0009), (-100.0296, 45.0010)]
    )
    backwards = Polygon(list(HOUSE.exterior.coords)[::-1])
    shapes = (
        *(HOUSE, backwards, bow, Point(-100.03, 45.001)),
        *(LineString([(-100.03, 45.001), (-100.03, 45.002)]), None, box(7.0, 45.0, 7.001, 45.001)),
        box(-100.0305, 45.0006, -100.03049, 45.00061),
    )
    heights = [-1, 7, 0, 5, 5, 5, 5, 40_000]
    inputs = read(district(tiny_district, layer(*shapes, height_m=heights)))
    said = " ".join(inputs.reading_notes)
    for words in (
        "b.gpkg: 8 buildings",
        "1 far from the roads; not used",
        "3 that are no area; not used",
        "1 whose outline crosses itself; mended",
        "1 drawn a second time; used once",
        "3 whose height cannot be; not known",
        "Buildings: 1 under 100 ft²",
    ):
        assert words in said
    west, east = inputs.parcels.iloc[0], inputs.parcels.iloc[1]
    assert west["height_ft"] != west["height_ft"]  # NaN: the first of the two equal ones says -1
    assert (west["structures"], east["structures"]) == (1, 1)
    # Half of the box around the bow is within it.
    assert east["floor_area_ft2"] == pytest.approx(west["floor_area_ft2"] / 2, rel=1e-3)


def test_gaps_can_be_said(tiny_district: Write) -> None:
    inputs = read(district(tiny_district, layer(HOUSE), "complete = false"))
    assert inputs.parcels["structures"].isna().tolist() == [False, True]


def test_a_height_without_a_unit_is_refused_until_it_is_named(tiny_district: Write) -> None:
    folder = district(tiny_district, layer(HOUSE, HEIGHT=[6.0]))
    with pytest.raises(TableError) as caught:
        read(folder)
    said = str(caught.value)
    assert said.startswith(
        "buildings: column 'HEIGHT' names no unit that is read here. Use: height_ft"
    )
    toml = folder / "district.toml"
    toml.write_text(toml.read_text() + '[buildings]\ncolumns = { height_m = "HEIGHT" }\n')
    assert read(folder).parcels.iloc[0]["height_ft"] == pytest.approx(6 / M_PER_FT)


def test_a_layer_without_a_coordinate_system_is_refused(tiny_district: Write) -> None:
    folder = district(tiny_district, layer(HOUSE), name="b.shp")
    (folder / "b.prj").unlink()
    with pytest.raises(InputError, match=r'b\.shp does not say its coordinate system.*crs = "EPSG'):
        read(folder)
    toml = folder / "district.toml"
    toml.write_text(toml.read_text() + '[buildings]\ncrs = "EPSG:4326"\n')
    assert read(folder).parcels["structures"].tolist() == [1, 0]


def test_a_file_that_is_not_there_or_of_no_kind_that_is_read(tiny_district: Write) -> None:
    folder = tiny_district()
    parcels_file(folder)
    with_file(folder, "nowhere.gpkg")
    with pytest.raises(TableError, match=r"\[parcels\]: buildings = nowhere\.gpkg does not exist"):
        read(folder)
    (folder / "nowhere.dwg").write_text("x")
    toml = folder / "district.toml"
    toml.write_text(toml.read_text().replace("nowhere.gpkg", "nowhere.dwg"))
    with pytest.raises(TableError, match=r"buildings = nowhere\.dwg is of a kind that is not read"):
        read(folder)


def test_how_to_read_a_file_that_is_not_named(tiny_district: Write) -> None:
    folder = tiny_district()
    toml = folder / "district.toml"
    toml.write_text(toml.read_text() + '[buildings]\nlayer = "b"\n')
    with pytest.raises(
        TableError, match="says how a file is read that \\[parcels\\] does not name"
    ):
        read(folder)


OSM = """\
<osm version="0.6">
  <node id="1" lat="45.0009" lon="-100.0306"/>
  <node id="2" lat="45.0009" lon="-100.0304"/>
  <node id="3" lat="45.0010" lon="-100.0304"/>
  <node id="4" lat="45.0010" lon="-100.0306"/>
  <node id="5" lat="45.0010" lon="-100.0295"><tag k="building" v="yes"/></node>
  <way id="1"><nd ref="1"/><nd ref="2"/><nd ref="3"/><nd ref="4"/><nd ref="1"/>
    <tag k="building" v="house"/><tag k="height" v="20 ft"/><tag k="building:levels" v="2"/></way>
  <way id="2"><nd ref="1"/><nd ref="2"/><nd ref="3"/>
    <tag k="building" v="yes"/></way>
  <way id="3"><nd ref="2"/><nd ref="3"/><nd ref="4"/><nd ref="2"/>
    <tag k="building" v="no"/></way>
</osm>
"""


def test_buildings_of_openstreetmap(tiny_district: Write) -> None:
    folder = tiny_district()
    parcels_file(folder)
    (folder / "map.osm").write_text(OSM)
    with_file(folder, "map.osm")
    inputs = read(folder)
    west = inputs.parcels.iloc[0]
    assert (west["height_ft"], west["stories"], west["structures"]) == (20, 2, 1)
    said = " ".join(inputs.reading_notes)
    assert "map.osm: 1 buildings whose outline does not close or is cut off; not used" in said
    assert "map.osm: 1 buildings that are a point without an outline; not used" in said


@pytest.mark.parametrize(
    ("keys", "east_has"),
    [((), []), (("complete = false",), []), (("complete = true",), [0])],
)
def test_openstreetmap_has_gaps_unless_the_user_says_that_it_is_complete(
    tiny_district: Write, keys: tuple[str, ...], east_has: list[float]
) -> None:
    folder = tiny_district()
    parcels_file(folder)
    (folder / "map.osm").write_text(OSM)
    with_file(folder, "map.osm", *keys)
    known = read(folder).parcels["structures"].dropna().tolist()
    assert known == [1, *east_has]


def test_a_damaged_openstreetmap_file_is_refused(tiny_district: Write) -> None:
    folder = tiny_district()
    parcels_file(folder)
    (folder / "map.osm").write_text(OSM[:300])
    with_file(folder, "map.osm")
    with pytest.raises(InputError, match=r"map\.osm: cannot be read as OpenStreetMap data"):
        read(folder)


def run(folder: Path, tmp_path: Path) -> tuple[pipeline.Run, pipeline.Check]:
    done = pipeline.run(folder, cache=tmp_path / "cache", out=tmp_path / "out")
    return done, pipeline.check(folder, cache=tmp_path / "cache")


def test_the_answers_say_what_came_from_where(tiny_district: Write, tmp_path: Path) -> None:
    folder = district(tiny_district, layer(HOUSE, height_m=[6.0]))
    done, check = run(folder, tmp_path)
    west, east = done.result.parcels.iloc[0], done.result.parcels.iloc[1]
    assert (west["structure_source"], east["structure_source"]) == ("building", "within")
    assert west["building_columns"] == "structure; structures; floor_area_ft2; height_ft"
    assert (east["building_columns"], east["verdict"]) == ("structures", "no demand")
    assert Point(west["lon"], west["lat"]).within(HOUSE)
    # By hand: floor area times 6 m, a seventh of it.
    volume_ft3 = 15.77 * 11.11 * 6.0 / M_PER_FT**3
    assert west["needed_gal"] == pytest.approx(volume_ft3 / 7, rel=2e-3)
    assert done.result.summary["assumed"]["structure_source"] == {"building": 1, "within": 1}
    said = {one.what: one.rows for one in check.findings.findings}
    bare = "parcels on which the footprints show no building: nothing is said to be needed there"
    assert said[bare] == ("E",)
    assert not any("at a point within the polygon" in what for what in said)
    assert "by the footprints of buildings" in pipeline.explain(folder, "W").as_text()


def test_places_that_are_given_or_the_parcels_own(tiny_district: Write, tmp_path: Path) -> None:
    parcels = "parcel_id,lat,lon,structure_lat,structure_lon\n"
    folder = tiny_district(
        parcels_csv=f"{parcels}P-1,45.001,-100.03,,\nP-2,45.02,-99.999,45.0201,-99.999\n"
    )
    done, _ = run(folder, tmp_path)
    assert done.result.parcels["structure_source"].tolist() == ["point", "given"]
    assert done.result.parcels["building_columns"].isna().all()


def test_polygons_without_a_structure_point_are_an_assumption(
    tiny_district: Write, tmp_path: Path
) -> None:
    folder = tiny_district()
    parcels_file(folder)
    _, check = run(folder, tmp_path)
    said = {one.what: one.rows for one in check.findings.findings}
    what = "parcels whose structure is taken at a point within the polygon"
    assert said[what] == ("W", "E")
