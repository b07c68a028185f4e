"""The GeoPackage: four layers in the district's coordinate system, with styles for QGIS inside."""

import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path

import geopandas as gpd
import pyogrio
from geopandas.array import GeometryDtype

from haulshed.case import Result
from haulshed.outputs.measures import converted, header_in
from haulshed.outputs.qgis_style import (
    fill_sites_style,
    parcels_style,
    roads_style,
    stations_style,
)
from haulshed.units import SI_SUFFIX, System, factor_between

#: The same inputs must give the same bytes: the file's own dates are fixed.
_FIXED_DATE = "2000-01-01T00:00:00.000Z"

_STYLE_TABLE = """
CREATE TABLE layer_styles (
  id INTEGER PRIMARY KEY, f_table_catalog TEXT, f_table_schema TEXT, f_table_name TEXT,
  f_geometry_column TEXT, styleName TEXT, styleQML TEXT, styleSLD TEXT, useAsDefault BOOLEAN,
  description TEXT, owner TEXT, ui TEXT, update_time DATETIME)
"""


def write_geopackage(result: Result, file: Path, *, units: System) -> None:
    """
    Write layers parcels, roads, fill_sites and stations, in `units`, and their styles.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    layers = {
        "parcels": result.parcels,
        "roads": result.roads,
        "fill_sites": result.fill_sites,
        "stations": result.stations,
    }
    write_layers(layers, _styles(result, units), file, units=units)


def write_layers(
    layers: Mapping[str, gpd.GeoDataFrame], styles: Mapping[str, str], file: Path, *, units: System
) -> None:
    """
    Write layers by name, in `units`, and the styles of those that have one.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    with _fixed_date():
        for name, layer in layers.items():
            _write_layer(converted(layer, units), file, name)
    _write_styles(file, styles)


def _write_layer(layer: gpd.GeoDataFrame, file: Path, name: str) -> None:
    # A layer has one geometry column; a parcel's other points stand in the answer as lon and lat.
    further = [
        name
        for name, dtype in layer.dtypes.items()
        if isinstance(dtype, GeometryDtype) and name != "geometry"
    ]
    kinds = set(layer.geom_type)
    pyogrio.write_dataframe(
        layer.drop(columns=further),
        file,
        layer=name,
        driver="GPKG",
        geometry_type=None if len(kinds) == 1 else "Unknown",
        promote_to_multi=False,
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


def _write_styles(file: Path, styles: Mapping[str, str]) -> None:
    """Put the styles where QGIS looks for them; GDAL would date them by the clock."""
    with closing(sqlite3.connect(file)) as store, store:
        store.execute(_STYLE_TABLE)
        store.execute(
            "INSERT INTO gpkg_contents (table_name, data_type, identifier, last_change)"
            " VALUES ('layer_styles', 'attributes', 'layer_styles', ?)",
            (_FIXED_DATE,),
        )
        for layer, style in styles.items():
            store.execute(
                "INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name,"
                " f_geometry_column, styleName, styleQML, styleSLD, useAsDefault, description,"
                " owner, ui, update_time) VALUES ('', '', ?, 'geom', ?, ?, '', 1, ?, '', NULL, ?)",
                (layer, f"haulshed {layer}", style, f"haulshed: {layer}", _FIXED_DATE),
            )
