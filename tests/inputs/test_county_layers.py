"""Layers as counties have them: in survey feet, under names of their own, and never quite clean."""

from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import CRS, Transformer
from shapely import MultiPolygon, Point, Polygon, box

from haulshed.errors import TableError
from haulshed.inputs.placing import Ground
from haulshed.inputs.settings import TableKeys
from haulshed.inputs.table_file import TableRead, read_table
from haulshed.tables.parcels import PARCELS

#: Around Terre Haute: UTM 16 north, and Indiana West in survey feet and in metres.
GROUND = Ground(crs=CRS(32616), west_m=4.5e5, south_m=4.36e6, east_m=4.8e5, north_m=4.39e6)
FEET, METRES = "EPSG:2966", "EPSG:26974"
#: US survey feet in a metre, by definition (Mendenhall Order, 1893: 1200/3937 m to the foot).
FEET_PER_M = 3937 / 1200
COUNTY = {"parcel_id": "PIN_18", "floor_area_ft2": "BLDG_SQFT", "stories": "STORY_HT"}


def read(path: Path, **keys: object) -> TableRead:
    return read_table(path, PARCELS, TableKeys.model_validate({"file": path.name, **keys}), GROUND)


def square(east: float, north: float, size_m: float = 30.0) -> Polygon:
    """Return a square in the district's own coordinates."""
    return box(east, north, east + size_m, north + size_m)


def layer(*shapes: object) -> gpd.GeoDataFrame:
    ids = [f"P-{at}" for at in range(1, len(shapes) + 1)]
    return gpd.GeoDataFrame({"parcel_id": ids}, geometry=list(shapes), crs=32616)


def write(frame: gpd.GeoDataFrame, path: Path) -> Path:
    (frame.to_parquet if path.suffix == ".parquet" else frame.to_file)(path)
    return path


def test_a_shapefile_in_survey_feet_under_the_countys_names(tmp_path: Path) -> None:
    here = [square(465_000, 4_370_000), square(466_000, 4_371_000)]
    to_metres = Transformer.from_crs(32616, METRES, always_xy=True).transform
    in_feet = [
        shapely.transform(one, lambda xy: np.column_stack(to_metres(*xy.T)) * FEET_PER_M)
        for one in here
    ]
    county = gpd.GeoDataFrame(
        {
            "OBJECTID": [1, 2],
            "PIN_18": ["84-06-22-100-001", "84-06-22-100-002"],
            "BLDG_SQFT": [1450.0, np.nan],
            "STORY_HT": [1, 2],
            "GIS_ACRES": [0.22, 0.22],
        },
        geometry=in_feet,
        crs=FEET,
    )
    found = read(write(county, tmp_path / "Parcels_2026.shp"), columns=COUNTY)
    assert not found.found
    # An international foot instead of a survey foot would lie 2 m off here.
    assert shapely.hausdorff_distance(found.places["geometry"], here).max() < 0.001
    assert found.frame["parcel_id"].tolist() == county["PIN_18"].tolist()
    assert found.frame["floor_area_ft2"].iloc[0] == 1450
    assert np.isnan(found.frame["floor_area_ft2"].iloc[1])
    assert found.frame["stories"].tolist() == [1, 2]
    assert list(found.notes) == ["Parcels_2026.shp: not used: OBJECTID, GIS_ACRES"]


@pytest.mark.parametrize("ending", ["parquet", "gpkg", "fgb", "geojson"])
@pytest.mark.parametrize("crs", [FEET, "EPSG:4326", "EPSG:3857"])
def test_every_format_and_system_lies_where_pyproj_puts_it(
    ending: str, crs: str, tmp_path: Path
) -> None:
    holed = Polygon(
        square(465_000, 4_370_000).exterior, [square(465_010, 4_370_010, 5).exterior.coords]
    )
    areas = layer(MultiPolygon([holed, square(465_100, 4_370_000)]), Point(466_000, 4_371_000))
    found = read(write(areas.to_crs(crs), tmp_path / f"a.{ending}"))
    assert not found.found
    order = np.argsort(found.frame["parcel_id"])  # FlatGeobuf files have an order of their own
    assert shapely.hausdorff_distance(found.places["geometry"][order], areas.geometry).max() < 0.001
    assert shapely.get_num_interior_rings(found.places["geometry"][order][0].geoms[0]) == 1


