"""The check of a table: every fault, where it stands, and nothing twice."""

import pandas as pd
import pytest

from haulshed.errors import TableError
from haulshed.hydraulics.hose import COEFFICIENTS
from haulshed.tables.apparatus import APPARATUS, HOSE_IN
from haulshed.tables.fill_sites import FILL_SITES, filled, open_in_month
from haulshed.tables.parcels import PARCELS
from haulshed.tables.segments import SEGMENTS
from haulshed.tables.stations import STATIONS
from haulshed.tables.table import Column, Kind, Rule, Table, shown
from haulshed.units import UNITS

PUMPS = Table(
    name="pumps",
    meaning="Pumps.",
    id_column="pump_id",
    columns=(
        Column(name="pump_id", kind=Kind.TEXT, required=True, unique=True, meaning="its number"),
        Column(
            name="kind", kind=Kind.TEXT, choices=("big", "small"), default="big", meaning="size"
        ),
        Column(name="rate_gpm", kind=Kind.NUMBER, unit="gpm", above=0, at_most=9, meaning="rate"),
        Column(name="men", kind=Kind.WHOLE, at_least=1, default=2, meaning="people"),
        Column(name="wet", kind=Kind.YES_NO, meaning="whether it is wet"),
    ),
    rules=(
        Rule(
            column="rate_gpm",
            broken=lambda frame: (frame["kind"] == "big") & ~(frame["rate_gpm"] > 5),
            rule="is too little for a big one",
            cure="Check it.",
        ),
    ),
)


def frame(**columns: list[object]) -> pd.DataFrame:
    whole: dict[str, list[object]] = {
        "pump_id": ["A", "B"],
        "kind": ["big", "small"],
        "rate_gpm": [6.0, 1.0],
        "men": [1.0, 1.0],
        "wet": [True, None],
    }
    return pd.DataFrame({**whole, **columns})


def said(table: pd.DataFrame) -> list[tuple[int | None, str, str, str]]:
    found = PUMPS.find(table)
    return [(one.position, one.fault.row, one.fault.column, one.fault.rule) for one in found]


def test_a_sound_table_has_no_fault() -> None:
    PUMPS.check(frame())


@pytest.mark.parametrize(
    ("columns", "expected"),
    [
        ({"pump_id": ["A", None]}, [(1, "row 2", "pump_id", "is empty")]),
        (
            {"pump_id": ["A", "A"]},
            [
                (0, "A (row 1)", "pump_id", "stands in more than one row"),
                (1, "A (row 2)", "pump_id", "stands in more than one row"),
            ],
        ),
        ({"kind": ["tall", "small"]}, [(0, "A", "kind", "is not a word of this column")]),
        ({"rate_gpm": [6.0, 0.0]}, [(1, "B", "rate_gpm", "must be greater than 0 gpm")]),
        ({"rate_gpm": [6.0, 10.0]}, [(1, "B", "rate_gpm", "must be at most 9 gpm")]),
        ({"men": [0.0, 1.0]}, [(0, "A", "men", "must be at least 1")]),
        ({"rate_gpm": [5.0, 1.0]}, [(0, "A", "rate_gpm", "is too little for a big one")]),
        ({"rate_gpm": [-1.0, 1.0]}, [(0, "A", "rate_gpm", "must be greater than 0 gpm")]),
    ],
)
def test_each_rule(columns: dict[str, list[object]], expected: list[object]) -> None:
    assert said(frame(**columns)) == expected


def test_faults_come_in_row_order_and_missing_columns_first() -> None:
    bad = frame(kind=["tall", "tall"], men=[0.0, 0.0]).drop(columns="pump_id")
    assert said(bad) == [
        (None, "", "column 'pump_id'", "is missing"),
        (0, "row 1", "kind", "is not a word of this column"),
        (0, "row 1", "men", "must be at least 1"),
        (1, "row 2", "kind", "is not a word of this column"),
        (1, "row 2", "men", "must be at least 1"),
    ]


