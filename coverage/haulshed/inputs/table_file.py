"""From a table's file to its rows: matched, converted, placed and checked, every fault kept."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from pyproj import CRS
from pyproj.exceptions import CRSError as ProjError

from haulshed.errors import Fault, TableError
from haulshed.inputs.cells import BadCell, parse_cells
from haulshed.inputs.csv_file import read_csv
from haulshed.inputs.headers import Match, match_headers
from haulshed.inputs.layer_file import LAYER_SUFFIXES, read_layer
from haulshed.inputs.placing import Ground, Misplaced, place_degrees
from haulshed.inputs.raw_table import Geometries, RawTable, Shapes, unreadable
from haulshed.inputs.settings import TableKeys
from haulshed.inputs.shapes import POINTS, POINTS_OR_AREAS, checked_shapes
from haulshed.tables.fill_sites import FILL_SITES
from haulshed.tables.parcels import PARCELS
from haulshed.tables.stations import STATIONS
from haulshed.tables.table import (
    Column,
    Found,
    Kind,
    Mask,
    Rows,
    Table,
    in_file_order,
    shown,
    typed,
)

CSV = ".csv"
#: Endings of the table files that we read.
ACCEPTED = (CSV, *LAYER_SUFFIXES)

_GEOMETRY = {FILL_SITES.name: POINTS, STATIONS.name: POINTS, PARCELS.name: POINTS_OR_AREAS}
#: Further places of a parcel, each from two columns of degrees and a geometry column of its own.
PARCEL_PLACES = ("structure", "access")
_LAT = Column(name="lat", kind=Kind.NUMBER, required=True, meaning="degrees north (WGS 84)")
_LON = Column(name="lon", kind=Kind.NUMBER, required=True, meaning="degrees east (WGS 84)")


@dataclass(frozen=True, slots=True, kw_only=True)
class TableRead:
    """
    A table's rows and every fault in them.

    Attributes
    ----------
    frame
        The table's columns that the file has, of their kind, empty where a cell is at fault.
    places
        Geometry by name in the district's coordinates, None where there is none.
    """

    table: Table
    frame: pd.DataFrame
    places: Mapping[str, Geometries]
    raw: RawTable
    found: Sequence[Found]
    notes: Sequence[str]


def read_table(path: Path, table: Table, keys: TableKeys, ground: Ground | None) -> TableRead:
    """
    Read one table; faults of rows and columns are returned, not raised.

    `ground` is None for a table that has no places.

    Raises
    ------
    InputError
        If the file cannot be read as a table at all, or its layer has no coordinate system.
    """
    raw = _raw(path, table, keys)
    if not raw.places:
        raise unreadable(table.name, f"{path.name} has no rows", "Write one row or more.")
    flat = _flat(table, raw)
    match = match_headers(tuple(raw.columns), flat, keys.columns, keys.ignore)
    frame, bad = _typed(raw, flat, match)
    rows = Rows(table=flat, frame=frame, places=raw.places, unread=_unread(raw, flat, match, bad))
    places, misplaced = _places(path, table, raw, frame, keys, ground)
    found = [
        *(Found(position=None, fault=fault) for fault in match.faults),
        *raw.found,
        *_bad_cells(rows, bad, raw, match),
        *(
            rows.found(one.position, column, one.value, one.rule, one.cure)
            for column, one in misplaced
        ),
        *(
            _as_written(one, raw, match)
            for one in flat.find(frame, places=raw.places, unread=rows.unread)
        ),
    ]
    unused = [f"{path.name}: not used: {', '.join(match.unused)}"] if match.unused else []
    return TableRead(
        table=table,
        frame=frame,
        places=places,
        raw=raw,
        found=in_file_order(found),
        notes=[*raw.notes, *unused],
    )


def _raw(path: Path, table: Table, keys: TableKeys) -> RawTable:
    if path.suffix.lower() != CSV:
        raw = read_layer(path, table.name, keys.layer)
        if raw.shapes is None and table.name in _GEOMETRY:
            rule = f"{path.name} has no geometry"
            raise unreadable(table.name, rule, "Export it with geometry, or as CSV with lat, lon.")
        return raw
    for key, value in (("crs", keys.crs), ("layer", keys.layer)):
        if value is not None:
            rule = f"{path.name} is a CSV, which takes no {key}"
            cure = f"Take {key} out of [{table.name}]: lat and lon are degrees, WGS 84."
            raise unreadable(table.name, rule, cure)
    return read_csv(path, table.name)


def _flat(table: Table, raw: RawTable) -> Table:
    """Return the table as columns of cells only: lat and lon stand for geometry in a CSV."""
    columns = [column for column in table.columns if column.kind is not Kind.GEOMETRY]
    by_degrees = len(columns) < len(table.columns) and raw.shapes is None
    # Degrees are judged as places, which tells more than a range.
    columns = [
        replace(column, at_least=None, at_most=None)
        if column.name.endswith(("_lat", "_lon"))
        else column
        for column in columns
    ]
    return replace(table, columns=(*columns, *((_LAT, _LON) if by_degrees else ())))


def _typed(
    raw: RawTable, flat: Table, match: Match
) -> tuple[pd.DataFrame, dict[str, dict[int, BadCell]]]:
    """Return the table's cells by their kind, and the bad ones by column and row."""
    values: dict[str, pd.Series[Any]] = {}
    bad: dict[str, dict[int, BadCell]] = {}
    for column in flat.columns:
        source = match.sources.get(column.name)
        if source is None and column.required:
            continue
        texts = raw.columns[source.header] if source else [""] * len(raw.places)
        cells, bad[column.name] = parse_cells(texts, column, source.factor if source else 1)
        may_be_empty = replace(column, required=False, default=None)
        values[column.name] = typed(pd.Series(cells, dtype="object"), may_be_empty)
    return pd.DataFrame(values), bad


