"""Reading GeoPackage, GeoJSON, FlatGeobuf and shapefiles."""

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pyogrio
import shapely
from pyogrio.errors import (
    DataLayerError,
    DataSourceError,
    FieldError,
)
from pyproj import CRS
from pyproj.exceptions import CRSError as ProjError

from haulshed.errors import TableError
from haulshed.inputs.cells import as_text
from haulshed.inputs.raw_table import RawTable, Shapes, unreadable
from haulshed.inputs.text_file import read_bytes
from haulshed.tables.table import shown

#: How a file of each kind begins. GDAL goes by content, and would open anything under any name.
_BEGINS = {
    ".gpkg": (b"SQLite format 3\x00", "a GeoPackage"),
    ".geojson": (b"{", "GeoJSON"),
    ".json": (b"{", "GeoJSON"),
    ".fgb": (b"fgb", "a FlatGeobuf file"),
    ".shp": (b"\x00\x00\x27\x0a", "a shapefile"),
}
LAYER_SUFFIXES = tuple(_BEGINS)
_PEEKED = 64
_BOM = b"\xef\xbb\xbf"


def read_layer(path: Path, table: str, layer: str | None) -> RawTable:
    """
    Return a layer's attributes as text by header, and its geometry.

    Raises
    ------
    TableError
        If the file is not what its name says, cannot be opened, or has not that layer.
    """
    _check_begin(path, table)
    with _gdal(path, table) as notes:
        name = _layer_name(path, table, layer)
        meta, content = pyogrio.read_arrow(path, layer=name)
        columns: dict[str, list[object]] = content.to_pydict()
        shapes = _shapes(meta, columns)
    geometry_name = meta["geometry_name"] or "wkb_geometry"
    return RawTable(
        columns={
            header.strip(): [as_text(value) for value in values]
            for header, values in columns.items()
            if header != geometry_name
        },
        places=[f"feature {at + 1}" for at in range(content.num_rows)],
        shapes=shapes,
        notes=[f"{path.name}: {note}" for note in notes],
    )


def _check_begin(path: Path, table: str) -> None:
    begin, kind = _BEGINS[path.suffix.lower()]
    head = read_bytes(path, path.name)[:_PEEKED].removeprefix(_BOM)
    if not head.lstrip().startswith(begin) and not head.startswith(begin):
        rule = f"{path.name} is not {kind} by its first bytes"
        raise unreadable(table, rule, "Export it again, or correct the ending of its name.")


def _layer_name(path: Path, table: str, layer: str | None) -> str:
    names = [str(name) for name in pyogrio.list_layers(path)[:, 0]]
    listed = ", ".join(names)
    if layer is not None and layer not in names:
        rule = f"{path.name} has no layer '{shown(layer)}'"
        raise unreadable(table, rule, f"It has: {listed}.")
    if layer is None and len(names) != 1:
        rule = f"{path.name} has {len(names)} layers"
        raise unreadable(table, rule, f'Name one in district.toml, layer = "…", of: {listed}.')
    return layer or names[0]


def _shapes(meta: dict[str, Any], columns: dict[str, list[object]]) -> Shapes | None:
    wkb = columns.get(meta["geometry_name"] or "wkb_geometry")
    if wkb is None:
        return None
    # A geometry that cannot be read becomes None, and so a fault of its row.
    geometry = shapely.from_wkb(np.array(wkb, dtype=object), on_invalid="ignore")
    return Shapes(geometry=geometry, crs=CRS.from_user_input(meta["crs"]) if meta["crs"] else None)


@contextmanager
def _gdal(path: Path, table: str) -> Iterator[list[str]]:
    """Turn GDAL's errors into ours, and gather its warnings."""
    notes: list[str] = []
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        try:
            yield notes
        except TableError:
            raise
        except (DataSourceError, DataLayerError, FieldError, ProjError, ValueError) as error:
            rule = f"{path.name} cannot be read: {shown(error)}"
            raise unreadable(table, rule, "Open it in a GIS and export it again.") from error
    notes.extend(sorted({shown(warning.message) for warning in caught}))
