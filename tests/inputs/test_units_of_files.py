"""A file in SI says the same as one in US units."""

from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import CRS

from haulshed.inputs.placing import Ground
from haulshed.inputs.settings import TableKeys
from haulshed.inputs.table_file import read_table
from haulshed.tables.apparatus import APPARATUS
from haulshed.tables.table import Table

GROUND = Ground(crs=CRS(32614), west_m=0, south_m=0, east_m=1, north_m=1)
#: What one of ours is in the other unit: exact by definition (NIST Special Publication 811,
#: appendix B: gallon = 3.785411784 L, foot = 0.3048 m, inch = 25.4 mm, pound = 0.45359237 kg).
SI = {
    "tank_gal": ("tank_l", 3.785411784),
    "fill_gpm": ("fill_lpm", 3.785411784),
    "supply_hose_ft": ("supply_hose_m", 0.3048),
    "supply_hose_in": ("supply_hose_mm", 25.4),
    "weight_lb": ("weight_kg", 0.45359237),
}
KEYS = TableKeys(file="apparatus.csv")


def read(folder: Path, cells: dict[str, object], table: Table = APPARATUS) -> pd.DataFrame:
    file = folder / "apparatus.csv"
    row = {"unit_id": "T-1", "station_id": "S-1", "kind": "tanker", **cells}
    file.write_text(f"{','.join(row)}\n{','.join(map(str, row.values()))}\n")
    read = read_table(file, table, KEYS, GROUND)
    assert not read.found
    return read.frame


@settings(max_examples=60, deadline=None)
@given(
    tank_gal=st.floats(1, 20000),
    fill_gpm=st.floats(1, 5000),
    supply_hose_ft=st.floats(1, 20000),
    supply_hose_in=st.sampled_from((1.0, 1.5, 1.75, 2.5, 3.0, 4.0, 4.5, 5.0)),
    weight_lb=st.floats(1, 200000),
)
def test_si_headers_give_what_us_headers_give(
    tmp_path_factory: pytest.TempPathFactory, **ours: float
) -> None:
    folder = tmp_path_factory.getbasetemp()
    us = read(folder, dict(ours))
    si = read(folder, {SI[name][0]: value * SI[name][1] for name, value in ours.items()})
    for name in SI:
        assert si[name].iloc[0] == pytest.approx(us[name].iloc[0], rel=1e-11)


@pytest.mark.parametrize(
    ("header", "value", "ours", "expected"),
    [
        ("supply_hose_mm", "101.6", "supply_hose_in", 4.0),
        ("supply_hose_mm", "44.45", "supply_hose_in", 1.75),
        ("tank_m3", "3.785411784", "tank_gal", 1000.0),
        ("weight_kg", "453.59237", "weight_lb", 1000.0),
        ("height_m", "3.048", "height_ft", 10.0),
    ],
)
def test_round_us_figures_come_out_round(
    header: str, value: str, ours: str, expected: float, tmp_path: Path
) -> None:
    cells = {"tank_gal": "1000"} if header != "tank_m3" else {}
    assert read(tmp_path, {**cells, header: value})[ours].iloc[0] == expected


def test_a_limit_is_told_in_the_models_unit_beside_the_value_as_written(tmp_path: Path) -> None:
    file = tmp_path / "apparatus.csv"
    file.write_text("unit_id,station_id,kind,tank_l\nT-1,S-1,tanker,90000\n")
    (found,) = read_table(file, APPARATUS, KEYS, GROUND).found
    assert str(found.fault).startswith("apparatus: T-1: tank_l = 90000 must be at most 20,000 gal.")