def _unread(
    raw: RawTable, flat: Table, match: Match, bad: Mapping[str, Mapping[int, BadCell]]
) -> dict[str, Mask]:
    """Return the cells by column that are at fault already."""
    ragged = [one.position for one in raw.found]
    unread: dict[str, Mask] = {}
    for column in flat.columns:
        mask = np.full(len(raw.places), column.name in match.unclear)
        mask[[*ragged, *bad.get(column.name, ())]] = True
        unread[column.name] = mask
    return unread


def _bad_cells(
    rows: Rows, bad: Mapping[str, Mapping[int, BadCell]], raw: RawTable, match: Match
) -> Iterable[Found]:
    ragged = {one.position for one in raw.found}
    for name, cells in bad.items():
        for position, cell in cells.items():
            if position not in ragged:
                header = match.sources[name].header
                value = shown(raw.columns[header][position])
                yield rows.found(position, header, value, cell.rule, cell.cure)


def _places(
    path: Path,
    table: Table,
    raw: RawTable,
    frame: pd.DataFrame,
    keys: TableKeys,
    ground: Ground | None,
) -> tuple[dict[str, Geometries], list[tuple[str, Misplaced]]]:
    """Return the table's geometry columns, and what is misplaced with the column to name."""
    if table.name not in _GEOMETRY or ground is None:
        return {}, []
    places: dict[str, Geometries] = {}
    wrong: list[tuple[str, Misplaced]] = []
    if raw.shapes is not None:
        shapes = Shapes(geometry=raw.shapes.geometry, crs=_crs(table, keys) or raw.shapes.crs)
        where = f"{path.name}, [{table.name}] of district.toml,"
        places["geometry"], misplaced = checked_shapes(
            shapes, _GEOMETRY[table.name], ground, where=where
        )
        wrong.extend(("geometry", one) for one in misplaced)
    else:
        places["geometry"], misplaced = _degrees(frame, "lat", "lon", ground)
        wrong.extend(("lat, lon", one) for one in misplaced)
    for name in PARCEL_PLACES if table is PARCELS else ():
        lat, lon = f"{name}_lat", f"{name}_lon"
        places[name], misplaced = _degrees(frame, lat, lon, ground)
        wrong.extend((f"{lat}, {lon}", one) for one in misplaced)
    return places, wrong


def _degrees(
    frame: pd.DataFrame, lat: str, lon: str, ground: Ground
) -> tuple[Geometries, list[Misplaced]]:
    if lat not in frame or lon not in frame:
        return np.full(len(frame), None, dtype=object), []
    return place_degrees(frame[lat].to_numpy(float), frame[lon].to_numpy(float), ground)


def _crs(table: Table, keys: TableKeys) -> CRS | None:
    try:
        return CRS.from_user_input(keys.crs) if keys.crs else None
    except ProjError as error:
        fault = Fault(
            table="district.toml",
            row=f"[{table.name}]",
            column="crs",
            value=shown(keys.crs),
            rule="is no coordinate system that is known",
            cure="Give its EPSG number, such as EPSG:26916.",
        )
        raise TableError([fault]) from error


def _as_written(found: Found, raw: RawTable, match: Match) -> Found:
    """Return a fault with the column and value as they stand in the file."""
    source = match.sources.get(found.fault.column)
    if found.position is None or source is None:
        return found
    value = shown(raw.columns[source.header][found.position])
    return replace(found, fault=replace(found.fault, column=source.header, value=value))
