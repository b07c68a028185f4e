"""What a cell is read as, by the kind of its column."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haulshed.inputs.cells import Cell, as_text, parse_cells
from haulshed.tables.table import Column, Kind


def parse(text: str, kind: Kind, factor: float = 1) -> Cell:
    (value,), bad = parse_cells([text], Column(name="x", kind=kind, meaning="x"), factor)
    assert not bad
    return value


def cure(text: str, kind: Kind) -> str:
    (value,), bad = parse_cells([text], Column(name="x", kind=kind, meaning="x"), 1)
    assert value is None
    return bad[0].cure


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_number_survives_being_written_and_read(value: float) -> None:
    assert parse(as_text(value), Kind.NUMBER) == value


@given(st.integers(-(10**12), 10**12))
def test_every_count_survives_being_written_and_read(value: int) -> None:
    assert parse(as_text(value), Kind.WHOLE) == value


@pytest.mark.parametrize(
    ("text", "value"),
    [("2", 2.0), ("+2.", 2.0), (".5", 0.5), ("-1e3", -1000.0), ("007", 7.0), ("", None)],
)
def test_plain_numbers(text: str, value: float | None) -> None:
    assert parse(text, Kind.NUMBER) == value


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1,500", "Write it without the comma: 1500."),
        ("1,234,567.5", "Write it without the comma: 1234567.5."),
        ("1,5", "Write it with a point: 1.5."),
        ("n/a", "Leave the cell empty"),
        ("NaN", "Leave the cell empty"),
        ("?", "Leave the cell empty"),
        ("12 gpm", "Write the number alone"),
        ("5'", "Write the number alone"),
        ("1e400", "No number so large"),
        ("inf", "Write a plain number"),
        ("1_000", "Write the number alone"),
        ("0x10", "Write the number alone"),
        ("½", "Write a plain number"),
        ("--5", "Write a plain number"),
        ("true", "Write a plain number"),
    ],
)
def test_what_is_no_number_gets_its_own_cure(text: str, says: str) -> None:
    assert cure(text, Kind.NUMBER).startswith(says)


@pytest.mark.parametrize("text", ["yes", "Yes", "TRUE", "1"])
def test_words_for_yes(text: str) -> None:
    assert parse(text, Kind.YES_NO) is True


@pytest.mark.parametrize("text", ["no", "No", "false", "0"])
def test_words_for_no(text: str) -> None:
    assert parse(text, Kind.YES_NO) is False


@pytest.mark.parametrize("text", ["y", "2", "maybe", "1.0"])
def test_other_words_are_neither(text: str) -> None:
    assert "yes, no, true, false, 1, 0" in cure(text, Kind.YES_NO)


@pytest.mark.parametrize(
    ("text", "months"),
    [
        ("4", "4"),
        ("4-6", "4,5,6"),
        ("11-3", "1,2,3,11,12"),
        ("3,4,5", "3,4,5"),
        ("5, 3 , 4-4", "3,4,5"),
        ("1-12", "1,2,3,4,5,6,7,8,9,10,11,12"),
        ("5-4", "1,2,3,4,5,6,7,8,9,10,11,12"),
    ],
)
def test_months(text: str, months: str) -> None:
    assert parse(text, Kind.MONTHS) == months


@pytest.mark.parametrize("text", ["0", "13", "4-", "April", "11-Apr", "4–11", "2024-04-11", "4,,5"])
def test_what_is_no_list_of_months(text: str) -> None:
    assert "4-11 or 3,4,5" in cure(text, Kind.MONTHS)


@pytest.mark.parametrize("text", ["a\nb", "a\tb", "a\x00b", "a\x1b[31mb", "a\u2028b", "a\u202eb"])
def test_text_with_what_does_not_print_is_refused(text: str) -> None:
    assert "one line" in cure(text, Kind.TEXT)


@pytest.mark.parametrize(
    "text", ["=1+1", "@x", "-3", "+4", "Żółw", "消防", "O'Neil, “Bob”", "a\u00a0b"]
)
def test_any_other_text_is_kept_as_it_is(text: str) -> None:
    assert parse(text, Kind.TEXT) == text


def test_a_factor_converts_to_twelve_digits() -> None:
    assert parse("3.785411784", Kind.NUMBER, 1 / 3.785411784) == 1.0
    assert math.isclose(float(parse("10", Kind.NUMBER, 1 / 3) or 0), 10 / 3, rel_tol=1e-11)
