"""The GeoPackage: four layers, styles for QGIS and a data dictionary in one file."""

import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path

import geopandas as gpd
import pyogrio

from haulshed.case import Result
from haulshed.outputs.layers import Meaning, as_written, layers_of, meanings
from haulshed.outputs.measures import header_in
from haulshed.outputs.qgis_style import (
    fill_sites_style,
    parcels_style,
    roads_style,
    stations_style,
)
from haulshed.units import SI_SUFFIX, System, factor_between

#: The same inputs must give the same bytes: the file's own dates are fixed.
_FIXED_DATE = "2000-01-01T00:00:00.000Z"
#: Version of the standard that the file keeps: one that readers of some years ago know.
_VERSION = "1.3"

_STYLE_TABLE = """
CREATE TABLE layer_styles (
  id INTEGER PRIMARY KEY, f_table_catalog TEXT, f_table_schema TEXT, f_table_name TEXT,
  f_geometry_column TEXT, styleName TEXT, styleQML TEXT, styleSLD TEXT, useAsDefault BOOLEAN,
  description TEXT, owner TEXT, ui TEXT, update_time DATETIME)
"""

#: Data dictionary: a table for people, and the tables of the standard's schema extension.
_DICTIONARY_TABLES = """
CREATE TABLE columns (
  id INTEGER PRIMARY KEY, layer TEXT NOT NULL, column_name TEXT NOT NULL, unit TEXT NOT NULL,
  meaning TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS gpkg_data_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, name TEXT, title TEXT, description TEXT,
  mime_type TEXT, constraint_name TEXT, CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name));
CREATE TABLE IF NOT EXISTS gpkg_data_column_constraints (
  constraint_name TEXT NOT NULL, constraint_type TEXT NOT NULL, value TEXT, min NUMERIC,
  min_is_inclusive BOOLEAN, max NUMERIC, max_is_inclusive BOOLEAN, description TEXT,
  CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value));
"""


def write_geopackage(result: Result, file: Path, *, units: System) -> None:
    """
    Write layers parcels, roads, fill_sites and stations, in `units`, styles, data dictionary.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    write_layers(layers_of(result), _styles(result, units), file, units=units)


def write_layers(
    layers: Mapping[str, gpd.GeoDataFrame], styles: Mapping[str, str], file: Path, *, units: System
) -> None:
    """
    Write layers by name, in `units`, the styles of those that have one, and the data dictionary.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    written = {name: as_written(layer, units) for name, layer in layers.items()}
    with _fixed_date():
        for name, layer in written.items():
            _write_layer(layer, file, name)
    told = [one for name, layer in written.items() for one in meanings(name, layer.columns, units)]
    with closing(sqlite3.connect(file)) as store, store:
        _write_styles(store, styles)
        _write_dictionary(store, told)


def _write_layer(layer: gpd.GeoDataFrame, file: Path, name: str) -> None:
    kinds = set(layer.geom_type)
    pyogrio.write_dataframe(
        layer,
        file,
        layer=name,
        driver="GPKG",
        geometry_type=None if len(kinds) == 1 else "Unknown",
        promote_to_multi=False,
        dataset_options={"VERSION": _VERSION},
        use_arrow=True,  # half the time, the same bytes
    )


@contextmanager
def _fixed_date() -> Iterator[None]:
    before = pyogrio.get_gdal_config_option("OGR_CURRENT_DATE")
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": _FIXED_DATE})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": before})


def _styles(result: Result, units: System) -> Mapping[str, str]:
    areas = bool(result.parcels.geom_type.str.contains("Polygon").any())
    factor = 1.0 if units is System.US else factor_between("gpm", SI_SUFFIX["gpm"])
    return {
        "parcels": parcels_style(areas=areas),
        "roads": roads_style(header_in("sustained_gpm", units), factor),
        "fill_sites": fill_sites_style(header_in("rate_gpm", units), factor),
        "stations": stations_style(),
    }


def _write_styles(store: sqlite3.Connection, styles: Mapping[str, str]) -> None:
    """Put the styles where QGIS looks for them; GDAL would date them by the clock."""
    store.execute(_STYLE_TABLE)
    _list_table(store, "layer_styles", "styles of the layers, for QGIS")
    for layer, style in styles.items():
        store.execute(
            "INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name,"
            " f_geometry_column, styleName, styleQML, styleSLD, useAsDefault, description,"
            " owner, ui, update_time) VALUES ('', '', ?, 'geom', ?, ?, '', 1, ?, '', NULL, ?)",
            (layer, f"haulshed {layer}", style, f"haulshed: {layer}", _FIXED_DATE),
        )


def _write_dictionary(store: sqlite3.Connection, told: Iterable[Meaning]) -> None:
    """Put the data dictionary in as a table to read, and as the standard's own for programs."""
    store.executescript(_DICTIONARY_TABLES)
    _list_table(store, "columns", "what each column of each layer means, and its unit")
    for table in ("gpkg_data_columns", "gpkg_data_column_constraints"):
        store.execute(
            "INSERT INTO gpkg_extensions (table_name, column_name, extension_name, definition,"
            " scope) VALUES (?, NULL, 'gpkg_schema',"
            " 'http://www.geopackage.org/spec121/#extension_schema', 'read-write')",
            (table,),
        )
    for one in told:
        unit = f" [{one.unit}]" if one.unit else ""
        store.execute(
            "INSERT INTO columns (layer, column_name, unit, meaning) VALUES (?, ?, ?, ?)",
            (one.layer, one.column, one.unit, one.meaning),
        )
        store.execute(
            "INSERT INTO gpkg_data_columns (table_name, column_name, description) VALUES (?, ?, ?)",
            (one.layer, one.column, f"{one.meaning}{unit}"),
        )


def _list_table(store: sqlite3.Connection, name: str, what: str) -> None:
    store.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change)"
        " VALUES (?, 'attributes', ?, ?, ?)",
        (name, name, what, _FIXED_DATE),
    )
