"""From a table's file to its rows: matched, converted, placed and checked, every fault kept."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from haulshed.errors import Fault
from haulshed.inputs.cells import BadCell, Cell, parse_cells
from haulshed.inputs.headers import Match, match_headers
from haulshed.inputs.named_crs import named_crs
from haulshed.inputs.odd_shapes import notes_on
from haulshed.inputs.place_columns import DEGREES, Form, forms_of
from haulshed.inputs.placing import Ground
from haulshed.inputs.raw_file import read_raw
from haulshed.inputs.raw_table import Geometries, RawTable, Shapes, unreadable
from haulshed.inputs.row_places import (
    Placed,
    found_in,
    has_places,
    place_cells,
    place_further,
    place_layer,
)
from haulshed.inputs.settings import TableKeys
from haulshed.inputs.shapes import Called
from haulshed.tables.parcels import PARCELS
from haulshed.tables.table import (
    Found,
    Kind,
    Mask,
    Rows,
    Table,
    in_file_order,
    shown,
    typed,
)


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
    raw = read_raw(path, table.name, keys.layer)
    if not raw.places and table is PARCELS:
        raise unreadable(table.name, f"{path.name} has no rows", "Write one row or more.")
    form, twice = _form(path, table, raw, keys)
    flat = _flat(table, form)
    match = match_headers(tuple(raw.columns), flat, keys.columns, keys.ignore)
    frame, bad = _typed(raw, flat, match)
    rows = Rows(table=flat, frame=frame, places=raw.places, unread=_unread(raw, flat, match, bad))
    placed = _placed(path, table, _Cells(raw=raw, frame=frame, form=form), keys, ground)
    found = [
        *(Found(position=None, fault=fault) for fault in (*twice, *match.faults)),
        *raw.found,
        *_bad_cells(rows, bad, raw, match),
        *found_in(placed, rows),
        *(
            _as_written(one, raw, match)
            for one in flat.find(frame, places=raw.places, unread=rows.unread)
        ),
    ]
    unused = ", ".join(map(shown, match.unused))
    passed_over = [f"{path.name}: not used: {unused}"] if unused else []
    odd = [f"{path.name}: {note}" for note in notes_on(table, placed.places, raw, rows)]
    return TableRead(
        table=table,
        frame=frame,
        places=placed.places,
        raw=raw,
        found=in_file_order(found),
        notes=[*raw.notes, *passed_over, *odd],
    )


def _form(path: Path, table: Table, raw: RawTable, keys: TableKeys) -> tuple[Form, list[Fault]]:
    """Return the columns that the places stand in; none where a layer has them as geometry."""
    if raw.shapes is not None or not has_places(table):
        return (), []
    forms = forms_of(raw.columns, keys.columns, keys.ignore)
    if forms[0] == DEGREES and len(forms) == 1 and keys.crs is not None:
        rule = f"{path.name} has its places as lat and lon, which take no crs"
        cure = f"Take crs out of [{table.name}]: lat and lon are degrees, WGS 84."
        raise unreadable(table.name, rule, cure)
    if len(forms) == 1:
        return forms[0], []
    names = " and also ".join(", ".join(column.name for column in form) for form in forms)
    cure = "Delete those that do not count."
    if table.has_section:
        cure = f"List those that do not count under ignore in [{table.name}] of district.toml."
    fault = Fault(
        table=table.name,
        row="",
        column=names,
        value="",
        rule="say the place more than once",
        cure=cure,
    )
    return forms[0], [fault]


def _flat(table: Table, form: Form) -> Table:
    """Return the table as columns of cells only: those of `form` stand for geometry."""
    # Degrees are judged as places, which tells more than a range.
    columns = [
        replace(column, at_least=None, at_most=None)
        if column.name.endswith(("_lat", "_lon"))
        else column
        for column in table.columns
        if column.kind is not Kind.GEOMETRY
    ]
    return replace(table, columns=(*columns, *form))


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
        cells: Sequence[Cell] = [None] * len(raw.places)
        if source is not None:
            texts = raw.columns[source.header]
            cells, bad[column.name] = parse_cells(texts, column, source.factor)
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
                yield rows.found(position, shown(header), value, cell.rule, cell.cure)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cells:
    """A file's rows as it has them, as cells, and the columns that say where they lie."""

    raw: RawTable
    frame: pd.DataFrame
    form: Form


def _placed(
    path: Path, table: Table, cells: _Cells, keys: TableKeys, ground: Ground | None
) -> Placed:
    """Return the table's geometry columns, and what is misplaced."""
    if not has_places(table) or ground is None:
        return Placed(places={}, wrong={})
    crs = named_crs(keys.crs, table.name, "crs", file=_settings(table))
    called = _called(path, table)
    if cells.raw.shapes is not None:
        shapes = Shapes(geometry=cells.raw.shapes.geometry, crs=crs or cells.raw.shapes.crs)
        placed = place_layer(table, shapes, ground, called=called)
    else:
        placed = place_cells(table, cells.frame, cells.form, crs, ground, called=called)
    further = place_further(table, cells.frame, ground)
    return Placed(
        places={**placed.places, **further.places}, wrong={**placed.wrong, **further.wrong}
    )


def _called(path: Path, table: Table) -> Called:
    name = f"{path.name}, [{table.name}] of {_settings(table)},"
    return Called(name, 'Set it there: crs = "EPSG:…".')


def _settings(table: Table) -> str:
    """Return the file in which the user says how a table is read."""
    return "district.toml" if table.has_section else "the options file"


def _as_written(found: Found, raw: RawTable, match: Match) -> Found:
    """Return a fault with the column and value as they stand in the file."""
    source = match.sources.get(found.fault.column)
    if found.position is None or source is None:
        return found
    value = shown(raw.columns[source.header][found.position])
    return replace(found, fault=replace(found.fault, column=shown(source.header), value=value))
