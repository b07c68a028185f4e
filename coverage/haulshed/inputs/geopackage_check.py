"""Look into a GeoPackage before GDAL opens it: it is a database, and may hold code."""

import re
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path

from haulshed.inputs.raw_table import unreadable
from haulshed.tables.table import shown

#: Where SQLite's header says whose file it is, and what GeoPackages of all versions say there (OGC
#: 12-128, requirement 2). GDAL would open any other database by another driver.
_SIGNED = slice(68, 72)
_SIGNATURES = (b"GPKG", b"GP10", b"GP11")
#: A virtual table of the only module that a GeoPackage needs, the spatial index (OGC 12-128, annex
#: F.3), under a bare or a quoted name.
_INDEX = re.compile(
    r"""create virtual table (?:"(?:[^"]|"")*"|'(?:[^']|'')*'|`[^`]*`|\[[^]]*\]|\w+) """
    r"""using rtree ?\("""
)
#: Values of `hidden` in ``PRAGMA table_xinfo`` for columns that are worked out when they are read.
_GENERATED = (2, 3)
_EXPORT = "Export its layers again as plain tables, from a source that you trust."


def check_geopackage(path: Path, table: str) -> None:
    """
    Refuse a GeoPackage in which reading would run code, or that is not written out.

    Views and columns that are worked out run their SQL when they are read; virtual tables may
    read other files. Triggers are let be: they run on writing, and nothing is written.

    Raises
    ------
    TableError
        If it is no GeoPackage, is damaged, or holds such things.
    """
    with path.open("rb") as file:
        signed = file.read(_SIGNED.stop)[_SIGNED]
    if signed not in _SIGNATURES:
        rule = f"{path.name} is a database, but no GeoPackage"
        raise unreadable(table, rule, "Export it again as GeoPackage.")
    waiting = path.with_name(f"{path.name}-wal")
    if waiting.is_file() and waiting.stat().st_size:
        rule = f"{path.name} has changes beside it, in {waiting.name}, that are not written into it"
        raise unreadable(table, rule, "Close the program that has it open.")
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?immutable=1", uri=True)) as base:
            faults = list(_code(base))
    except sqlite3.Error as error:
        rule = f"{path.name} is a damaged database: {shown(error)}"
        raise unreadable(table, rule, "Export it again.") from error
    if faults:
        raise unreadable(table, f"{path.name} {faults[0]}", _EXPORT)


def _code(base: sqlite3.Connection) -> Iterable[str]:
    """Yield what of the database would run when it is read."""
    rows = base.execute("SELECT type, name, sql FROM sqlite_master").fetchall()
    for kind, name, sql in rows:
        making = " ".join(str(sql or "").casefold().split())
        if kind == "view":
            yield f"has a view, '{shown(name)}', whose SQL would run when it is read"
        elif making.startswith("create virtual") and not _INDEX.match(making):
            yield f"has a virtual table, '{shown(name)}', which may read other files"
        elif kind == "table" and not making.startswith("create virtual"):
            quoted = str(name).replace('"', '""')
            columns = base.execute(f'PRAGMA table_xinfo("{quoted}")').fetchall()
            if any(column[-1] in _GENERATED for column in columns):
                yield f"has a table, '{shown(name)}', with a column that is worked out by SQL"
