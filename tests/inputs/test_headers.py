"""Which header is taken for which column."""

import pytest

from haulshed.inputs.headers import Match, match_headers
from haulshed.tables.apparatus import APPARATUS
from haulshed.tables.fill_sites import FILL_SITES
from haulshed.tables.parcels import PARCELS
from haulshed.tables.table import Table
from haulshed.units import UNITS


def match(table: Table, *headers: str, ignored: tuple[str, ...] = (), **named: str) -> Match:
    return match_headers(headers, table, named, ignored)


@pytest.mark.parametrize("table", [APPARATUS, FILL_SITES, PARCELS])
def test_every_column_is_taken_in_every_unit_of_its_dimension(table: Table) -> None:
    for column in table.columns:
        own = UNITS[column.unit] if column.unit else None
        for unit in UNITS.values() if own else ():
            assert own is not None
            if unit.ours == own.ours:
                header = column.name.removesuffix(own.suffix) + unit.suffix
                found = match(table, header)
                assert found.sources[column.name].factor == pytest.approx(unit.factor)
                assert not found.faults
        assert match(table, column.name).sources[column.name].header == column.name


@pytest.mark.parametrize(
    ("header", "column"),
    [
        ("fill_rate", "fill_gpm"),
        ("tank", "tank_gal"),
        ("TANK", "tank_gal"),
        ("tank_capacity", "tank_gal"),
        ("tank_gallons", "tank_gal"),
        ("tank_psi", "tank_gal"),
        ("supply_hose_length", "supply_hose_ft"),
        ("height_feet", "height_ft"),
    ],
)
def test_a_quantity_without_a_unit_that_measures_it_is_a_fault(header: str, column: str) -> None:
    found = match(APPARATUS, header)
    assert column in found.unclear
    assert column not in found.sources
    (fault,) = found.faults
    assert fault.column == f"column '{header}'"
    assert column in fault.cure


@pytest.mark.parametrize(
    ("header", "meant"),
    [("Unit_ID", "unit_id"), ("unitid", "unit_id"), ("tnak_gal", "tank_gal"), ("crews", "crew")],
)
def test_a_slip_is_a_fault_and_read_on_as_what_was_meant(header: str, meant: str) -> None:
    found = match(APPARATUS, header)
    (fault,) = found.faults
    assert fault.cure.startswith(f"Did you mean '{meant}'?")
    assert found.sources[meant].header == header


@pytest.mark.parametrize(
    "header", ["OBJECTID", "Shape_Area", "remarks", "zoning", "owner", "GIS_ACRES"]
)
def test_what_is_nothing_of_ours_is_left_unused(header: str) -> None:
    found = match(PARCELS, header)
    assert list(found.unused) == [header]
    assert not found.faults


def test_a_header_like_a_column_that_is_there_is_no_slip() -> None:
    assert list(match(APPARATUS, "unit_id", "unit_id2").unused) == ["unit_id2"]


def test_what_the_user_sets_aside_is_not_looked_at() -> None:
    assert not match(APPARATUS, "tank", ignored=("tank",)).faults


def test_the_users_mapping_may_carry_a_unit() -> None:
    found = match(APPARATUS, "Q", fill_lpm="Q")
    assert found.sources["fill_gpm"].header == "Q"
    assert found.sources["fill_gpm"].factor == pytest.approx(1 / 3.785411784)
