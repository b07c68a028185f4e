"""GeoParquet: each layer as a file that carries its own data dictionary."""

import json
from io import BytesIO
from pathlib import Path

import pyarrow.parquet as pq
from pyarrow import feather

from haulshed.case import CAUTION, Result
from haulshed.outputs.layers import as_written, layers_of, meanings
from haulshed.units import System

#: Key of the file's metadata under which caution and data dictionary stand, as JSON.
METADATA_KEY = b"haulshed"


def write_geoparquet(result: Result, folder: Path, *, units: System) -> None:
    """
    Write layers parcels, roads, fill_sites and stations into `folder`, in `units`.

    Raises
    ------
    OSError
        If a file cannot be written.
    """
    folder.mkdir()
    for name, given in layers_of(result).items():
        layer = as_written(given, units)
        content = BytesIO()
        layer.to_feather(content, index=False, compression="uncompressed")  # read back as it lies
        table = feather.read_table(content, use_threads=False)
        columns = {
            one.column: {"unit": one.unit, "meaning": one.meaning}
            for one in meanings(name, layer.columns, units)
        }
        told = json.dumps({"caution": CAUTION, "columns": columns}, ensure_ascii=False)
        metadata = {**(table.schema.metadata or {}), METADATA_KEY: told.encode()}
        described = table.replace_schema_metadata(metadata)
        pq.write_table(described, folder / f"{name}.parquet", compression="zstd")
