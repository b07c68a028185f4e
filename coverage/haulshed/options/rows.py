"""Rows of the district's tables, added and changed; what the tables forbid is a fault."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Any, TypeVar, cast

import geopandas as gpd
import numpy as np
import pandas as pd
from pyproj import Transformer
from shapely import Point

from haulshed.errors import Fault, TableError
from haulshed.tables.months import months_of
from haulshed.tables.table import Column, Kind, Table, shown, typed

Cells = Mapping[str, Any]
Ids = Sequence[str | int]
_Frame = TypeVar("_Frame", bound=pd.DataFrame)

_TYPES: Mapping[Kind, tuple[tuple[type, ...], str]] = {
    Kind.TEXT: ((str,), "must be text, in quotes"),
    Kind.MONTHS: ((str,), "must be months in quotes, such as 4-11"),
    Kind.NUMBER: ((int, float), "must be a number"),
    Kind.WHOLE: ((int,), "must be a whole number"),
    Kind.YES_NO: ((bool,), "must be true or false"),
}
#: Ids are short: one letter of two may differ.
_NEAR = 0.5
_DEGREES = tuple(
    Column(name=name, kind=Kind.NUMBER, at_least=-end, at_most=end, required=True, meaning=meaning)
    for name, end, meaning in (("lat", 90, "degrees north"), ("lon", 180, "degrees east"))
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Editor:
    """One table, and where the change stands that edits it."""

    table: Table
    where: str  #: option and change, as messages name them

    def places(self, crs: object, rows: Sequence[Cells]) -> list[Point]:
        """Return the place at each row's lat and lon [degrees] in the district's coordinates."""
        turn = Transformer.from_crs(4326, crs, always_xy=True)
        x, y = turn.transform([row["lon"] for row in rows], [row["lat"] for row in rows])
        return [Point(*xy) for xy in zip(x, y, strict=True)]

    def rows(self, rows: Sequence[Cells], present: Iterable[str], *, placed: bool) -> pd.DataFrame:
        """
        Return new rows, checked, of the columns' types but without defaults or geometry.

        `present` are the ids in the table; `placed` rows need lat and lon.

        Raises
        ------
        TableError
            With every cell that is at fault.
        """
        flat = self._flat(placed=placed)
        faults = [fault for cells in rows for fault in self._mistyped(cells, flat)]
        if faults:
            raise TableError(faults)
        frame = pd.DataFrame(
            {
                column.name: typed(
                    pd.Series([cells.get(column.name) for cells in rows], dtype="object"),
                    replace(column, required=False, default=None),
                )
                for column in flat.columns
            }
        )
        faults = self._here(flat.find(frame))
        known = set(present)
        faults += [
            self.fault(self.table.id_column, own, "is there already", "Rename it.")
            for own in (cells.get(self.table.id_column) for cells in rows)
            if own in known
        ]
        if faults:
            raise TableError(faults)
        return frame

    def changed(self, frame: _Frame, ids: Ids, cells: Cells) -> _Frame:
        """
        Return `frame` with `cells` in the rows of `ids`, all of which are there.

        Raises
        ------
        TableError
            With every cell that is at fault.
        """
        flat = self._flat(placed=False)
        faults = self._mistyped(cells, flat)
        if faults:
            raise TableError(faults)
        here = frame[self.table.id_column].isin(ids)
        edited = frame.copy()
        for name, value in cells.items():
            column = self.table.by_name[name]
            edited[name] = typed(frame[name].astype("object").mask(here, value), column)
        names = [column.name for column in flat.columns]
        faults = self._here(flat.find(pd.DataFrame(edited.loc[here, names])))
        if faults:
            raise TableError(faults)
        return edited

    def known(self, frame: pd.DataFrame, wanted: str | int) -> None:
        """
        Make sure that a row is there.

        Raises
        ------
        TableError
            If it is not, with the id that comes nearest.
        """
        ids = frame[self.table.id_column].tolist()
        if wanted not in ids:
            near = get_close_matches(str(wanted), [str(one) for one in ids], n=1, cutoff=_NEAR)
            cure = f"Did you mean '{near[0]}'?" if near else "Look it up in the district's file."
            rule = f"is not in the table {self.table.name}"
            raise TableError([self.fault(self.table.id_column, wanted, rule, cure)])

    def fault(self, column: str, value: object, rule: str, cure: str) -> Fault:
        """Return a fault of this change."""
        return Fault(
            table="options",
            row=self.where,
            column=column,
            value=shown(value),
            rule=rule,
            cure=cure,
        )

    def _flat(self, *, placed: bool) -> Table:
        columns = tuple(c for c in self.table.columns if c.kind is not Kind.GEOMETRY)
        return replace(self.table, columns=(*columns, *(_DEGREES if placed else ())))

    def _mistyped(self, cells: Cells, flat: Table) -> list[Fault]:
        faults = []
        for name, value in cells.items():
            column = flat.by_name.get(name)
            if column is None:
                near = get_close_matches(name, list(flat.by_name), n=1)
                cure = (
                    f"Did you mean '{near[0]}'?" if near else f"Known: {', '.join(flat.by_name)}."
                )
                rule = f"is no column of {self.table.name}"
                faults.append(self.fault(name, value, rule, cure))
                continue
            kinds, rule = _TYPES[column.kind]
            fits = isinstance(value, kinds) and (bool in kinds or not isinstance(value, bool))
            if not fits or (column.kind is Kind.MONTHS and not _are_months(value)):
                faults.append(self.fault(name, value, rule, f"{name}: {column.meaning}."))
        return faults

    def _here(self, found: Iterable[Any]) -> list[Fault]:
        return [replace(one.fault, table="options", row=self.where) for one in found]


def _are_months(text: str) -> bool:
    try:
        months_of(text)
    except ValueError:
        return False
    return True


def joined(frame: _Frame, rows: pd.DataFrame) -> _Frame:
    """Return `frame` with more rows, its columns' types kept."""
    alike = rows.reindex(columns=frame.columns)
    for name, dtype in frame.dtypes.items():
        if isinstance(frame, gpd.GeoDataFrame) and isinstance(frame[name], gpd.GeoSeries):
            alike[name] = gpd.GeoSeries(alike[name].to_numpy(), crs=frame.crs)
        elif dtype != alike[name].dtype:
            alike[name] = alike[name].astype(dtype)
    both = pd.concat(cast("list[pd.DataFrame]", [frame, alike]), ignore_index=True)
    return cast("_Frame", both)


def without(frame: _Frame, id_column: str, wanted: str) -> _Frame:
    """Return `frame` without the row of an id."""
    kept = frame[np.asarray(frame[id_column] != wanted, dtype=bool)]
    return kept.reset_index(drop=True)
