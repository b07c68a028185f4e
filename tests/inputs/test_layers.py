"""Geometry from layers: coordinate systems, kinds, what lies wrong and what crosses itself."""

import re
from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
import shapely
from shapely import MultiPoint, MultiPolygon, Point, Polygon

from haulshed.errors import CrsError, TableError
from haulshed.inputs.district import District, read_district

Write = Callable[..., Path]

SQUARE = Polygon([(-100.03, 45.001), (-100.029, 45.001), (-100.029, 45.002), (-100.03, 45.002)])
BOW_TIE = Polygon([(-100.03, 45.001), (-100.029, 45.002), (-100.029, 45.001), (-100.03, 45.002)])


def layer(
    geometry: list[shapely.Geometry | None], crs: str | None = "EPSG:4326"
) -> gpd.GeoDataFrame:
    ids = [f"P-{at + 1}" for at in range(len(geometry))]
    return gpd.GeoDataFrame({"parcel_id": ids}, geometry=geometry, crs=crs)


def with_parcels(folder: Path, file: str, further: str = "") -> Path:
    toml = folder / "district.toml"
    old = 'file = "parcels.csv"'
    toml.write_text(toml.read_text().replace(old, f'file = "{file}"\n{further}'))
    return folder


def read(folder: Path) -> District:
    return read_district(folder, progress=lambda _step: None)


def said(folder: Path) -> list[str]:
    with pytest.raises(TableError) as caught:
        read(folder)
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize(
    "name", ["parcels.geojson", "parcels.gpkg", "parcels.fgb", "parcels.shp", "parcels.parquet"]
)
def test_every_format_gives_the_same_parcels(name: str, tiny_district: Write) -> None:
    folder = with_parcels(tiny_district(), name)
    areas = layer([SQUARE, shapely.transform(SQUARE, lambda xy: xy + 0.01)])
    areas["floor_area"] = [1200.5, np.nan]
    renamed = areas.rename(columns={"floor_area": "area_here"})
    write = renamed.to_parquet if name.endswith("parquet") else renamed.to_file
    write(folder / name)
    with_columns = (
        (folder / "district.toml")
        .read_text()
        .replace(
            f'file = "{name}"', f'file = "{name}"\ncolumns = {{ floor_area_ft2 = "area_here" }}'
        )
    )
    (folder / "district.toml").write_text(with_columns)
    # FlatGeobuf files are written in an order of their own.
    parcels = read(folder).inputs.parcels.sort_values("parcel_id")
    expected = areas.to_crs(parcels.crs).geometry.to_numpy()
    assert parcels["parcel_id"].tolist() == ["P-1", "P-2"]
    assert parcels["floor_area_ft2"].iloc[0] == 1200.5
    assert np.isnan(parcels["floor_area_ft2"].iloc[1])
    assert all(shapely.equals_exact(parcels.geometry.to_numpy(), expected, 1e-6, normalize=True))


@pytest.mark.parametrize("crs", ["EPSG:26914", "EPSG:3857", "EPSG:4269", "EPSG:2264"])
def test_a_layer_of_any_system_comes_to_lie_where_geopandas_puts_it(
    crs: str, tiny_district: Write
) -> None:
    folder = with_parcels(tiny_district(), "parcels.gpkg")
    layer([SQUARE]).to_crs(crs).to_file(folder / "parcels.gpkg")
    parcels = read(folder).inputs.parcels
    expected = layer([SQUARE]).to_crs(parcels.crs).geometry
    assert parcels.geometry.iloc[0].hausdorff_distance(expected.iloc[0]) < 0.01


def test_numbers_and_ids_of_a_layer_keep_every_digit(tiny_district: Write) -> None:
    folder = with_parcels(tiny_district(), "parcels.gpkg", 'columns = { parcel_id = "pin" }')
    areas = layer([SQUARE, Point(-100.03, 45.01)]).drop(columns="parcel_id")
    areas["pin"] = np.array([9_007_199_254_740_993, 7])
    areas["value"] = [0.1, 1e9]
    areas.to_file(folder / "parcels.gpkg")
    parcels = read(folder).inputs.parcels
    assert parcels["parcel_id"].tolist() == ["9007199254740993", "7"]
    assert parcels["value"].tolist() == [0.1, 1e9]


