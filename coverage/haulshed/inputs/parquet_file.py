"""Reading Parquet, and GeoParquet, whose metadata say which column is the geometry."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
from pyproj import CRS
from pyproj.exceptions import CRSError as ProjError

from haulshed.errors import InputError
from haulshed.inputs.arrow_columns import Gathered
from haulshed.inputs.encoded_shapes import shapes_from_wkb
from haulshed.inputs.limits import (
    MAX_UNPACKED_BYTES,
    refuse_beyond,
    refuse_large_file,
    refuse_large_table,
)
from haulshed.inputs.raw_table import RawTable, Shapes, unreadable
from haulshed.tables.table import shown

PARQUET_SUFFIXES = (".parquet", ".geoparquet")
#: The coordinate system of a GeoParquet file that names none (GeoParquet 1.1, column metadata).
_BY_DEFAULT = "OGC:CRS84"
#: The one encoding of geometry that is read; the others of GeoParquet 1.1 are for points alone.
_ENCODING = "WKB"
_BATCH_ROWS = 2048
_DAMAGED = (
    *(OSError, ValueError, LookupError, TypeError, AttributeError, RecursionError),
    *(pa.ArrowException, ProjError),
)


def read_parquet(path: Path, table: str) -> RawTable:
    """
    Return a Parquet file's plain columns as text by header, and its geometry if it is GeoParquet.

    Raises
    ------
    InputError
        If the file cannot be read, is larger than is read, or holds geometry in another form than
        well-known binary.
    """
    refuse_large_file(path, table)
    try:
        return _read(path, table)
    except InputError:
        raise
    except _DAMAGED as error:
        rule = f"{path.name} cannot be read as Parquet: {shown(error)}"
        raise unreadable(table, rule, "Export it again.") from error


def _read(path: Path, table: str) -> RawTable:
    with pq.ParquetFile(path) as file:
        _check_size(path, table, file.metadata)
        schema = file.schema_arrow
    # A text that fills many rows stands in the file once, and so it must be in the memory.
    texts = [one.name for one in schema if pa.types.is_string(one.type)]
    geometry, crs = _geometry(path, table, schema.metadata or {})
    with pq.ParquetFile(path, read_dictionary=[*texts, *([geometry] if geometry else [])]) as file:
        gathered = Gathered(path, table, file.schema_arrow, geometry)
        for batch in file.iter_batches(_BATCH_ROWS):
            batch.validate(full=True)
            gathered.add(batch)
    shapes = None
    if gathered.geometry is not None:
        shapes = Shapes(geometry=shapes_from_wkb(gathered.geometry), crs=crs)
    return RawTable(
        columns=gathered.columns,
        places=[f"row {at + 1}" for at in range(gathered.rows)],
        shapes=shapes,
        notes=[f"{path.name}: {note}" for note in gathered.notes],
    )


def _check_size(path: Path, table: str, about: pq.FileMetaData) -> None:
    """Raise if the file says of itself that it is larger than is read."""
    refuse_large_table(path, table, rows=about.num_rows, columns=about.num_columns)
    size = sum(about.row_group(at).total_byte_size for at in range(about.num_row_groups))
    refuse_beyond(path, table, size, MAX_UNPACKED_BYTES, "bytes unpacked")


def _geometry(
    path: Path, table: str, metadata: Mapping[bytes, bytes]
) -> tuple[str | None, CRS | None]:
    """Return the column that holds the geometry, if one does, and its coordinate system."""
    if b"geo" not in metadata:
        return None, None
    geo: dict[str, Any] = json.loads(metadata[b"geo"])
    name = str(geo["primary_column"])
    about: dict[str, Any] = geo["columns"][name]
    if about["encoding"] != _ENCODING:
        rule = f"{path.name} has its geometry as {shown(about['encoding'])}"
        raise unreadable(table, rule, f"Export it with the geometry encoded as {_ENCODING}.")
    crs = about.get("crs", _BY_DEFAULT)
    if isinstance(crs, dict):
        return name, CRS.from_json_dict(crs)
    return name, None if crs is None else CRS.from_user_input(_BY_DEFAULT)
