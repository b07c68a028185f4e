"""Reading a sheet of a workbook (XLSX): the values that were kept, as text."""

import warnings
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime, time
from pathlib import Path
from zipfile import BadZipFile

import openpyxl
from openpyxl.utils import get_column_letter
from openpyxl.utils.exceptions import InvalidFileException

from haulshed.errors import Fault, InputError
from haulshed.inputs.cells import as_text
from haulshed.inputs.limits import MAX_COLUMNS, refuse_beyond, refuse_large_table
from haulshed.inputs.raw_table import RawTable, layer_name, refuse_twice, unreadable
from haulshed.inputs.workbook_check import check_workbook
from haulshed.tables.formula_guard import unguarded
from haulshed.tables.table import Found, shown

XLSX_SUFFIX = ".xlsx"
#: A sheet has no more rows (ECMA-376).
MAX_SHEET_ROWS = 1_048_576
#: A spreadsheet keeps this many digits of a number; of a longer one the rest has become zeros
#: (Microsoft, Excel specifications and limits: number precision).
_DIGITS_KEPT = 15
_ERRORS = {"#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A"}
#: What the library raises on parts that are not as the standard has them.
_DAMAGED = (
    *(BadZipFile, InvalidFileException, SyntaxError, LookupError, TypeError, ValueError),
    *(AttributeError, OSError, EOFError, ArithmeticError, RecursionError, NotImplementedError),
)

_Cells = Sequence[object]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    number: int  #: as the spreadsheet counts
    cells: _Cells  #: formulas as their text
    values: _Cells  #: formulas as the value that was kept


def read_xlsx(path: Path, table: str, layer: str | None) -> RawTable:
    """
    Return a sheet as text by header: the first row that is not empty, and the rows below it.

    Empty rows are left out. A formula counts as the value that the spreadsheet kept for it. A cell
    that holds an error, a formula without a value or a number too long to be kept is a fault of
    its row, and so is a value beyond the headers.

    Raises
    ------
    InputError
        If the file cannot be read, is larger than is read, or has not that sheet.
    """
    check_workbook(path, table)
    try:
        rows = _rows(path, table, layer)
    except InputError:
        raise
    except _DAMAGED as error:
        rule = f"{path.name} cannot be read as a workbook: {shown(error)}"
        raise unreadable(table, rule, "Open it in a spreadsheet and save it again.") from error
    if not rows:
        raise unreadable(table, f"{path.name} has an empty sheet", "Write a header and the rows.")
    headers = _headers(rows, table, path.name)
    body = rows[1:]
    refuse_large_table(path, table, rows=len(body), columns=len(headers))
    return RawTable(
        columns={
            header: [_text(row.values[at]) if at < len(row.values) else "" for row in body]
            for at, header in enumerate(headers)
        },
        places=[f"row {row.number}" for row in body],
        found=[one for at, row in enumerate(body) for one in _faults(row, at, headers, table)],
    )


def _rows(path: Path, table: str, layer: str | None) -> list[_Row]:
    """Return the rows that are not empty, the header's among them."""
    cells = dict(_full(path, table, layer, kept=False))
    formulas = any(_is_formula(cell) for row in cells.values() for cell in row)
    values = dict(_full(path, table, layer, kept=True)) if formulas else cells
    return [
        _Row(number=number, cells=row, values=values.get(number, ()))
        for number, row in cells.items()
    ]


def _full(path: Path, table: str, layer: str | None, *, kept: bool) -> Iterator[tuple[int, _Cells]]:
    """Yield each row that is not empty with its number; formulas as text, or as values kept."""
    with path.open("rb") as file, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of styles and charts, which are not read
        book = openpyxl.load_workbook(file, read_only=True, data_only=kept, keep_links=False)
        with closing(book):
            names = [sheet.title for sheet in book.worksheets]
            sheet = book[layer_name(path, table, layer, names)]
            sheet.reset_dimensions()  # what the file says of them is not relied on
            for number, row in enumerate(sheet.iter_rows(values_only=True), 1):
                refuse_beyond(path, table, number, MAX_SHEET_ROWS, "rows")
                refuse_beyond(path, table, len(row), MAX_COLUMNS, "columns")
                if any(cell not in (None, "") for cell in row):
                    yield number, row


def _headers(rows: Sequence[_Row], table: str, name: str) -> list[str]:
    headers = [_text(cell) for cell in rows[0].values]
    while headers and not headers[-1]:
        headers.pop()
    empty = [get_column_letter(at) for at, header in enumerate(headers, 1) if not header]
    if empty:
        rule = f"{name} has no header over column {', '.join(empty)}"
        raise unreadable(table, rule, "Name every column, or delete the ones without a name.")
    refuse_twice(headers, table, name)
    return headers


def _text(cell: object) -> str:
    if isinstance(cell, datetime) and cell.time() == time():
        return cell.date().isoformat()
    return unguarded(as_text(cell))


def _is_formula(cell: object) -> bool:
    # A formula over several cells is no text but an object of the library's.
    plain = isinstance(cell, str | int | float | None) or hasattr(cell, "isoformat")
    return not plain or (isinstance(cell, str) and cell.startswith("="))


def _faults(row: _Row, position: int, headers: Sequence[str], table: str) -> Iterator[Found]:
    for at, cell in enumerate(row.cells):
        value = row.values[at] if at < len(row.values) else None
        fault = _fault(cell, value, beyond=at >= len(headers))
        if fault is not None:
            rule, cure = fault
            yield Found(
                position=position,
                fault=Fault(
                    table=table,
                    row=f"row {row.number}",
                    column=shown(headers[at])
                    if at < len(headers)
                    else f"column {get_column_letter(at + 1)}",
                    value=shown(cell if value is None else value),
                    rule=rule,
                    cure=cure,
                ),
            )


def _fault(cell: object, value: object, *, beyond: bool) -> tuple[str, str] | None:
    """Return what is wrong with a cell that the spreadsheet has, and the cure."""
    if beyond:
        bare = cell in (None, "")
        return None if bare else ("stands under no header", "Name the column, or empty the cell.")
    if value is None and cell is not None:
        return (
            "is a formula without a value",
            "Open the file in a spreadsheet and save it there, or write the value.",
        )
    if value in _ERRORS:
        return "is an error of the spreadsheet", "Mend the formula there, or write the value."
    if isinstance(value, int | float) and abs(value) >= 10**_DIGITS_KEPT:
        return (
            f"has more than the {_DIGITS_KEPT} digits that a spreadsheet keeps",
            "Set the column to text and copy the numbers in again.",
        )
    return None
