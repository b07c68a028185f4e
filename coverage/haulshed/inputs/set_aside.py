"""The rules from table to table, and what is left when faulty rows are set aside."""

import json
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

import numpy as np
import pandas as pd

from haulshed.errors import Fault, TableError
from haulshed.inputs.table_file import TableRead
from haulshed.tables.table import Mask, Rows, in_file_order, shown

#: Columns of ``rejected.csv``: one row a row set aside, its cells as JSON so that none is lost.
REJECTED_COLUMNS = ("table", "place", "row", "reasons", "cells")

Reads = Mapping[str, TableRead]
"""What was read, by table."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """The tables without the rows that were set aside."""

    reads: Reads
    faults: Sequence[Fault]  #: why rows were set aside
    rejected: pd.DataFrame  #: the rows set aside; see :data:`REJECTED_COLUMNS`


def all_faults(reads: Reads) -> list[Fault]:
    """Return every fault of the tables, those between them included."""
    return [one.fault for read in _with_unknown_stations(reads).values() for one in read.found]


def keep_sound_rows(reads: Reads) -> Kept:
    """
    Set faulty rows aside, and with a station the apparatus that starts from it.

    Raises
    ------
    TableError
        If a whole table is at fault, or no row of one is left.
    """
    reads = _with_unknown_stations(reads)
    whole = [one.fault for read in reads.values() for one in read.found if one.position is None]
    if whole:
        raise TableError(whole)
    reads = _with_lost_stations(reads)
    bare = [read for read in reads.values() if len(read.frame) and not _sound(read).any()]
    if bare:
        why = [one.fault for read in bare for one in read.found]
        raise TableError([*(_nothing_left(read) for read in bare), *why])
    return Kept(
        reads={name: _only(read, _sound(read)) for name, read in reads.items()},
        faults=[one.fault for read in reads.values() for one in read.found],
        rejected=pd.DataFrame(
            [row for read in reads.values() for row in _rejected(read)], columns=REJECTED_COLUMNS
        ),
    )


def _with_unknown_stations(reads: Reads) -> Reads:
    """Return what was read, with a fault for each unit whose station stands in no row."""
    if "stations" not in reads or "station_id" not in reads["stations"].frame:
        return reads
    known = _ids(reads["stations"])

    def complaint(station: str) -> tuple[str, str] | None:
        if station in known:
            return None
        near = get_close_matches(station, known, n=1)
        cure = f"Did you mean '{near[0]}'?" if near else "Add the station, or correct the id."
        return "is no station of the stations table", cure

    return _with_unit_faults(reads, complaint)


def _with_lost_stations(reads: Reads) -> Reads:
    """Return what was read, with a fault for each unit whose station is at fault itself."""
    stations = reads["stations"]
    left = _ids(_only(stations, _sound(stations)))
    lost = _ids(stations) - left

    def complaint(station: str) -> tuple[str, str] | None:
        if station not in lost:
            return None
        return "is a station that was set aside", "Mend the station's row first."

    return _with_unit_faults(reads, complaint)


def _with_unit_faults(
    reads: Reads, complaint: Callable[[str], tuple[str, str] | None]
) -> dict[str, TableRead]:
    """Return what was read, with what `complaint` says of the station of each unit."""
    units = reads.get("apparatus")
    if units is None or "station_id" not in units.frame:
        return dict(reads)
    rows = Rows(table=units.table, frame=units.frame, places=units.raw.places, unread={})
    found = list(units.found)
    for position, station in enumerate(units.frame["station_id"]):
        said = complaint(station) if station else None
        if said is not None:
            rule, cure = said
            found.append(rows.found(position, "station_id", shown(station), rule, cure))
    return {**reads, "apparatus": replace(units, found=in_file_order(found))}


def _ids(stations: TableRead) -> set[str]:
    return set(stations.frame["station_id"].dropna()) if "station_id" in stations.frame else set()


def _sound(read: TableRead) -> Mask:
    """Return which rows have no fault."""
    sound = np.ones(len(read.frame), dtype=bool)
    sound[[one.position for one in read.found if one.position is not None]] = False
    return sound


def _only(read: TableRead, rows: Mask) -> TableRead:
    return replace(
        read,
        frame=read.frame[rows].reset_index(drop=True),
        places={name: geometry[rows] for name, geometry in read.places.items()},
    )


def _nothing_left(read: TableRead) -> Fault:
    return Fault(
        table=read.table.name,
        row="",
        column="",
        value="",
        rule="has no row without a fault",
        cure="Mend one row or more:",
    )


def _rejected(read: TableRead) -> Iterable[tuple[str, str, str, str, str]]:
    """Yield each row that has a fault, as :data:`REJECTED_COLUMNS` have it."""
    by_row: dict[int, list[Fault]] = {}
    for one in read.found:
        if one.position is not None:
            by_row.setdefault(one.position, []).append(one.fault)
    for position, faults in by_row.items():
        yield (
            read.table.name,
            read.raw.places[position],
            faults[0].row,
            " | ".join(str(fault) for fault in faults),
            _as_json(read.raw.cells(position)),
        )


def _as_json(cells: Mapping[str, str]) -> str:
    """Return cells as JSON; half a surrogate pair, which no file of text can hold, by its code."""
    text = json.dumps(cells, ensure_ascii=False)
    return re.sub("[\ud800-\udfff]", lambda half: f"\\u{ord(half[0]):04x}", text)
