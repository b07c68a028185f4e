"""All tables of a run as one workbook, with their data dictionary."""

from collections.abc import Iterator
from pathlib import Path

import geopandas as gpd
import pandas as pd
from openpyxl import Workbook

from haulshed.case import CAUTION, Provenance, Result
from haulshed.outputs.dictionary import Entry, scenario_entries
from haulshed.outputs.layers import as_written, layers_of, meanings
from haulshed.outputs.measures import converted
from haulshed.outputs.paper_trail import short_hashes
from haulshed.outputs.workbook import Sheet, add_table, add_text, rows_of, save
from haulshed.units import System

#: Degrees of lon and lat.
_WGS84 = 4326
_DICTIONARY_HEADER = ("sheet", "column", "unit", "meaning")


def write_tables_book(result: Result, provenance: Provenance, file: Path, *, units: System) -> None:
    """
    Write parcels, fill sites, stations, apparatus and roads as sheets, in `units`.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    book = Workbook(write_only=True)
    add_text(book, "Read first", _first_lines(result, provenance))
    layers = {name: as_written(layer, units) for name, layer in layers_of(result).items()}
    tables = {name: _flat(layers[name]) for name in ("parcels", "fill_sites", "stations", "roads")}
    tables["apparatus"] = converted(pd.DataFrame(result.inputs.apparatus), units)
    for name, table in tables.items():
        add_table(book, Sheet(name=name, header=list(table.columns), rows=rows_of(table)))
    told = [
        [one.layer, one.column, one.unit, one.meaning]
        for name, layer in layers.items()
        for one in meanings(name, layer.columns, units)
    ]
    add_table(book, Sheet(name="columns", header=_DICTIONARY_HEADER, rows=told))
    add_table(book, _scenario(provenance))
    save(book, file)


def _first_lines(result: Result, provenance: Provenance) -> Iterator[tuple[str, str]]:
    yield "Tables", f"{result.inputs.name}: hauled water for every property"
    yield "Caution", CAUTION
    yield "Scenario", f"{provenance.scenario_name}; every key of it on the sheet scenario"
    yield "Version", f"haulshed {provenance.version}; the date of the run stands in run.json"
    yield "Input files", f"{short_hashes(provenance)} (beginning of each file's SHA-256)"
    yield "Columns", "what each means, and its unit, on the sheet columns"


def _flat(layer: gpd.GeoDataFrame) -> pd.DataFrame:
    """Return a layer as a table; points as degrees, other shapes left out."""
    table = pd.DataFrame(layer.drop(columns="geometry"))
    if "lon" in table or set(layer.geom_type) != {"Point"}:
        return table
    degrees = layer.geometry.to_crs(_WGS84)
    return table.assign(lon=degrees.x, lat=degrees.y)


def _scenario(provenance: Provenance) -> Sheet:
    values = provenance.scenario.model_dump(mode="json")
    header = ("section", "key", "value", "unit", "meaning", "source of the default")
    rows = [
        [entry.part, entry.name, _value(values, entry), entry.unit, entry.meaning, entry.source]
        for entry in scenario_entries()
    ]
    return Sheet(name="scenario", header=header, rows=rows)


def _value(values: dict[str, object], entry: Entry) -> str | float:
    found: object = values
    for part in (*entry.part.strip("[]").split("."), entry.name):
        found = found[part] if isinstance(found, dict) else None
    if isinstance(found, bool):
        return str(found).lower()
    return found if isinstance(found, int | float) else str(found)
