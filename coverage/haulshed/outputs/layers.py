"""The layers that planners get, in whatever format: their tables, and what each column means."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import geopandas as gpd
from geopandas.array import GeometryDtype

from haulshed.case import Result
from haulshed.outputs.measures import converted, header_in, unit_of
from haulshed.tables.layers import LAYER_COLUMNS
from haulshed.units import UNITS, System


@dataclass(frozen=True, slots=True, kw_only=True)
class Meaning:
    """One line of a file's data dictionary."""

    layer: str
    column: str  #: header as the file has it
    unit: str  #: as people print it; empty where there is none
    meaning: str


def layers_of(result: Result) -> Mapping[str, gpd.GeoDataFrame]:
    """Return the layers by name."""
    return {
        "parcels": result.parcels,
        "roads": result.roads,
        "fill_sites": result.fill_sites,
        "stations": result.stations,
    }


def as_written(layer: gpd.GeoDataFrame, units: System) -> gpd.GeoDataFrame:
    """Return a layer in `units` with one geometry; a parcel's other points are lon and lat."""
    further = [
        name
        for name, dtype in layer.dtypes.items()
        if isinstance(dtype, GeometryDtype) and name != "geometry"
    ]
    return converted(layer.drop(columns=further), units)


def meanings(layer: str, headers: Iterable[str], units: System) -> Iterator[Meaning]:
    """Yield what each column of a layer means, where the tables say it."""
    by_header = {header_in(column.name, units): column for column in LAYER_COLUMNS.get(layer, ())}
    for header in headers:
        column = by_header.get(header)
        if column is not None and header != "geometry":
            words = f": {', '.join(column.choices)}" if column.choices else ""
            unit = unit_of(header)
            yield Meaning(
                layer=layer,
                column=header,
                unit=UNITS[unit].symbol if unit else "",
                meaning=column.meaning + words,
            )
