"""Reading a layer of any format with geometry."""

from pathlib import Path

from haulshed.inputs.gdal_file import GDAL_SUFFIXES, read_gdal
from haulshed.inputs.geojson_file import GEOJSON_SUFFIXES, read_geojson
from haulshed.inputs.parquet_file import PARQUET_SUFFIXES, read_parquet
from haulshed.inputs.raw_table import RawTable, unreadable, without_layer
from haulshed.inputs.zipped_shapefile import ZIP_SUFFIX, read_zipped_shapefile

LAYER_SUFFIXES = (*GDAL_SUFFIXES, *GEOJSON_SUFFIXES, *PARQUET_SUFFIXES, ZIP_SUFFIX)


def read_layer(path: Path, table: str, layer: str | None) -> RawTable:
    """
    Return a layer's attributes as text by header, and its geometry.

    Raises
    ------
    InputError
        If the file is not what its name says, cannot be read, or has not that layer.
    """
    suffix = path.suffix.lower()
    if suffix in GDAL_SUFFIXES:
        return read_gdal(path, table, layer)
    if suffix == ZIP_SUFFIX:
        return read_zipped_shapefile(path, table, layer)
    if layer is not None:
        rule = f"{path.name} is of a format without layers"
        raise unreadable(table, rule, without_layer(table))
    return read_geojson(path, table) if suffix in GEOJSON_SUFFIXES else read_parquet(path, table)
