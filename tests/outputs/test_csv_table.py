import csv
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haulshed.case import Result
from haulshed.inputs.csv_file import read_csv
from haulshed.outputs.csv_table import write_csv
from haulshed.outputs.measures import converted
from haulshed.tables.answers import ANSWERS
from haulshed.tables.formula_guard import guarded, unguarded
from haulshed.units import System

#: Litres in a US gallon and metres in a mile: 3.785411784 and 1609.344, exact by definition
#: (NIST SP 811, appendix B).
L_PER_GAL = 3.785411784
KM_PER_MI = 1.609344


def written(table: pd.DataFrame, file: Path) -> pd.DataFrame:
    write_csv(table, file)
    return pd.read_csv(file, dtype={"parcel_id": str})


def test_the_columns_are_those_declared_and_every_figure_comes_back(
    result: Result, tmp_path: Path
) -> None:
    table = pd.DataFrame(result.parcels.drop(columns="geometry"))
    back = written(table, tmp_path / "parcels.csv")
    assert list(back.columns) == [column.name for column in ANSWERS.columns]
    assert len(back) == len(table)
    for name in table.select_dtypes("number").columns:
        expected = table[name].astype("Float64").to_numpy(dtype=float, na_value=np.nan)
        np.testing.assert_allclose(back[name].to_numpy(float), expected, atol=1e-3, rtol=0)
    np.testing.assert_allclose(back["lon"], table["lon"], atol=1e-6, rtol=0)
    assert (back["tight"] == np.where(table["tight"], "yes", "no")).all()
    assert (back["verdict"] == table["verdict"]).all()


def test_a_flow_is_not_rounded_down_to_the_map_s_step(tmp_path: Path) -> None:
    back = written(pd.DataFrame({"sustained_gpm": [1049.9]}), tmp_path / "t.csv")
    assert back["sustained_gpm"].tolist() == [1049.9]


def test_si_changes_header_and_value_together(result: Result, tmp_path: Path) -> None:
    table = pd.DataFrame(result.parcels.drop(columns="geometry"))
    si = written(converted(table, System.SI), tmp_path / "si.csv")
    us = written(table, tmp_path / "us.csv")
    assert len(si.columns) == len(us.columns)
    assert not [name for name in si if {"gpm", "gal", "ft", "miles"} & set(name.split("_"))]
    np.testing.assert_allclose(si["sustained_lpm"], us["sustained_gpm"] * L_PER_GAL, atol=2e-3)
    np.testing.assert_allclose(si["needed_l"], us["needed_gal"] * L_PER_GAL, atol=4e-3)
    np.testing.assert_allclose(si["lay_m"], us["lay_ft"] * 0.3048, atol=1e-3)
    np.testing.assert_allclose(
        si["road_km_to_site"], us["road_miles_to_site"] * KM_PER_MI, atol=2e-3
    )
    assert (si["round_trip_min"].dropna() == us["round_trip_min"].dropna()).all()


@pytest.mark.parametrize(
    "text",
    ["=1+1", "+1+1", "-1-A", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "\uff1d1", "+", "-", "-1.5x"],
)
def test_what_a_spreadsheet_would_run_is_made_text(text: str) -> None:
    assert guarded(text) == "'" + text


@pytest.mark.parametrize("text", ["-1.5", "+1", "-.5", "-1e3", "12-40", "O'Hara", "'s Hof", ""])
def test_numbers_and_names_stay_as_they_are(text: str) -> None:
    assert guarded(text) == text


@given(st.text(alphabet="'=+-@\t\r1.aé", max_size=6))
def test_every_text_comes_back_as_it_was(text: str) -> None:
    assert unguarded(guarded(text)) == text


def test_names_keep_their_letters_and_no_line_is_lost(tmp_path: Path) -> None:
    names = ["Ärmel", "מגרש", 'the "Old" mill', "two\nlines", "comma, here", "=1"]
    back = written(pd.DataFrame({"parcel_id": names}), tmp_path / "t.csv")
    assert back["parcel_id"].tolist() == [*names[:-1], "'=1"]


#: Text of a table; a file holds no half of a pair of surrogates.
TEXT = st.text(st.characters(codec="utf-8"), max_size=6)
ROW = st.fixed_dictionaries(
    {
        "name": st.none() | TEXT,
        "gpm": st.floats(allow_nan=False) | st.integers(-9, 9).map(float) | st.just(np.nan),
        "open": st.booleans(),
        "tanks": st.none() | st.integers(-(2**62), 2**62),
    }
)


@given(st.lists(ROW, min_size=1, max_size=8))
def test_every_cell_is_written_as_pythons_own_csv_writer_has_it(rows: list[dict[str, Any]]) -> None:
    table = pd.DataFrame(rows, columns=["name", "gpm", "open", "tanks"])
    table = table.astype({"name": object, "gpm": float, "tanks": "Int64"})
    expected = StringIO()
    writer = csv.writer(expected, lineterminator="\n")
    writer.writerow(table.columns)
    for row in rows:
        rounded = float(np.round(row["gpm"], 3)) + 0.0
        writer.writerow(
            [
                "" if row["name"] is None else guarded(row["name"]),
                "" if np.isnan(rounded) else repr(rounded),
                "yes" if row["open"] else "no",
                row["tanks"],
            ]
        )
    with TemporaryDirectory() as folder:
        write_csv(table, Path(folder) / "t.csv")
        assert (Path(folder) / "t.csv").read_bytes() == expected.getvalue().encode()


def test_degrees_keep_six_decimals_at_the_equator_too(tmp_path: Path) -> None:
    back = written(pd.DataFrame({"lon": [0.000001, 12.0], "lat": [-5e-5, 0.5]}), tmp_path / "t.csv")
    assert back.to_numpy().tolist() == [[0.000001, -5e-5], [12.0, 0.5]]


def test_a_long_table_is_whole_and_an_empty_one_keeps_its_header(tmp_path: Path) -> None:
    ids = [f"P{n}" for n in range(100_001)]
    assert written(pd.DataFrame({"parcel_id": ids, "n": 1}), tmp_path / "t.csv").shape == (
        100_001,
        2,
    )
    write_csv(pd.DataFrame({"parcel_id": [], "lay_ft": []}), tmp_path / "none.csv")
    assert (tmp_path / "none.csv").read_text() == "parcel_id,lay_ft\n"


def test_no_zero_carries_a_sign(tmp_path: Path) -> None:
    write_csv(pd.DataFrame({"margin_gpm": [-0.0, -0.0001]}), tmp_path / "t.csv")
    assert (tmp_path / "t.csv").read_text() == "margin_gpm\n0.0\n0.0\n"


def test_ids_that_a_spreadsheet_would_run_join_again(tmp_path: Path) -> None:
    ids = ["=A1", "-1.5", "-12-B", "@home", "'=1", "'t Hof", "+49", "1e5", "007"]
    write_csv(pd.DataFrame({"parcel_id": ids, "margin_gpm": -1.5}), tmp_path / "a.csv")
    text = (tmp_path / "a.csv").read_text().splitlines()
    assert text[1:4] == ["'=A1,-1.5", "-1.5,-1.5", "'-12-B,-1.5"]
    back = read_csv(tmp_path / "a.csv", "parcels")
    assert back.columns["parcel_id"] == ids
    assert set(back.columns["margin_gpm"]) == {"-1.5"}
