"""Reading CSV: UTF-8, commas, one header row, every row as long as it."""

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

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


class _Rows(NamedTuple):
    """A file taken apart, one cell after the other: a list a row takes twice the time."""

    header: list[str]
    cells: list[str]  #: of all rows with any value, each as long as the header
    lines: list[int]  #: line of the file on which each row ends
    ragged: dict[int, int]  #: how many cells the file has, of each row with too few or too many
    blank: int  #: rows without any value


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
    if rows is None:
        raise unreadable(table, f"{path.name} is empty", "Write a header and the rows.")
    headers = _headers(rows.header, table, path.name)
    width = len(headers)
    refuse_large_table(path, table, rows=len(rows.lines), columns=width)
    return RawTable(
        columns={header: rows.cells[at::width] for at, header in enumerate(headers)},
        places=[f"line {line}" for line in rows.lines],
        found=list(_ragged(rows, table)),
        notes=(f"{path.name}: {rows.blank} empty lines passed over",) if rows.blank else (),
    )


def _rows(text: str, table: str, name: str) -> _Rows | None:
    """Return the rows of a file; None if it has none."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    plain = _plain if "'" in text else str.strip
    try:
        with _long_cells():
            found = ((reader.line_num, [*map(plain, cells)]) for cells in reader)
            _, header = next(found, (0, None))
            return None if header is None else _taken(header, found)
    except csv.Error as error:
        rule = f"{name} is no CSV at line {reader.line_num}: {error}"
        raise unreadable(table, rule, "Mend the quotes on that line or above it.") from error


def _taken(header: list[str], found: Iterable[tuple[int, list[str]]]) -> _Rows:
    width = len(header)
    cells: list[str] = []
    lines: list[int] = []
    ragged: dict[int, int] = {}
    blank = 0
    for line, row in found:
        if not any(row):
            blank += 1
            continue
        if len(row) != width:
            ragged[len(lines)] = len(row)
        cells.extend(row if len(row) == width else [*row, *[""] * width][:width])
        lines.append(line)
    return _Rows(header, cells, lines, ragged, blank)


def _plain(cell: str) -> str:
    return unguarded(cell.strip())


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


def _ragged(rows: _Rows, table: str) -> Iterable[Found]:
    for position, cells in rows.ragged.items():
        width = len(rows.header)
        beyond = f", or delete the cells beyond the first {width}" if cells > width else ""
        fault = Fault(
            table=table,
            row=f"line {rows.lines[position]}",
            column="",
            value="",
            rule=f"has {cells} cells where the header has {width}",
            cure=f"Put a text that holds a comma in double quotes; keep every comma{beyond}.",
        )
        yield Found(position=position, fault=fault)