def test_a_layer_without_a_system_says_where_to_set_it(tiny_district: Write) -> None:
    folder = with_parcels(tiny_district(), "parcels.gpkg")
    with pytest.warns(UserWarning, match="'crs' was not provided"):
        layer([SQUARE], crs=None).to_file(folder / "parcels.gpkg")
    with pytest.raises(CrsError, match=r"parcels\.gpkg, \[parcels\].*Set it there: crs ="):
        read(folder)


def test_an_outline_without_a_system_names_its_own_key(tiny_district: Write) -> None:
    folder = tiny_district()
    toml = folder / "district.toml"
    toml.write_text(toml.read_text().replace('"Tiny"', '"Tiny"\nboundary = "outline.gpkg"'))
    with pytest.warns(UserWarning, match="'crs' was not provided"):
        layer([SQUARE], crs=None).to_file(folder / "outline.gpkg")
    with pytest.raises(CrsError, match=r'Set boundary_crs = "EPSG:…" in \[district\]'):
        read(folder)
    text = toml.read_text()
    key = 'boundary = "outline.gpkg"'
    toml.write_text(text.replace(key, f'{key}\nboundary_crs = "EPSG:4326"'))
    assert read(folder).inputs.boundary is not None


def test_a_system_set_in_the_settings_is_used(tiny_district: Write) -> None:
    folder = with_parcels(tiny_district(), "parcels.shp", 'crs = "EPSG:4326"')
    with pytest.warns(UserWarning, match="'crs' was not provided"):
        layer([SQUARE], crs=None).to_file(folder / "parcels.shp")
    assert len(read(folder).inputs.parcels) == 1


def test_an_unknown_system_is_a_fault(tiny_district: Write) -> None:
    folder = with_parcels(tiny_district(), "parcels.gpkg", 'crs = "EPSG:1"')
    layer([SQUARE]).to_file(folder / "parcels.gpkg")
    assert said(folder)[0].startswith(
        "district.toml: [parcels]: crs = EPSG:1 is no coordinate system that is known."
    )


def test_a_projected_layer_called_degrees_is_not_on_the_globe(tiny_district: Write) -> None:
    folder = with_parcels(tiny_district(), "parcels.geojson")
    feet = layer([SQUARE]).to_crs("EPSG:26914").set_crs("EPSG:4326", allow_override=True)
    feet.to_file(folder / "parcels.geojson")
    assert "is not on the globe" in said(folder)[0]


def test_swapped_coordinates_of_a_layer_look_swapped(tiny_district: Write) -> None:
    folder = with_parcels(tiny_district(), "parcels.geojson")
    layer([shapely.transform(SQUARE, lambda xy: xy[:, ::-1])]).to_file(folder / "parcels.geojson")
    assert said(folder)[0].startswith("parcels: P-1: geometry = ")
    assert "looks swapped" in said(folder)[0]


def test_one_corner_far_away_is_a_fault_of_its_parcel(tiny_district: Write) -> None:
    folder = with_parcels(tiny_district(), "parcels.geojson")
    stray = Polygon([(-100.03, 45.001), (-100.029, 45.001), (-99, 48)])
    layer([SQUARE, stray]).to_file(folder / "parcels.geojson")
    faults = said(folder)
    assert len(faults) == 1
    assert faults[0].startswith("parcels: P-2: geometry = 48, -99 lies 20")


def test_a_self_crossing_outline_names_the_point_and_is_not_mended(tiny_district: Write) -> None:
    folder = with_parcels(tiny_district(), "parcels.geojson")
    layer([SQUARE, BOW_TIE]).to_file(folder / "parcels.geojson")
    (fault,) = said(folder)
    assert fault.startswith(
        "parcels: P-2: geometry is no sound area: self-intersection at lat 45.0015"
    )
    assert "lon -100.0295" in fault
    assert "Mend the outline in a GIS" in fault


@pytest.mark.parametrize(
    ("geometry", "says"),
    [
        (None, "geometry is empty or cannot be read"),
        (Polygon(), "geometry is empty or cannot be read"),
        (shapely.LineString([(-100, 45), (-100, 45.1)]), "LineString must be a polygon or a point"),
        (MultiPoint([(-100, 45), (-100, 45.1)]), "MultiPoint must be a polygon or a point"),
    ],
)
def test_geometry_that_no_parcel_can_have(
    geometry: shapely.Geometry | None, says: str, tiny_district: Write
) -> None:
    folder = with_parcels(tiny_district(), "parcels.gpkg")
    layer([SQUARE, geometry]).to_file(folder / "parcels.gpkg")
    assert says in said(folder)[0]


