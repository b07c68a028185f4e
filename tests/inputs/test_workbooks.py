"""Sheets of workbooks that openpyxl writes."""

from datetime import datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.worksheet.formula import ArrayFormula
from pyproj import CRS

from haulshed.errors import TableError
from haulshed.inputs.placing import Ground
from haulshed.inputs.settings import TableKeys
from haulshed.inputs.table_file import TableRead, read_table
from haulshed.tables.fill_sites import FILL_SITES

GROUND = Ground(crs=CRS(32614), west_m=4e5, south_m=4.95e6, east_m=4.5e5, north_m=5e6)
#: A list of hydrant flow tests as a water utility keeps it.
HEADERS = ("Hydrant", "Type", "Latitude", "Longitude", "Static", "Residual", "Flow", "Tested")
TESTS = (
    ("H-101", "hydrant", 45.0001, -99.97, 62, 48.5, 910, datetime(2025, 6, 3)),  # noqa: DTZ001
    (102, "Hydrant", 45.0003, -99.98, 71, 55, 1060.25, None),
    ("007", "hydrant", 45.0005, -99.99, 55, 30, 640, "June"),
)
COLUMNS = {
    "site_id": "Hydrant",
    "kind": "Type",
    "lat": "Latitude",
    "lon": "Longitude",
    "static_psi": "Static",
    "residual_psi": "Residual",
    "test_flow_gpm": "Flow",
}


def workbook(folder: Path, rows: Any, **further: Any) -> Path:
    book = openpyxl.Workbook()
    sheets = {"Tests": rows, **further}
    for title, cells in sheets.items():
        sheet = book.create_sheet(title)
        for row in cells:
            sheet.append(row)
    del book["Sheet"]
    path = folder / "hydrants.xlsx"
    book.save(path)
    return path


def read(path: Path, layer: str | None = None, columns: dict[str, str] = COLUMNS) -> TableRead:
    keys = TableKeys(file=path.name, layer=layer, columns=columns)
    return read_table(path, FILL_SITES, keys, GROUND)


def said(read: TableRead) -> list[str]:
    return [str(one.fault) for one in read.found]


def test_a_list_of_flow_tests_with_the_utilitys_own_names(tmp_path: Path) -> None:
    blank = (None,) * len(HEADERS)
    read_ = read(workbook(tmp_path, [blank, HEADERS, TESTS[0], blank, *TESTS[1:]]))
    assert said(read_) == []
    assert read_.frame["site_id"].tolist() == ["H-101", "102", "007"]
    assert read_.frame["kind"].tolist() == ["hydrant"] * 3
    assert read_.frame["residual_psi"].tolist() == [48.5, 55, 30]
    assert read_.frame["test_flow_gpm"].tolist() == [910, 1060.25, 640]
    assert list(read_.raw.places) == ["row 3", "row 5", "row 6"]
    assert read_.raw.columns["Tested"] == ["2025-06-03", "", "June"]
    assert list(read_.notes) == ["hydrants.xlsx: not used: Tested"]


def test_metric_headers_of_a_sheet_are_converted(tmp_path: Path) -> None:
    rows = [["site_id", "kind", "lat", "lon", "flow_lpm"], ["A", "stream", 45, -100, 3785.411784]]
    assert read(workbook(tmp_path, rows), columns={}).frame["flow_gpm"].tolist() == [1000]


def test_one_of_several_sheets_is_named(tmp_path: Path) -> None:
    path = workbook(tmp_path, [HEADERS, *TESTS], Notes=[["written by hand"]])
    assert len(read(path, "Tests").frame) == 3
    where = "in [fill_sites] of district.toml"
    for layer, says in (
        (None, f'has 2 layers. Name one {where}, layer = "…", of: Tests, Notes.'),
        ("tests", "has no layer 'tests'. It has: Tests, Notes."),
    ):
        with pytest.raises(TableError) as caught:
            read(path, layer)
        assert str(caught.value) == f"fill_sites: hydrants.xlsx {says}"


@pytest.mark.parametrize(
    ("column", "cell", "says"),
    [
        ("G", "=E2*10", "Flow = =E2*10 is a formula without a value"),
        ("G", ArrayFormula("G2", "=E2*10"), "is a formula without a value"),
        ("G", "#REF!", "Flow = #REF! is an error of the spreadsheet"),
        ("A", 12345678901234567, "Hydrant = 12345678901234570 has more than the 15 digits"),
        ("K", "remark", "column K = remark stands under no header"),
        ("G", datetime(2026, 4, 11), "Flow = 2026-04-11 is not a number of gpm"),  # noqa: DTZ001
        ("A", "North\nroad", "holds a line break or another control character"),
        ("A", "Caf\ufffd", "holds a character that was lost"),
    ],
)
def test_what_a_cell_cannot_be(column: str, cell: Any, says: str, tmp_path: Path) -> None:
    path = workbook(tmp_path, [HEADERS, *TESTS])
    book = openpyxl.load_workbook(path)
    book["Tests"][f"{column}2"] = cell
    book.save(path)
    (fault,) = said(read(path))
    assert says in fault


def test_text_that_begins_like_a_formula_keeps_every_letter(tmp_path: Path) -> None:
    path = workbook(tmp_path, [HEADERS, *TESTS])
    book = openpyxl.load_workbook(path)
    cell = book["Tests"]["A2"]
    cell.value, cell.data_type = "=A-1", "s"
    book.save(path)
    read_ = read(path)
    assert (said(read_), read_.frame["site_id"].iloc[0]) == ([], "=A-1")


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ([], "has an empty sheet"),
        ([["site_id", None, "lat"], ["A", 1, 2]], "has no header over column B"),
        ([["lat", "lon", "lat "], [1, 2, 3]], "has more than one column 'lat'"),
    ],
)
def test_what_a_sheet_cannot_be(rows: Any, says: str, tmp_path: Path) -> None:
    with pytest.raises(TableError, match=says):
        read(workbook(tmp_path, rows), columns={})


def test_a_sheet_of_headers_alone_is_an_empty_table(tmp_path: Path) -> None:
    assert len(read(workbook(tmp_path, [HEADERS])).frame) == 0
