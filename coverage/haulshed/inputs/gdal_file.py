"""Reading GeoPackage, FlatGeobuf and shapefiles by GDAL, which is let see nothing else."""

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyogrio
from pyproj import CRS
from pyproj.exceptions import CRSError as ProjError

from haulshed.errors import TableError
from haulshed.inputs.arrow_columns import Gathered
from haulshed.inputs.encoded_shapes import shapes_from_wkb
from haulshed.inputs.geopackage_check import check_geopackage
from haulshed.inputs.limits import refuse_large_file
from haulshed.inputs.raw_table import RawTable, Shapes, layer_name, unreadable
from haulshed.tables.table import shown

#: How a file of each kind begins, and GDAL's driver for it. GDAL goes by content and would open
#: anything under any name: a list of other files and addresses (VRT), a chain of commands (GDALG).
_BEGINS = {
    ".gpkg": (b"SQLite format 3\x00", "a GeoPackage", "GPKG"),
    ".fgb": (b"fgb", "a FlatGeobuf file", "FlatGeobuf"),
    ".shp": (b"\x00\x00\x27\x0a", "a shapefile", "ESRI Shapefile"),
}
GDAL_SUFFIXES = tuple(_BEGINS)
_SHAPEFILE_ATTRIBUTES = ".dbf"
#: Rows read at once. Small, so that a limit is noticed before the memory is full.
_BATCH_ROWS = 2048
#: GDAL may copy columns of these formats without a look at each feature. From a damaged file that
#: gave lengths below zero; feature by feature it does not.
_EACH_FEATURE = {
    "OGR_GPKG_STREAM_BASE_IMPL": "YES",
    "OGR_FLATGEOBUF_STREAM_BASE_IMPL": "YES",
}


def read_gdal(path: Path, table: str, layer: str | None) -> RawTable:
    """
    Return a layer's attributes as text by header, and its geometry.

    Raises
    ------
    InputError
        If the file is not what its name says, is larger than is read, cannot be opened, holds
        what would run code, or has not that layer.
    """
    _check_before(path, table)
    with _gdal(path, table) as notes:
        name = layer_name(path, table, layer, _layers(path))
        _check_driver(path, table, name)
        opened = pyogrio.open_arrow(path, layer=name, batch_size=_BATCH_ROWS, use_pyarrow=True)
        with _each_feature(), opened as (meta, batches):
            geometry = meta["geometry_name"] or "wkb_geometry"
            gathered = Gathered(path, table, batches.schema, geometry)
            for batch in batches:
                batch.validate(full=True)
                gathered.add(batch)
        shapes = _shapes(meta, gathered)
    return RawTable(
        columns=gathered.columns,
        places=[f"feature {at + 1}" for at in range(gathered.rows)],
        shapes=shapes,
        notes=[f"{path.name}: {note}" for note in (*notes, *gathered.notes)],
    )


def _check_before(path: Path, table: str) -> None:
    """Raise if GDAL should not see the file."""
    begin, kind, _ = _BEGINS[path.suffix.lower()]
    refuse_large_file(path, table)
    with path.open("rb") as file:
        head = file.read(len(begin))
    if head != begin:
        rule = f"{path.name} is not {kind} by its first bytes"
        raise unreadable(table, rule, "Export it again, or correct the ending of its name.")
    if path.suffix.lower() == ".gpkg":
        check_geopackage(path, table)
    attributes = path.with_suffix(_SHAPEFILE_ATTRIBUTES)
    if path.suffix.lower() == ".shp" and attributes.is_file():
        refuse_large_file(attributes, table)


def _layers(path: Path) -> list[str]:
    return [str(name) for name in pyogrio.list_layers(path)[:, 0]]


def _check_driver(path: Path, table: str, layer: str) -> None:
    """Raise if GDAL takes the file for something else than we do."""
    _, kind, wanted = _BEGINS[path.suffix.lower()]
    driver = pyogrio.read_info(path, layer=layer)["driver"]
    if driver != wanted:
        rule = f"{path.name} is not {kind} but {shown(driver)}"
        raise unreadable(table, rule, "Export it again.")


def _shapes(meta: dict[str, Any], gathered: Gathered) -> Shapes | None:
    if gathered.geometry is None:
        return None
    # A geometry that cannot be read becomes None, and so a fault of its row.
    return Shapes(
        geometry=shapes_from_wkb(gathered.geometry),
        crs=CRS.from_user_input(meta["crs"]) if meta["crs"] else None,
    )


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
        except (RuntimeError, ValueError, OSError, pa.ArrowException, ProjError) as error:
            rule = f"{path.name} cannot be read: {shown(error)}"
            raise unreadable(table, rule, "Open it in a GIS and export it again.") from error
    notes.extend(sorted({shown(warning.message) for warning in caught}))


@contextmanager
def _each_feature() -> Iterator[None]:
    """Let GDAL look at each feature for as long as this lasts."""
    before = {name: pyogrio.get_gdal_config_option(name) for name in _EACH_FEATURE}
    pyogrio.set_gdal_config_options(_EACH_FEATURE)
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options(before)