def test_multipolygons_lone_multipoints_and_heights_are_taken(tiny_district: Write) -> None:
    folder = with_parcels(tiny_district(), "parcels.gpkg")
    far = shapely.transform(SQUARE, lambda xy: xy + 0.01)
    high = shapely.force_3d(SQUARE, 300.0)
    layer([MultiPolygon([SQUARE, far]), MultiPoint([(-100, 45)]), high]).to_file(
        folder / "parcels.gpkg"
    )
    parcels = read(folder).inputs.parcels
    assert parcels.geom_type.tolist() == ["MultiPolygon", "Point", "Polygon"]
    assert not parcels.has_z.any()


def test_a_fill_site_drawn_as_an_area_is_a_fault(tiny_district: Write) -> None:
    folder = tiny_district()
    sites = gpd.GeoDataFrame(
        {"site_id": ["D-1"], "kind": ["stream"], "flow_gpm": [500]}, geometry=[SQUARE], crs=4326
    )
    sites.to_file(folder / "sites.gpkg")
    toml = (folder / "district.toml").read_text().replace("fill_sites.csv", "sites.gpkg")
    (folder / "district.toml").write_text(toml)
    assert said(folder) == ["fill_sites: D-1: geometry = Polygon must be a point. Draw a point."]


def test_apparatus_may_stand_in_a_geopackage_without_geometry(tiny_district: Write) -> None:
    folder = tiny_district()
    frame = pd.read_csv(folder / "apparatus.csv")
    pyogrio.write_dataframe(frame, folder / "units.gpkg", layer="units")
    toml = (folder / "district.toml").read_text().replace("apparatus.csv", "units.gpkg")
    (folder / "district.toml").write_text(toml)
    by_layer = read(folder).inputs.apparatus
    (folder / "district.toml").write_text(toml.replace("units.gpkg", "apparatus.csv"))
    assert by_layer.equals(read(folder).inputs.apparatus)


def test_several_layers_need_a_name(tiny_district: Write) -> None:
    folder = with_parcels(tiny_district(), "all.gpkg")
    layer([SQUARE]).to_file(folder / "all.gpkg", layer="lots")
    layer([SQUARE, SQUARE]).to_file(folder / "all.gpkg", layer="old")
    cure = 'Name one in [parcels] of district.toml, layer = "…", of: lots, old.'
    assert said(folder) == [f"parcels: all.gpkg has 2 layers. {cure}"]
    assert "of: lots, old." in said(folder)[0]
    toml = folder / "district.toml"
    named = toml.read_text().replace('file = "all.gpkg"', 'file = "all.gpkg"\nlayer = "lots"')
    toml.write_text(named)
    assert len(read(folder).inputs.parcels) == 1
    toml.write_text(named.replace('"lots"', '"lot"'))
    assert said(folder)[0] == "parcels: all.gpkg has no layer 'lot'. It has: lots, old."


@pytest.mark.parametrize("content", [b"PK\x03\x04 a spreadsheet", b"<OGRVRTDataSource/>", b"\x00"])
@pytest.mark.parametrize("name", ["parcels.gpkg", "parcels.geojson", "parcels.fgb", "parcels.shp"])
def test_a_file_that_is_not_what_its_name_says(
    name: str, content: bytes, tiny_district: Write
) -> None:
    folder = with_parcels(tiny_district(), name)
    (folder / name).write_bytes(content)
    assert re.search("by its first bytes|is no GeoJSON|not UTF-8", said(folder)[0])


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("parcels.geojson", b'{"type": "FeatureCollection", "features": [{'),
        ("parcels.geojson", b"{}"),
        ("parcels.gpkg", b"SQLite format 3\x00" + b"\x00" * 500),
        ("parcels.fgb", b"fgb" + b"\xff" * 100),
        ("parcels.shp", b"\x00\x00\x27\x0a" + b"\xff" * 200),
    ],
)
def test_a_damaged_layer_file_is_said_to_be_unreadable(
    name: str, content: bytes, tiny_district: Write
) -> None:
    folder = with_parcels(tiny_district(), name)
    (folder / name).write_bytes(content)
    assert said(folder)[0].startswith("parcels: " + name)


