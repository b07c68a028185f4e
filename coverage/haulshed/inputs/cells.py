"""From a cell as the file has it to a value of its column's kind; nothing is guessed."""

import math
import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from haulshed.tables.months import months_of
from haulshed.tables.table import Column, Kind

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_GROUPED = re.compile(r"[+-]?[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?")
_DECIMAL_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")
_WITH_WORDS = re.compile(r"[+-]?[0-9][0-9.,]*\s*[^0-9.,\s].*")
_NOT_KNOWN = {"n/a", "na", "nan", "none", "null", "nil", "unknown", "tbd", "-", "--", "?", "x"}
_YES_NO = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}
#: Kinds of character that are not text: control, surrogate, line and paragraph separators.
_NOT_TEXT = {"Cc", "Cs", "Zl", "Zp"}
#: What stands where a program could not read a character.
_LOST = "\ufffd"
#: Longest text of a cell, such as a name or an id.
MAX_TEXT_CHARS = 1000
#: Marks that turn the direction of writing, so that a text can show as another one.
_TURNING = set("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
#: Digits kept of a converted number, so that 101.6 mm is 4 in and not a hair beside it.
_DIGITS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class BadCell:
    """What is wrong with a cell, and the cure."""

    rule: str
    cure: str


Cell = str | float | bool | None


def as_text(value: object) -> str:
    """
    Return a cell of any format as the text that a CSV would hold, stripped; empty for no value.

    Examples
    --------
    >>> as_text(" 7 "), as_text(7.0), as_text(True), as_text(None), as_text(float("nan"))
    ('7', '7', 'true', '', '')
    """
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value).strip()


def parse_cells(
    texts: Sequence[str], column: Column, factor: float
) -> tuple[list[Cell], dict[int, BadCell]]:
    """
    Return the cells as values of the column's kind, and what is wrong with those that are none.

    `factor` is what one of the file's unit is in the column's. Empty and bad cells are None.
    """
    known: dict[str, Cell | BadCell] = {"": None}
    distinct = [text for text in dict.fromkeys(texts) if text not in known]
    parse = _PARSERS[column.kind]
    known.update((text, _converted(parse(text, column), factor)) for text in distinct)
    values = [known[text] for text in texts]
    bad = {at: value for at, value in enumerate(values) if isinstance(value, BadCell)}
    return [None if isinstance(value, BadCell) else value for value in values], bad


def _converted(value: "Cell | BadCell", factor: float) -> "Cell | BadCell":
    if factor == 1 or not isinstance(value, float):
        return value
    return float(f"{value * factor:.{_DIGITS}g}")


def _text(text: str, column: Column) -> Cell | BadCell:
    # What can be printed holds none of these, and a county has millions of texts.
    if not text.isprintable() and any(
        unicodedata.category(char) in _NOT_TEXT or char in _TURNING for char in text
    ):
        return BadCell(
            rule="holds a line break or another control character",
            cure="Type the text again on one line.",
        )
    if _LOST in text:
        return BadCell(
            rule=f"holds a character that was lost ({_LOST})",
            cure="Type the text again, or export the file again as UTF-8.",
        )
    if len(text) > MAX_TEXT_CHARS:
        return BadCell(
            rule=f"is longer than {MAX_TEXT_CHARS:,} characters",
            cure="Shorten it; is a quote missing above?",
        )
    folded = text.casefold()
    return folded if folded in column.choices else text


def _number(text: str, column: Column) -> Cell | BadCell:
    value = float(text) if _NUMBER.fullmatch(text) else math.nan
    if math.isfinite(value):
        return value
    unit = f" of {column.unit}" if column.unit else ""
    return BadCell(rule=f"is not a number{unit}", cure=_number_cure(text))


def _number_cure(text: str) -> str:
    if _NUMBER.fullmatch(text):
        return "No number so large can be meant."
    if _GROUPED.fullmatch(text):
        return f"Write it without the comma: {text.replace(',', '')}."
    if _DECIMAL_COMMA.fullmatch(text):
        return f"Write it with a point: {text.replace(',', '.')}."
    if text.casefold() in _NOT_KNOWN:
        return "Leave the cell empty where the value is not known."
    if _WITH_WORDS.fullmatch(text):
        return "Write the number alone; the header says the unit."
    return "Write a plain number, such as 1500 or 2.5, or leave the cell empty."


def _whole(text: str, column: Column) -> Cell | BadCell:
    value = _number(text, column)
    if isinstance(value, float) and not value.is_integer():
        return BadCell(rule="is not a whole number", cure="Write a count, such as 2.")
    return value


def _yes_no(text: str, _column: Column) -> Cell | BadCell:
    found = _YES_NO.get(text.casefold())
    if found is None:
        return BadCell(rule="is neither yes nor no", cure="Use one of: yes, no, true, false, 1, 0.")
    return found


def _months(text: str, _column: Column) -> Cell | BadCell:
    try:
        return ",".join(map(str, months_of(text)))
    except ValueError as error:
        return BadCell(
            rule=f"is no list of months: {error}",
            cure="Write 4-11 or 3,4,5; set the cell to text where a spreadsheet makes it a date.",
        )


_PARSERS: dict[Kind, Callable[[str, Column], Cell | BadCell]] = {
    Kind.TEXT: _text,
    Kind.NUMBER: _number,
    Kind.WHOLE: _whole,
    Kind.YES_NO: _yes_no,
    Kind.MONTHS: _months,
    Kind.GEOMETRY: lambda text, _column: text,  # read as geometry later
}