def test_geoparquet_without_a_system_needs_one(tmp_path: Path) -> None:
    path = write(
        layer(square(465_000, 4_370_000)).set_crs(None, allow_override=True), tmp_path / "a.parquet"
    )
    with pytest.raises(ValueError, match="does not say the coordinate system of its geometry"):
        read(path)
    assert not read(path, crs="EPSG:32616").found


def test_odd_geometry_is_kept_counted_and_named(tmp_path: Path) -> None:
    lot = square(465_000, 4_370_000)
    turned = Polygon(list(lot.exterior.coords)[2:] + list(lot.exterior.coords)[1:3])
    gap = box(465_100, 4_370_000, 465_100.4, 4_370_300)
    areas = layer(
        lot,
        turned,
        square(465_200, 4_370_000, 2),
        gap,
        MultiPolygon([square(465_300, 4_370_000), square(465_400, 4_370_000)]),
        shapely.force_3d(square(465_500, 4_370_000), 180.0),
        Point(465_600, 4_370_000),
    )
    found = read(write(areas, tmp_path / "a.gpkg"))
    assert not found.found
    assert len(found.frame) == 7
    assert not shapely.has_z(found.places["geometry"]).any()
    assert [note for note in found.notes if "Multi" not in note] == [
        "a.gpkg: geometry with heights, which are not used: 1 of 7 rows (P-6)",
        "a.gpkg: the geometry of another row, each kept as a parcel: 2 of 7 rows (P-1, P-2)",
        "a.gpkg: several parts, kept as one parcel: 1 of 7 rows (P-5)",
        "a.gpkg: slivers, under 100 ft² or 3 ft wide: 2 of 7 rows (P-3, P-4)",
    ]


def test_what_cannot_be_a_parcel_is_named_row_by_row(tmp_path: Path) -> None:
    bow_tie = Polygon(
        [(465_000, 4_370_000), (465_030, 4_370_030), (465_030, 4_370_000), (465_000, 4_370_030)]
    )
    spike = Polygon([(465_000, 4_370_000), (465_030, 4_370_000), (465_060, 4_370_000)])
    areas = layer(square(465_000, 4_370_000), bow_tie, spike, None, Polygon())
    areas.loc[4, "parcel_id"] = "P-1"
    said = [str(one.fault) for one in read(write(areas, tmp_path / "a.gpkg")).found]
    assert [one.split(" ")[1] for one in said] == ["P-1", "P-2:", "P-3:", "P-4:", "P-1", "P-1"]
    assert "stands in more than one row" in said[0]
    assert "is no sound area: self-intersection at lat 39.4" in said[1]
    assert "is no sound area" in said[2]
    assert "is empty or cannot be read" in said[3]


@pytest.mark.parametrize("ending", ["geojson", "parquet"])
def test_a_format_without_layers_says_so(ending: str, tmp_path: Path) -> None:
    path = write(layer(square(465_000, 4_370_000)), tmp_path / f"a.{ending}")
    with pytest.raises(TableError, match=r"is of a format without layers\. Take layer out of"):
        read(path, layer="lots")


def test_a_layer_in_the_wrong_place_is_one_fault(tmp_path: Path) -> None:
    areas = layer(*(square(465_000 + 40 * at, 4_370_000) for at in range(20)))
    path = write(areas.set_crs(32617, allow_override=True), tmp_path / "a.gpkg")
    (found,) = read(path).found
    assert found.position is None
    assert "geometry of 20 of 20 rows lies elsewhere: P-1, at 39.4" in str(found.fault)
    assert "or is a layer's crs wrong?" in str(found.fault)
