"""Factors of units, held to the published ones."""

import pytest

from haulshed.errors import UnitError
from haulshed.units import (
    FT2_PER_ACRE,
    FT_PER_MI,
    GAL_PER_FT3,
    KPA_PER_PSI,
    L_PER_GAL,
    M_PER_FT,
    M_PER_MI,
    SI_SUFFIX,
    UNITS,
    accepted_suffixes,
    factor_between,
    split_header,
)

#: NIST Special Publication 811 (2008), appendix B.8: one of the first in the second.
PUBLISHED = (
    ("gal", "l", 3.785412),
    ("gal", "m3", 3.785412e-3),
    ("gpm", "lpm", 3.785412),
    ("ft", "m", 0.3048),
    ("miles", "km", 1.609344),
    ("in", "mm", 25.4),
    ("ft2", "m2", 9.290304e-2),
    ("psi", "kpa", 6.894757),
    ("psi", "bar", 6.894757e-2),
    ("lb", "kg", 0.4535924),
    ("lb", "t", 4.535924e-4),
    ("mph", "kmh", 1.609344),
    ("min", "s", 60.0),
)


@pytest.mark.parametrize(("ours", "theirs", "factor"), PUBLISHED)
def test_factors_against_nist(ours: str, theirs: str, factor: float) -> None:
    assert factor_between(ours, theirs) == pytest.approx(factor, rel=2e-7)
    assert factor_between(theirs, ours) == pytest.approx(1 / factor, rel=2e-7)


def test_every_foreign_unit_is_held_to_a_published_factor() -> None:
    assert {theirs for _, theirs, _ in PUBLISHED} == {
        unit.suffix for unit in UNITS.values() if unit.suffix != unit.ours
    }


def test_constants_against_definitions() -> None:
    assert pytest.approx(3.785411784, rel=1e-15) == L_PER_GAL
    assert pytest.approx(0.3048, rel=1e-15) == M_PER_FT
    assert pytest.approx(1609.344, rel=1e-15) == M_PER_MI
    assert FT_PER_MI == 5280
    # NIST Special Publication 811, appendix B.8; an acre is 1/640 square mile.
    assert pytest.approx(6.894757293168, rel=1e-12) == KPA_PER_PSI
    assert pytest.approx(7.480519, rel=1e-7) == GAL_PER_FT3
    assert FT2_PER_ACRE == 5280**2 / 640


def test_there_and_back_changes_nothing() -> None:
    for unit in UNITS.values():
        for suffix in accepted_suffixes(unit.ours):
            there_and_back = factor_between(unit.suffix, suffix) * factor_between(
                suffix, unit.suffix
            )
            assert there_and_back == pytest.approx(1, rel=1e-15)


def test_each_of_our_units_has_one_to_write_in_si() -> None:
    ours = {unit.ours for unit in UNITS.values()}
    assert set(SI_SUFFIX) == ours
    assert all(UNITS[si].ours == unit for unit, si in SI_SUFFIX.items())


@pytest.mark.parametrize(
    ("header", "stem", "suffix"),
    [
        ("tank_l", "tank", "l"),
        ("supply_hose_ft", "supply_hose", "ft"),
        ("l", "l", None),
        ("_l", "_l", None),
        ("site_id", "site_id", None),
    ],
)
def test_a_headers_last_part_is_its_unit(header: str, stem: str, suffix: str | None) -> None:
    found, unit = split_header(header)
    assert (found, unit.suffix if unit else None) == (stem, suffix)


def test_units_that_cannot_be_turned_into_each_other() -> None:
    with pytest.raises(UnitError, match=r"'gal' cannot be turned into 'ft'\. Accepted: ft, m\."):
        factor_between("gal", "ft")
    with pytest.raises(UnitError, match="did you mean 'gpm'"):
        factor_between("gppm", "lpm")
    with pytest.raises(UnitError, match=r"is not a unit that haulshed knows\. Known: gal"):
        factor_between("furlong", "ft")
