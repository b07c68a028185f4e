"""GeoParquet and the workbook of all tables, read back by other libraries."""

import json
from pathlib import Path

import geopandas as gpd
import numpy as np
import openpyxl
import pandas as pd
import pyarrow.parquet as pq
import pytest

from haulshed.assess.model import assess
from haulshed.case import CAUTION, Provenance, Result
from haulshed.inputs.district import read_district
from haulshed.outputs.geoparquet import write_geoparquet
from haulshed.outputs.layers import as_written, layers_of, meanings
from haulshed.outputs.tables_book import write_tables_book
from haulshed.units import System

LAYERS = ("parcels", "roads", "fill_sites", "stations")
#: Litres in a US gallon, exact by definition (NIST SP 811, appendix B).
L_PER_GAL = 3.785411784


def test_geoparquet_comes_back(result: Result, tmp_path: Path) -> None:
    write_geoparquet(result, tmp_path / "g", units=System.US)
    for name in LAYERS:
        back, layer = gpd.read_parquet(tmp_path / "g" / f"{name}.parquet"), getattr(result, name)
        assert back.crs == layer.crs
        assert back.geometry.geom_equals_exact(layer.geometry, 1e-9).all()
        assert list(back.columns) == list(layer.columns)
    parcels = gpd.read_parquet(tmp_path / "g" / "parcels.parquet")
    assert parcels["sustained_gpm"].tolist() == result.parcels["sustained_gpm"].tolist()


def test_geoparquet_in_si(result: Result, tmp_path: Path) -> None:
    write_geoparquet(result, tmp_path / "g", units=System.SI)
    back = gpd.read_parquet(tmp_path / "g" / "parcels.parquet")
    wanted = result.parcels["sustained_gpm"] * L_PER_GAL
    np.testing.assert_allclose(back["sustained_lpm"], wanted)


def test_geoparquet_carries_its_dictionary_and_the_caution(result: Result, tmp_path: Path) -> None:
    write_geoparquet(result, tmp_path / "g", units=System.SI)
    metadata = pq.read_schema(tmp_path / "g" / "roads.parquet").metadata
    told = json.loads(metadata[b"haulshed"])
    assert told["caution"] == CAUTION
    assert told["columns"]["speed_kmh"] == {"unit": "km/h", "meaning": "speed of a loaded tanker"}
    geo = json.loads(metadata[b"geo"])  # GeoParquet 1: primary column and version
    assert geo["primary_column"] == "geometry"
    assert geo["version"].startswith("1.")


def test_geoparquet_of_nothing(bare: Result, tmp_path: Path) -> None:
    write_geoparquet(bare, tmp_path / "g", units=System.US)
    assert len(gpd.read_parquet(tmp_path / "g" / "parcels.parquet")) == 0


@pytest.fixture(scope="session")
def book_file(
    result: Result, provenance: Provenance, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    file = tmp_path_factory.mktemp("book") / "tables.xlsx"
    write_tables_book(result, provenance, file, units=System.US)
    return file


def test_the_workbook_has_every_table(result: Result, book_file: Path) -> None:
    sheets = pd.read_excel(book_file, sheet_name=None)
    assert list(sheets) == [
        *("Read first", "parcels", "fill_sites", "stations", "roads", "apparatus", "columns"),
        "scenario",
    ]
    parcels = sheets["parcels"]
    assert parcels["parcel_id"].tolist() == result.parcels["parcel_id"].tolist()
    np.testing.assert_allclose(parcels["sustained_gpm"], result.parcels["sustained_gpm"])
    assert {"lon", "lat"} <= set(sheets["stations"].columns)


def test_the_workbook_says_what_its_columns_mean(book_file: Path) -> None:
    sheets = pd.read_excel(book_file, sheet_name=None, keep_default_na=False)
    told = sheets["columns"].set_index(["sheet", "column"])
    assert told.loc[("parcels", "lay_ft"), "unit"] == "ft"
    for name in ("parcels", "roads"):
        assert {(name, column) for column in sheets[name].columns} <= set(told.index)


def test_the_workbook_carries_scenario_and_caution(book_file: Path) -> None:
    book = openpyxl.load_workbook(book_file)
    words = " ".join(str(cell.value) for row in book["Read first"] for cell in row)
    assert CAUTION in words
    keys = {row[1]: row[2] for row in book["scenario"].iter_rows(values_only=True)}
    assert keys["duration_min"] == 120
    assert keys["method"] == "volume"


def test_names_that_a_spreadsheet_would_run_stay_text(book_file: Path) -> None:
    page = openpyxl.load_workbook(book_file)["parcels"]
    cells = [cell for cell in page["A"] if str(cell.value).startswith("=")]
    assert [(cell.value, cell.data_type) for cell in cells] == [("=HYPERLINK(1)", "s")]


@pytest.mark.parametrize("system", System)
def test_every_column_of_a_run_has_a_meaning(tiny_district: object, system: System) -> None:
    read = read_district(tiny_district(), progress=lambda *_: None)  # type: ignore[operator] — a fixture that writes
    result = assess(read.inputs, progress=lambda *_, **__: None)
    for name, given in layers_of(result).items():
        layer = as_written(given, system)
        told = {one.column for one in meanings(name, layer.columns, system)}
        assert set(layer.columns) - told == {"geometry"}, name
