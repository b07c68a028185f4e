"""Spreadsheets: a header that stays, text that is never run as a formula, the same bytes."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO
from itertools import chain, islice
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import pandas as pd
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE, Cell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from haulshed.units import UNITS, split_header

#: What stands in a cell of numbers where it is known that there is none in reach.
NONE_IN_REACH = "none"
#: The same inputs must give the same bytes: the file's own dates are fixed.
_FIXED_DATE = (2000, 1, 1, 0, 0, 0)
_FIXED_STAMP = rb"\g<1>2000-01-01T00:00:00Z"
_STAMPS = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*")
#: Widths of columns [characters], and the rows that they are measured on.
_NARROWEST, _WIDEST = 8, 60
_ROWS_MEASURED = 200

_HEAD_FONT, _TITLE_FONT = Font(bold=True), Font(bold=True, size=14)
_HEAD_FILL = PatternFill("solid", fgColor="E8E4DC")
_HEAD_EDGE = Border(bottom=Side(style="medium"))
_WRAPPED = Alignment(wrap_text=True, vertical="top")
#: Number formats by the unit at the end of a header; whole numbers else.
_FORMATS = {"miles": "#,##0.00", "km": "#,##0.00", "min": "#,##0.0", "psi": "#,##0.0"}
_DEGREES = ("lon", "lat")

Value = str | float | int | bool | None


@dataclass(frozen=True, slots=True)
class Formula:
    """A cell that the spreadsheet works out; begins with an equals sign."""

    text: str


Row = Sequence[Value | Formula]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A table under a header."""

    name: str
    header: Sequence[str]
    rows: Iterable[Row]


def add_table(book: Workbook, sheet: Sheet) -> None:
    """Write a table into `book`, which was opened to write only."""
    rows = iter(sheet.rows)
    first = list(islice(rows, _ROWS_MEASURED))
    page = _page(book, sheet.name, _widths(sheet.header, first))
    page.freeze_panes = "B2"
    page.append([_head(page, name) for name in sheet.header])
    # One cell a column, filled anew for each row: a row is written out as it is appended.
    cells = [_body(page, name) for name in sheet.header]
    count = 1
    for row in chain(first, rows):
        page.append([_filled(cell, value) for cell, value in zip(cells, row, strict=True)])
        count += 1
    page.auto_filter.ref = f"A1:{get_column_letter(len(cells))}{count}"


def add_text(book: Workbook, name: str, lines: Iterable[tuple[str, str]]) -> None:
    """Write a sheet of lines, each with a word before it; the first is the title."""
    page = _page(book, name, (22, 110))
    for number, (word, text) in enumerate(lines):
        cells = [_filled(_plain(page), word), _filled(_plain(page), text)]
        for cell in cells[: None if number == 0 else 1]:
            if cell is not None:
                cell.font = _TITLE_FONT if number == 0 else _HEAD_FONT
        page.append(cells)


def rows_of(table: pd.DataFrame) -> Iterator[list[Value]]:
    """Yield a table's rows as plain values: yes or no, None where empty, none where infinite."""
    columns = [_plain_values(table[name]) for name in table.columns]
    yield from map(list, zip(*columns, strict=True)) if columns else iter(())


def save(book: Workbook, file: Path) -> None:
    """
    Write `book` to `file`; the same content gives the same bytes.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    dated = BytesIO()
    book.save(dated)
    with ZipFile(dated) as parts, ZipFile(file, "w", ZIP_DEFLATED) as settled:
        for name in parts.namelist():
            info = ZipInfo(name, date_time=_FIXED_DATE)
            info.compress_type = ZIP_DEFLATED
            settled.writestr(info, _STAMPS.sub(_FIXED_STAMP, parts.read(name)))


def _page(book: Workbook, name: str, widths: Sequence[float]) -> Worksheet:
    page: Worksheet = book.create_sheet(name)
    for number, width in enumerate(widths, start=1):
        page.column_dimensions[get_column_letter(number)].width = width
    return page


def _widths(header: Sequence[str], rows: Sequence[Row]) -> list[float]:
    longest = [len(name) for name in header]
    for row in rows:
        for at, value in enumerate(row):
            if isinstance(value, str):
                longest[at] = max(longest[at], len(value))
    return [min(max(length + 3, _NARROWEST), _WIDEST) for length in longest]


def _head(page: Worksheet, name: str) -> Cell:
    cell: Cell = WriteOnlyCell(page, name)
    cell.font, cell.fill, cell.border = _HEAD_FONT, _HEAD_FILL, _HEAD_EDGE
    return cell


def _body(page: Worksheet, name: str) -> Cell:
    cell: Cell = WriteOnlyCell(page)
    unit = split_header(name)[1]
    if name.endswith(_DEGREES):
        cell.number_format = "0.000000"
    elif unit is not None and unit.suffix in UNITS:
        cell.number_format = _FORMATS.get(unit.suffix, "#,##0")
    return cell


def _plain(page: Worksheet) -> Cell:
    cell: Cell = WriteOnlyCell(page)
    cell.alignment = _WRAPPED
    return cell


def _filled(cell: Cell, value: Value | Formula) -> Cell | None:
    """Return `cell` with a value in it; None, which writes nothing, where there is none."""
    if value is None or value == "":
        return None
    if isinstance(value, Formula):
        cell.value = value.text
    elif isinstance(value, str):
        cell.value = ILLEGAL_CHARACTERS_RE.sub("", value)
        cell.data_type = "s"  # text that begins with an equals sign stays text
    else:
        cell.value = value
    return cell


def _plain_values(values: "pd.Series[Any]") -> list[Value]:
    if pd.api.types.is_bool_dtype(values):
        words = values.map({True: "yes", False: "no"})
        return words.astype(object).where(values.notna(), None).tolist()
    plain: list[Value] = values.astype(object).where(values.notna(), None).tolist()
    if pd.api.types.is_float_dtype(values):
        return [NONE_IN_REACH if value == float("inf") else value for value in plain]
    return plain