def test_a_check_raises_every_fault_at_once() -> None:
    with pytest.raises(TableError) as caught:
        PUMPS.check(frame(kind=["tall", "tall"], men=[0.0, 0.0]))
    assert len(caught.value.faults) == 4


def test_defaults_fill_what_is_empty_and_what_is_not_there() -> None:
    filled_in = PUMPS.with_defaults(frame(kind=[None, "small"]).drop(columns=["men", "wet"]))
    assert list(filled_in.columns) == ["pump_id", "kind", "rate_gpm", "men", "wet"]
    assert filled_in["kind"].tolist() == ["big", "small"]
    assert filled_in["men"].tolist() == [2, 2]
    assert [str(dtype) for dtype in filled_in.dtypes] == [
        "object",
        "object",
        "float64",
        "int64",
        "boolean",
    ]


def test_filling_in_leaves_the_frame_alone() -> None:
    before = frame(kind=[None, "small"])
    kept = before.copy()
    PUMPS.with_defaults(before)
    pd.testing.assert_frame_equal(before, kept)


@pytest.mark.parametrize("table", [APPARATUS, FILL_SITES, PARCELS, SEGMENTS, STATIONS])
def test_every_columns_name_ends_in_its_unit(table: Table) -> None:
    for column in table.columns:
        if column.unit is not None:
            assert column.name.endswith(f"_{column.unit}")
            assert UNITS[column.unit].ours == column.unit
        assert column.meaning


def test_the_accepted_hose_is_the_hose_with_a_coefficient() -> None:
    assert set(HOSE_IN) == set(COEFFICIENTS)


@pytest.mark.parametrize(("size_in", "faulty"), [(4.0, 0), (4.0157, 0), (4.03, 1), (6.0, 1)])
def test_hose_that_rounds_to_a_size_is_that_size(size_in: float, faulty: int) -> None:
    unit = {"unit_id": "E", "station_id": "S", "kind": "engine", "pump_gpm": 1000.0}
    hose = {"supply_hose_ft": 100.0, "supply_hose_in": size_in}
    assert len(APPARATUS.find(APPARATUS.with_defaults(pd.DataFrame([{**unit, **hose}])))) == faulty


def test_a_full_vehicle_that_weighs_less_is_a_fault() -> None:
    unit = {"unit_id": "E", "station_id": "S", "kind": "engine", "pump_gpm": 1000.0}
    weights = {"weight_lb": 20000.0, "empty_weight_lb": 30000.0}
    (found,) = APPARATUS.find(APPARATUS.with_defaults(pd.DataFrame([{**unit, **weights}])))
    assert found.fault.rule == "is below empty_weight_lb"


def test_only_hydrants_fill_without_a_pumper_unless_the_table_says_so() -> None:
    kinds = ["hydrant", "dry_hydrant", "pond", "stream", "cistern", "hydrant", "pond"]
    sites = pd.DataFrame(
        {
            "site_id": list("ABCDEFG"),
            "kind": kinds,
            "needs_pumper": pd.array([None] * 5 + [True, False], dtype="boolean"),
            "source_id": [None] * 6 + ["A"],
        }
    )
    got = filled(sites)
    assert got["needs_pumper"].tolist() == [False, True, True, True, True, True, False]
    assert got["source_id"].tolist() == ["A", "B", "C", "D", "E", "F", "A"]


def test_sites_open_in_their_months() -> None:
    months = pd.Series(["4,5,6", None, "1,12"])
    assert open_in_month(months, 12).tolist() == [False, True, True]
    assert open_in_month(months, None).tolist() == [True, True, True]


def test_what_a_message_shows_is_short_on_one_line_and_prints() -> None:
    assert shown("a\n b\t c") == "a b c"
    assert shown("x" * 100) == "x" * 59 + "…"
    assert shown("a\x1b[31m\u202eb") == "a\\x1b[31m\\u202eb"
    assert shown("Żółw 消防") == "Żółw 消防"
    assert (shown(None), shown(float("nan")), shown(pd.NA)) == ("", "", "")