def test_a_layer_without_features_is_a_fault(tiny_district: Write) -> None:
    folder = with_parcels(tiny_district(), "parcels.geojson")
    (folder / "parcels.geojson").write_text('{"type": "FeatureCollection", "features": []}')
    assert said(folder) == ["parcels: parcels.geojson has no rows. Write one row or more."]


def test_the_outline_of_several_areas_is_one_in_the_roads_system(tiny_district: Write) -> None:
    folder = tiny_district()
    toml = folder / "district.toml"
    toml.write_text(toml.read_text().replace('"Tiny"', '"Tiny"\nboundary = "outline.geojson"'))
    east = shapely.transform(SQUARE, lambda xy: xy + np.array([0.001, 0]))
    layer([SQUARE, east]).to_file(folder / "outline.geojson")
    district = read(folder)
    expected = gpd.GeoSeries([SQUARE.union(east)], crs=4326).to_crs(district.inputs.parcels.crs)
    assert district.inputs.boundary is not None
    assert district.inputs.boundary.symmetric_difference(expected.iloc[0]).area < 1
    assert "outline.geojson" in district.input_sha256
    layer([BOW_TIE]).to_file(folder / "outline.geojson")
    assert said(folder)[0].startswith("boundary: feature 1: geometry is no sound area")
    layer([Point(-100, 45)]).to_file(folder / "outline.geojson")
    assert said(folder)[0].startswith("boundary: feature 1: geometry = Point must be a polygon")


def test_the_outline_may_be_one_of_several_layers_and_in_a_system_that_is_named(
    tiny_district: Write,
) -> None:
    folder = tiny_district()
    toml = folder / "district.toml"
    plain = toml.read_text()
    outline = layer([SQUARE]).to_crs("EPSG:4457")
    outline.to_file(folder / "lines.gpkg", layer="district")
    outline.to_file(folder / "lines.gpkg", layer="county")
    toml.write_text(plain.replace('"Tiny"', '"Tiny"\nboundary = "lines.gpkg"'))
    (fault,) = said(folder)
    assert fault.startswith("boundary: lines.gpkg has 2 layers.")
    cure = 'Name one in [district] of district.toml, boundary_layer = "…", of: district, county.'
    assert fault.endswith(cure)
    named = plain.replace('"Tiny"', '"Tiny"\nboundary = "lines.gpkg"\nboundary_layer = "county"')
    toml.write_text(named)
    there = read(folder).inputs
    assert there.boundary is not None
    expected = outline.to_crs(there.parcels.crs).iloc[0].geometry
    assert there.boundary.symmetric_difference(expected).area < 1
    toml.write_text(named.replace('"county"', '"county"\nboundary_crs = "EPSG:1"'))
    assert said(folder)[0].startswith("district.toml: [district]: boundary_crs = EPSG:1 is no coor")


def test_an_outline_of_a_format_without_layers_names_its_own_key(tiny_district: Write) -> None:
    folder = tiny_district()
    toml = folder / "district.toml"
    layer([SQUARE]).to_file(folder / "outline.geojson")
    keys = '"Tiny"\nboundary = "outline.geojson"\nboundary_layer = "county"'
    toml.write_text(toml.read_text().replace('"Tiny"', keys))
    assert said(folder) == [
        (
            "boundary: outline.geojson is of a format without layers."
            " Take boundary_layer out of [district] of district.toml."
        )
    ]


def test_a_closed_area_has_no_key_for_its_layer(tiny_district: Write) -> None:
    folder = tiny_district()
    toml = folder / "district.toml"
    for name in ("flood", "snow"):
        layer([SQUARE]).to_file(folder / "closed.gpkg", layer=name)
    closed = 'file = "roads.osm"\nclosed_area = "closed.gpkg"'
    toml.write_text(toml.read_text().replace('file = "roads.osm"', closed))
    assert said(folder) == [
        (
            "closed_area: closed.gpkg has 2 layers."
            " Export the one that is meant to a file of its own. It has: flood, snow."
        )
    ]
