"""The evidence workbook: read by openpyxl, its formulas worked out by LibreOffice if it is here."""

import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd
import pytest
from click.testing import CliRunner

from haulshed.case import CAUTION
from haulshed.cli import main
from haulshed.inputs.district import read_district
from haulshed.tables.evidence import EVIDENCE, SOURCE_EVIDENCE

SHEETS = [
    *("Read first", "Rules", "Shares", "Properties", "Fill sites", "Inspector", "Apparatus"),
    "Columns",
]
#: Names that a spreadsheet would run.
HOSTILE = """\
parcel_id,lat,lon,floor_area_ft2,stories,structures
=1+1,45.001,-100.03,1500,1,1
@P,45.02,-99.999,2400,2,1
P-3,44.97,-100.001,,,0
"""

Prepared = tuple[Path, str]


def prepare(folder: Path, *words: str) -> Prepared:
    done = CliRunner().invoke(main, ["evidence", str(folder), *words])
    assert done.exit_code == 0, done.output
    return folder / "out", done.stdout


@pytest.fixture
def tiny(tiny_district: Callable[..., Path]) -> Path:
    return tiny_district()


def test_what_is_printed(tiny: Path) -> None:
    _, printed = prepare(tiny)
    for words in ("2 properties with a structure, 1 without", "at most 5 mi", "no class"):
        assert words in " ".join(printed.split())
    assert CAUTION[:60] in printed


def test_the_files_and_the_rows(tiny: Path) -> None:
    out, _ = prepare(tiny)
    assert {file.name for file in out.iterdir()} == {
        *("evidence.xlsx", "evidence.csv", "evidence.json")
    }
    table = pd.read_csv(out / "evidence.csv")
    assert list(table) == [column.name for column in EVIDENCE.columns]
    assert len(table) == 3


def test_a_run_takes_the_folder_and_leaves_the_evidence(tiny: Path) -> None:
    out, _ = prepare(tiny)
    assert CliRunner().invoke(main, ["run", str(tiny)]).exit_code == 0
    assert {"evidence.xlsx", "map.html"} <= {file.name for file in out.iterdir()}


def test_openpyxl_reads_it(tiny: Path) -> None:
    out, _ = prepare(tiny)
    book = openpyxl.load_workbook(out / "evidence.xlsx")
    assert book.sheetnames == SHEETS
    heads = [cell.value for cell in book["Properties"][1]]
    assert heads == [column.name for column in EVIDENCE.columns]
    heads = [cell.value for cell in book["Fill sites"][1]]
    assert heads == [column.name for column in SOURCE_EVIDENCE.columns]
    first = " ".join(str(cell.value) for row in book["Read first"] for cell in row)
    assert CAUTION in first
    assert "no class" in first


def test_each_formula_holds_its_column_against_the_schedule_s_figure(tiny: Path) -> None:
    out, _ = prepare(tiny)
    book = openpyxl.load_workbook(out / "evidence.xlsx")
    page = book["Properties"]
    columns = {cell.value: cell.column_letter for cell in page[1]}
    limit = book.defined_names["rule_station_miles"].attr_text
    sheet, cell = limit.replace("$", "").split("!")
    assert book[sheet][cell].value == 5
    test = page[f"{columns['test_station']}2"].value
    assert test.startswith(f'=IF({columns["station_miles"]}2="","not judged"')
    assert f"{columns['station_miles']}2<=rule_station_miles" in test


def test_text_is_never_a_formula(tiny_district: Callable[..., Path]) -> None:
    out, _ = prepare(tiny_district(parcels_csv=HOSTILE))
    page = openpyxl.load_workbook(out / "evidence.xlsx")["Properties"]
    assert [(page[f"A{row}"].value, page[f"A{row}"].data_type) for row in (2, 3)] == [
        ("=1+1", "s"),
        ("@P", "s"),
    ]


def test_the_same_inputs_give_the_same_bytes(tiny: Path) -> None:
    out, _ = prepare(tiny)
    before = (out / "evidence.xlsx").read_bytes()
    prepare(tiny)
    assert (out / "evidence.xlsx").read_bytes() == before


def worked_out(file: Path, folder: Path) -> dict[str, pd.DataFrame]:
    """Return the sheets with every formula worked out by LibreOffice."""
    office = shutil.which("soffice")
    if office is None:
        pytest.skip("LibreOffice is not installed")
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    words = ["--headless", profile, "--convert-to", "xlsx", "--outdir", str(folder), str(file)]
    subprocess.run([office, *words], check=True, capture_output=True, timeout=120)  # noqa: S603 — LibreOffice, on a file of ours
    return pd.read_excel(folder / file.name, sheet_name=None, keep_default_na=False, na_values=[""])


@pytest.mark.slow  # LibreOffice takes seconds to start
@pytest.mark.parametrize("words", [(), ("--units", "si", "--rules", "canada_dwelling")])
def test_libreoffice_works_out_the_same(tiny: Path, tmp_path: Path, words: tuple[str, ...]) -> None:
    out, _ = prepare(tiny, *words)
    sheets = worked_out(out / "evidence.xlsx", tmp_path)
    table, page = pd.read_csv(out / "evidence.csv"), sheets["Properties"]
    for name in table.columns:
        ours, theirs = table[name], page[name]
        if name.startswith("test_"):
            assert theirs.astype(object).where(theirs.notna(), "").tolist() == (
                ours.astype(object).where(ours.notna(), "").tolist()
            ), name
        elif re.search("_(ft|m|miles|km|min|gpm|lpm|gal|l)$", name):
            numbers = pd.to_numeric(theirs, errors="coerce").to_numpy(dtype=float)
            assert np.allclose(numbers, ours.to_numpy(float), atol=1e-3, equal_nan=True), name
    shares = sheets["Shares"].set_index("test")
    built = table[table["structure"] == "yes"]
    for test, row in shares.iterrows():
        wanted = (built[f"test_{str(test).replace(' ', '_')}"] == "met").sum()
        assert row["met"] == wanted, test


def test_the_flow_is_worked_out_over_the_schedule_s_duration(tiny: Path) -> None:
    """The folder's own scenario plans 120 min; the older schedule asks for 20."""
    out, _ = prepare(tiny, "--rules", "us_older")
    assert '"duration_min": 120' in (out / "evidence.json").read_text(encoding="utf-8")
    read = read_district(tiny, progress=lambda *_: None)
    assert read.inputs.scenario.operation.duration_min == 120
