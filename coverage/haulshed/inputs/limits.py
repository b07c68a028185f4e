"""How large a file from outside may be, and what is said of one that is larger."""

from pathlib import Path

from haulshed.errors import InputError
from haulshed.inputs.raw_table import unreadable

#: A table or layer file as it lies on disk [bytes].
MAX_FILE_BYTES = 2 * 1024**3
#: A file of text that is held whole, CSV or GeoJSON [bytes]. A larger one fits a GeoPackage.
MAX_TEXT_BYTES = 512 * 1024**2
#: What a file may take up once it is unpacked: the parts of a workbook, the columns of a layer
#: [bytes]. A county of 300,000 parcels takes about a fifth of it.
MAX_UNPACKED_BYTES = 1024**3
#: An OpenStreetMap file of XML once it is unpacked [bytes]. It is read in passing and not kept.
MAX_OSM_BYTES = 4 * 1024**3
#: Points of a road file, and points named by its roads, 24 bytes each while it is read. A US state
#: has some 30 million.
MAX_OSM_POINTS = 100_000_000
#: Columns of a table. SQLite, and so a GeoPackage, takes no more either.
MAX_COLUMNS = 2000
#: Rows of a table.
MAX_ROWS = 5_000_000
#: Rows times columns.
MAX_CELLS = 100_000_000
#: One cell [characters]. A spreadsheet takes 32,767; an outline as text may be longer.
MAX_CELL_CHARS = 4_000_000


def refuse_large_file(path: Path, table: str, most: int = MAX_FILE_BYTES) -> None:
    """
    Raise if a file is larger than `most` bytes.

    Raises
    ------
    InputError
        If it is, or if it is not there.
    """
    try:
        size = path.stat().st_size
    except (OSError, ValueError) as error:  # ValueError: a null character in the path
        msg = f"{path.name} cannot be read: {error}."
        raise InputError(msg) from error
    refuse_beyond(path, table, size, most, "bytes")


def refuse_large_table(path: Path, table: str, *, rows: int, columns: int) -> None:
    """
    Raise if a file has more rows, columns or cells than are read.

    Raises
    ------
    TableError
        If it has.
    """
    refuse_beyond(path, table, columns, MAX_COLUMNS, "columns")
    refuse_beyond(path, table, rows, MAX_ROWS, "rows")
    refuse_beyond(path, table, rows * columns, MAX_CELLS, "cells")


def refuse_beyond(path: Path, table: str, size: int, most: int, what: str) -> None:
    """
    Raise if a file has more of something than is read.

    Raises
    ------
    TableError
        If `size` is greater than `most`.
    """
    if size > most:
        rule = f"{path.name} has more than the {most:,} {what} that are read"
        raise unreadable(table, rule, "Keep what the district needs, and save that alone.")
