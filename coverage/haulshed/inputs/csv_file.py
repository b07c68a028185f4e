"""Reading CSV: UTF-8, commas, one header row, every row as long as it."""

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from haulshed.errors import Fault
from haulshed.inputs.limits import (
    MAX_CELL_CHARS,
    MAX_TEXT_BYTES,
    refuse_large_file,
    refuse_large_table,
)
from haulshed.inputs.raw_table import RawTable, refuse_twice, unreadable
from haulshed.inputs.text_file import read_text
from haulshed.tables.formula_guard import unguarded
from haulshed.tables.table import Found

_OTHER_SEPARATORS = (";", "\t", "|")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    line: int  #: line of the file on which it ends
    cells: list[str]


def read_csv(path: Path, table: str) -> RawTable:
    """
    Return a CSV file as text by header; rows with no value in any cell are left out and counted.

    Raises
    ------
    InputError
        If the file is not UTF-8.
    TableError
        If it is larger than is read, no CSV, or its header cannot be used.
    """
    refuse_large_file(path, table, MAX_TEXT_BYTES)
    rows = _rows(read_text(path, path.name), table, path.name)
    if not rows:
        raise unreadable(table, f"{path.name} is empty", "Write a header and the rows.")
    headers = _headers(rows[0].cells, table, path.name)
    full = [row for row in rows[1:] if any(row.cells)]
    refuse_large_table(path, table, rows=len(full), columns=len(headers))
    blank = len(rows) - 1 - len(full)
    return RawTable(
        columns={
            header: [row.cells[at] if at < len(row.cells) else "" for row in full]
            for at, header in enumerate(headers)
        },
        places=[f"line {row.line}" for row in full],
        found=list(_ragged(full, len(headers), table)),
        notes=(f"{path.name}: {blank} empty lines passed over",) if blank else (),
    )


def _rows(text: str, table: str, name: str) -> list[_Row]:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        with _long_cells():
            return [
                _Row(line=reader.line_num, cells=[unguarded(cell.strip()) for cell in cells])
                for cells in reader
            ]
    except csv.Error as error:
        rule = f"{name} is no CSV at line {reader.line_num}: {error}"
        raise unreadable(table, rule, "Mend the quotes on that line or above it.") from error


@contextmanager
def _long_cells() -> Iterator[None]:
    """Let a cell hold a long outline as text, as long as this lasts."""
    before = csv.field_size_limit(MAX_CELL_CHARS)
    try:
        yield
    finally:
        csv.field_size_limit(before)


def _headers(cells: Sequence[str], table: str, name: str) -> Sequence[str]:
    used = [mark for mark in _OTHER_SEPARATORS if mark in cells[0]] if len(cells) == 1 else []
    if used:
        rule = f"{name} parts its columns by {used[0]!r}, not by commas"
        raise unreadable(table, rule, "Save it as CSV with commas and decimal points.")
    empty = [str(at + 1) for at, header in enumerate(cells) if not header]
    if empty:
        rule = f"{name} has no header over column {', '.join(empty)}"
        raise unreadable(table, rule, "Name every column, or delete the ones without a name.")
    refuse_twice(cells, table, name)
    return cells


def _ragged(rows: Sequence[_Row], width: int, table: str) -> Iterable[Found]:
    for position, row in enumerate(rows):
        if len(row.cells) != width:
            fault = Fault(
                table=table,
                row=f"line {row.line}",
                column="",
                value="",
                rule=f"has {len(row.cells)} cells where the header has {width}",
                cure="Put a text that holds a comma in double quotes; keep every comma.",
            )
            yield Found(position=position, fault=fault)
