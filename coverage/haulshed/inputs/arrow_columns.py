"""Columns of Arrow, batch by batch, into text by header; stopped where there is too much of it."""

from pathlib import Path
from typing import Any

import pyarrow as pa

from haulshed.inputs.cells import as_text
from haulshed.inputs.limits import MAX_UNPACKED_BYTES, refuse_beyond, refuse_large_table
from haulshed.inputs.raw_table import refuse_twice
from haulshed.tables.table import shown


class Gathered:
    """
    The columns of a table, as far as they have come.

    Attributes
    ----------
    rows
        How many have come.
    columns
        Text by header.
    geometry
        Well-known binary; None if the table has no such column.
    notes
        What of the file is not read.

    Raises
    ------
    TableError
        If the table has more columns than are read, or two of one name.
    """

    def __init__(self, path: Path, table: str, schema: pa.Schema, geometry: str | None) -> None:
        self._path, self._table = path, table
        self.rows = 0
        self._bytes = 0
        refuse_large_table(path, table, rows=0, columns=len(schema))
        self._fields = {
            at: field.name.strip()
            for at, field in enumerate(schema)
            if field.name != geometry and _is_plain(field.type)
        }
        refuse_twice(list(self._fields.values()), table, path.name)
        self._geometry_at = schema.get_field_index(geometry) if geometry else -1
        self.columns: dict[str, list[str]] = {name: [] for name in self._fields.values()}
        self.geometry: list[bytes | None] | None = None if self._geometry_at < 0 else []
        skipped = [
            shown(field.name)
            for at, field in enumerate(schema)
            if at not in self._fields and at != self._geometry_at
        ]
        self.notes = [f"not read, since no plain cells: {', '.join(skipped)}"] if skipped else []

    def add(self, batch: pa.RecordBatch) -> None:
        """
        Take the next rows.

        Raises
        ------
        TableError
            If there is more than is read.
        """
        self.rows += batch.num_rows
        self._bytes += batch.nbytes
        columns = len(self.columns)
        refuse_large_table(self._path, self._table, rows=self.rows, columns=columns)
        what = "bytes of cells"
        refuse_beyond(self._path, self._table, self._bytes, MAX_UNPACKED_BYTES, what)
        for at, name in self._fields.items():
            self.columns[name].extend(map(as_text, _values(batch.column(at))))
        if self.geometry is not None:
            self.geometry.extend(_values(batch.column(self._geometry_at)))


def _is_plain(kind: pa.DataType) -> bool:
    """Return whether a cell of this type is one value that a spreadsheet could show."""
    if pa.types.is_dictionary(kind):
        return _is_plain(kind.value_type)
    return not (pa.types.is_nested(kind) or _is_bytes(kind))


def _is_bytes(kind: pa.DataType) -> bool:
    return bool(
        pa.types.is_binary(kind)
        or pa.types.is_large_binary(kind)
        or pa.types.is_fixed_size_binary(kind)
    )


def _values(column: pa.Array) -> list[Any]:
    """Return the values; those that a dictionary holds once are held once here too."""
    if not pa.types.is_dictionary(column.type):
        return list(column.to_pylist())
    words = column.dictionary.to_pylist()
    return [None if at is None else words[at] for at in column.indices.to_pylist()]
