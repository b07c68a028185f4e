import json
import sqlite3
import subprocess
from contextlib import closing
from functools import partial
from pathlib import Path
from xml.etree import ElementTree as ET

import geopandas as gpd
import numpy as np
import pyogrio
import pytest

from haulshed.case import Result
from haulshed.outputs.geopackage import write_geopackage
from haulshed.outputs.palette import VERDICT_FILLS
from haulshed.tables.answers import Verdict
from haulshed.units import System

LAYERS = ("parcels", "roads", "fill_sites", "stations")
#: What QGIS looks for (QGIS, provider `ogr`, table layer_styles; from memory).
STYLE_COLUMNS = [
    "id",
    "f_table_catalog",
    "f_table_schema",
    "f_table_name",
    "f_geometry_column",
    "styleName",
    "styleQML",
    "styleSLD",
    "useAsDefault",
    "description",
    "owner",
    "ui",
    "update_time",
]


@pytest.fixture(scope="session")
def file(result: Result, tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("gpkg") / "district.gpkg"
    write_geopackage(result, file, units=System.US)
    return file


def styles(file: Path) -> dict[str, ET.Element]:
    with closing(sqlite3.connect(file)) as store:
        rows = store.execute("SELECT f_table_name, styleQML FROM layer_styles").fetchall()
    return {name: ET.fromstring(text) for name, text in rows}  # noqa: S314 — written a line above


def test_the_layers_come_back_as_they_were(result: Result, file: Path) -> None:
    for name in LAYERS:
        layer, back = getattr(result, name), gpd.read_file(file, layer=name)
        assert back.crs == layer.crs
        assert list(back.columns.drop("geometry")) == list(layer.columns.drop("geometry"))
        assert back.geometry.geom_equals_exact(layer.geometry, 1e-6).all()
    back = gpd.read_file(file, layer="parcels")
    np.testing.assert_allclose(back["sustained_gpm"], result.parcels["sustained_gpm"])
    assert back["best_site_id"].isna().sum() == result.parcels["best_site_id"].isna().sum()


def test_polygons_alone_make_a_polygon_layer(polygons: Result, tmp_path: Path) -> None:
    write_geopackage(polygons, tmp_path / "d.gpkg", units=System.US)
    kinds = dict(pyogrio.list_layers(tmp_path / "d.gpkg"))
    assert [kinds[name] for name in LAYERS] == ["Polygon", "LineString", "Point", "Point"]


def test_layers_may_be_empty(bare: Result, tmp_path: Path) -> None:
    write_geopackage(bare, tmp_path / "d.gpkg", units=System.US)
    assert [len(gpd.read_file(tmp_path / "d.gpkg", layer=name)) for name in LAYERS] == [0, 6, 0, 0]


def test_the_package_is_sound(file: Path) -> None:
    with closing(sqlite3.connect(file)) as store:
        assert store.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert store.execute("PRAGMA foreign_key_check").fetchall() == []
        dates = store.execute("SELECT DISTINCT last_change FROM gpkg_contents").fetchall()
        columns = [row[1] for row in store.execute("PRAGMA table_info(layer_styles)")]
    assert dates == [("2000-01-01T00:00:00.000Z",)]
    assert columns == STYLE_COLUMNS


def test_each_style_names_a_column_of_its_layer_and_draws_every_value(file: Path) -> None:
    found = styles(file)
    assert set(found) == set(LAYERS)
    for name, style in found.items():
        renderer = style.find("renderer-v2")
        assert renderer is not None
        columns = gpd.read_file(file, layer=name).columns
        attribute = renderer.get("attr", "")
        assert attribute in columns or attribute.split('"')[1] in columns
        used = {entry.get("symbol") for entry in renderer.iter() if entry.get("symbol")}
        assert used == {symbol.get("name") for symbol in renderer.iter("symbol")}
        assert style.find("labeling") is not None


def test_the_parcels_style_has_the_map_s_colours(file: Path) -> None:
    renderer = styles(file)["parcels"].find("renderer-v2")
    assert renderer is not None
    symbols = {symbol.get("name"): symbol for symbol in renderer.iter("symbol")}
    for category in renderer.iter("category"):
        colour = symbols[category.get("symbol")].find(".//Option[@name='color']")
        assert colour is not None
        rgb = [int(part) for part in str(colour.get("value")).split(",")[:3]]
        assert "#" + bytes(rgb).hex() == VERDICT_FILLS[Verdict(category.get("value"))].colour


def test_si_styles_fit_si_columns(result: Result, tmp_path: Path) -> None:
    write_geopackage(result, tmp_path / "d.gpkg", units=System.SI)
    renderer = styles(tmp_path / "d.gpkg")["roads"].find("renderer-v2")
    assert renderer is not None
    assert renderer.get("attr") == "sustained_lpm"
    lowers = [float(entry.get("lower", "nan")) for entry in renderer.iter("range")]
    np.testing.assert_allclose(lowers[-1], 1000 * 3.785411784)
    assert "sustained_lpm" in gpd.read_file(tmp_path / "d.gpkg", layer="roads").columns


def test_the_user_s_gdal_settings_are_put_back(result: Result, tmp_path: Path) -> None:
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": "1999-01-01T00:00:00.000Z"})
    try:
        write_geopackage(result, tmp_path / "d.gpkg", units=System.US)
        assert pyogrio.get_gdal_config_option("OGR_CURRENT_DATE") == "1999-01-01T00:00:00.000Z"
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


def test_every_answer_has_its_class(file: Path) -> None:
    categories = styles(file)["parcels"].iter("category")
    assert [category.get("value") for category in categories] == list(Verdict)


def test_the_contents_list_each_layer_with_its_system_and_extent(
    result: Result, file: Path
) -> None:
    # OGC 12-128, GeoPackage: application id "GPKG", one row a table (value from memory).
    with closing(sqlite3.connect(file)) as store:
        (application,) = store.execute("PRAGMA application_id").fetchone()
        rows = store.execute(
            "SELECT table_name, data_type, srs_id, min_x, min_y, max_x, max_y FROM gpkg_contents"
        ).fetchall()
    assert application.to_bytes(4, "big") == b"GPKG"
    contents = {name: (kind, srs, box) for name, kind, srs, *box in rows}
    assert contents.pop("layer_styles")[0] == "attributes"
    assert contents.pop("columns")[0] == "attributes"
    assert set(contents) == set(LAYERS)
    for name, (kind, srs, box) in contents.items():
        layer = getattr(result, name)
        assert (kind, srs) == ("features", layer.crs.to_epsg())
        np.testing.assert_allclose(box, layer.total_bounds)


def test_the_fill_sites_expression_gives_a_class_to_each_site(file: Path) -> None:
    # The expression is one that SQLite reads as QGIS does.
    renderer = styles(file)["fill_sites"].find("renderer-v2")
    assert renderer is not None
    with closing(sqlite3.connect(file)) as store:
        rows = store.execute(f"SELECT site_id, {renderer.get('attr')} FROM fill_sites").fetchall()  # noqa: S608 — our own expression
    assert dict(rows) == {
        "H-1": "hydrant C",
        "H-2": "hydrant B",
        "H-3": "hydrant A",
        "H-4": "hydrant AA",
        "D-1": "dry_hydrant",
        "PD-1": "pond",
        "S-1": "stream",
        "C-1": "cistern",
    }
    assert {value for _, value in rows} <= {
        category.get("value") for category in renderer.iter("category")
    }


def test_the_dictionary_tells_what_each_column_means(result: Result, file: Path) -> None:
    with closing(sqlite3.connect(file)) as store:
        told = store.execute("SELECT layer, column_name, unit, meaning FROM columns").fetchall()
        standard = store.execute(
            "SELECT table_name, column_name, description FROM gpkg_data_columns"
        ).fetchall()
        extensions = store.execute(
            "SELECT table_name FROM gpkg_extensions WHERE extension_name = 'gpkg_schema'"
        ).fetchall()
    assert {(layer, column) for layer, column, *_ in told} == {
        (name, column)
        for name in LAYERS
        for column in getattr(result, name).columns.drop("geometry")
    }
    assert ("roads", "speed_mph", "mph", "speed of a loaded tanker") in told
    assert ("roads", "speed_mph", "speed of a loaded tanker [mph]") in standard
    # OGC 12-128, annex F.9, schema extension: both tables are listed (value from memory).
    assert set(extensions) == {("gpkg_data_columns",), ("gpkg_data_column_constraints",)}


def test_labels_show_from_near_and_not_from_far(file: Path) -> None:
    """QGIS reads scaleMax as the scale from which on labels show (seen in QGIS 3.22)."""
    for style in styles(file).values():
        rendering = style.find(".//rendering")
        assert rendering is not None
        assert float(rendering.get("scaleMax", "0")) > float(rendering.get("scaleMin", "0"))


_IN_QGIS = """
import json, sys
from qgis.core import QgsApplication, QgsRenderContext, QgsVectorLayer
app = QgsApplication([], False)
app.initQgis()
told = {}
for name in sys.argv[2:]:
    layer = QgsVectorLayer(f"{sys.argv[1]}|layername={name}", name, "ogr")
    renderer, context, drawn = layer.renderer(), QgsRenderContext(), 0
    renderer.startRender(context, layer.fields())
    for feature in layer.getFeatures():
        context.expressionContext().setFeature(feature)
        drawn += renderer.symbolForFeature(feature, context) is not None
    renderer.stopRender(context)
    scales = layer.labeling().settings()
    told[name] = [renderer.type(), layer.featureCount(), drawn, layer.labelsEnabled(),
                  scales.minimumScale, scales.maximumScale]
print(json.dumps(told))
"""


@pytest.mark.slow  # QGIS takes seconds to start
def test_qgis_itself_draws_every_feature_and_its_labels(file: Path) -> None:
    """By QGIS's own reader, where Debian's python3-qgis is installed."""
    python = Path("/usr/bin/python3")
    here = {"PATH": "/usr/bin:/bin", "HOME": str(file.parent), "QT_QPA_PLATFORM": "offscreen"}
    run = partial(subprocess.run, env=here, capture_output=True, text=True, timeout=120)
    if not python.exists() or run([python, "-c", "import qgis.core"], check=False).returncode:
        pytest.skip("python3-qgis is not installed")
    done = run([python, "-c", _IN_QGIS, str(file), *LAYERS], check=True)
    told = json.loads(done.stdout)
    kinds = {name: kind for name, (kind, *_) in told.items()}
    assert kinds == dict.fromkeys(LAYERS, "categorizedSymbol") | {"roads": "graduatedSymbol"}
    for name, (_, features, drawn, labels, from_scale, to_scale) in told.items():
        assert labels
        assert from_scale == 50_000 > to_scale
        assert features - drawn == (1 if name == "roads" else 0)  # a road that tankers do not use
