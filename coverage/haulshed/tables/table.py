"""What a table is: its columns, its rules, and the check that finds every fault."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from types import MappingProxyType
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt
import pandas as pd

from haulshed.errors import Fault, TableError

Mask: TypeAlias = npt.NDArray[np.bool_]
"""One truth value a row."""

#: A value longer than this is cut in a message.
VALUE_SHOWN = 60
#: No more of a value is looked at for that [characters]: it may fill the memory, in every row.
VALUE_LOOKED_AT = 1000


class Kind(StrEnum):
    """What a cell holds."""

    TEXT = "text"
    NUMBER = "number"
    WHOLE = "whole number"
    YES_NO = "yes or no"
    MONTHS = "months"
    GEOMETRY = "geometry"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: everything that the readers, the checks and the data dictionary say of it."""

    name: str  #: header; ends in the unit where there is one
    kind: Kind  #: what a cell holds
    meaning: str  #: one sentence for the data dictionary
    unit: str | None = None  #: suffix of :mod:`haulshed.units`; part of `name`
    required: bool = False  #: the column must be there and no cell may be empty
    unique: bool = False  #: no two rows alike
    default: str | float | None = None  #: what an empty cell means; None: stays empty
    default_says: str = ""  #: what an empty cell means, in words, where a rule decides it
    choices: tuple[str, ...] = ()  #: closed set of words
    above: float | None = None  #: every value is greater
    at_least: float | None = None  #: every value is this or greater
    at_most: float | None = None  #: every value is this or less


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule across a row's columns. `broken` gives one truth value a row."""

    column: str  #: the column that a message names
    broken: Callable[[pd.DataFrame], "pd.Series[bool]"]
    rule: str  #: what must hold, after the value in a message
    cure: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A fault and the row that it stands in."""

    position: int | None  #: row, from 0; None: the whole table
    fault: Fault


@dataclass(frozen=True, kw_only=True)
class Table:
    """A table's name, its id column, its columns in order and its rules."""

    name: str
    meaning: str
    id_column: str
    columns: tuple[Column, ...]
    rules: tuple[Rule, ...] = ()
    #: ``district.toml`` has a section of its name, which says how the file is to be read.
    has_section: bool = True

    @cached_property
    def by_name(self) -> dict[str, Column]:
        """The columns by their header."""
        return {column.name: column for column in self.columns}

    def find(
        self,
        frame: pd.DataFrame,
        *,
        places: Sequence[str] = (),
        unread: Mapping[str, Mask] = MappingProxyType({}),
    ) -> list[Found]:
        """
        Return every fault of `frame`, whose cells already have their column's type, with its row.

        Missing columns come first; then the rows in file order, each in column order. `places`
        says where each row stands in its file, such as ``line 7``. `unread` marks, by column, the
        cells that are already known to be at fault: they are not complained of twice, and a rule
        across columns is not asked of their rows.
        """
        missing = [c for c in self.columns if c.required and c.name not in frame]
        whole = [Found(position=None, fault=self._missing(column)) for column in missing]
        rows = Rows(table=self, frame=frame, places=places, unread=unread)
        found: list[Found] = []
        for column in self.columns:
            if column.name in frame:
                for broken, rule, cure in _column_checks(column, frame[column.name]):
                    found.extend(rows.broken(broken, column.name, rule, cure))
        faulted = {(one.position, one.fault.column) for one in found}
        for rule_ in () if missing else self.rules:
            broken = rule_.broken(frame) & rows.whole
            more = rows.broken(broken, rule_.column, rule_.rule, rule_.cure)
            found.extend(one for one in more if (one.position, rule_.column) not in faulted)
        return whole + in_file_order(found)

    def check(self, frame: pd.DataFrame) -> None:
        """
        Raise if `frame` breaks a rule.

        Raises
        ------
        TableError
            With every fault.
        """
        found = self.find(frame)
        if found:
            raise TableError([one.fault for one in found])

    def with_defaults(self, frame: pd.DataFrame) -> pd.DataFrame:
        """
        Return `frame` with every column of the table, in its order, and the defaults filled in.

        Columns of geometry are left as they are. A column that may stay empty is of a type that
        can say so: float64 (NaN) for whole numbers too, boolean (NA) for yes and no, object (None)
        for text.
        """
        filled = frame.copy()
        for column in self.columns:
            if column.kind is Kind.GEOMETRY:
                continue
            empty = pd.Series([None] * len(frame), index=frame.index, dtype="object")
            filled[column.name] = typed(frame.get(column.name, empty), column)
        order = [column.name for column in self.columns if column.name in filled]
        return filled[order + [name for name in filled if name not in order]]

    def _missing(self, column: Column) -> Fault:
        return Fault(
            table=self.name,
            row="",
            column=f"column '{column.name}'",
            value="",
            rule="is missing",
            cure=f"Add it: {column.meaning}.",
        )


def csv_headers(table: Table) -> list[str]:
    """Return the headers of a table as CSV, where degrees stand for geometry."""
    in_degrees = {Kind.GEOMETRY: ["lat", "lon"]}
    return [name for one in table.columns for name in in_degrees.get(one.kind, [one.name])]


def typed(values: "pd.Series[Any]", column: Column) -> "pd.Series[Any]":
    """Return `values` with the column's default filled in and of the type of its kind."""
    if column.default is not None:
        values = values.astype("object").where(values.notna(), column.default)
    full = column.required or column.default is not None
    if column.kind is Kind.WHOLE and full:
        return values.astype("int64")
    if column.kind in {Kind.NUMBER, Kind.WHOLE}:
        return values.astype("float64")
    if column.kind is Kind.YES_NO:
        return values.astype("bool" if full else "boolean")
    return values.astype("object").where(values.notna(), None)


@dataclass(frozen=True, kw_only=True)
class Rows:
    """The rows of one frame, as messages name them."""

    table: Table
    frame: pd.DataFrame
    places: Sequence[str]
    unread: Mapping[str, Mask]

    @cached_property
    def whole(self) -> Mask:
        """Rows of which every cell could be read."""
        whole = np.ones(len(self.frame), dtype=bool)
        for mask in self.unread.values():
            whole &= ~mask
        return whole

    @cached_property
    def _ids(self) -> list[str]:
        if self.table.id_column not in self.frame:
            return [""] * len(self.frame)
        return [shown(value) for value in self.frame[self.table.id_column]]

    @cached_property
    def _twice(self) -> Mask:
        return pd.Series(self._ids).duplicated(keep=False).to_numpy()

    def label(self, position: int) -> str:
        """Return the row's id; its place where the id is empty, both where it stands twice."""
        place = self.places[position] if self.places else f"row {position + 1}"
        own = self._ids[position]
        if not own:
            return place
        return f"{own} ({place})" if self._twice[position] else own

    def broken(
        self, broken: "pd.Series[bool] | Mask", column: str, rule: str, cure: str
    ) -> Iterable[Found]:
        """Return a fault for each row that is `broken` and whose cell is not at fault already."""
        mask = np.asarray(broken, dtype=bool)
        if column in self.unread:
            mask = mask & ~self.unread[column]
        for position in map(int, mask.nonzero()[0]):
            value = self.frame[column].iloc[position] if column in self.frame else None
            yield self.found(position, column, shown(value), rule, cure)

    def found(self, position: int, column: str, value: str, rule: str, cure: str) -> Found:
        """Return a fault of one row."""
        fault = Fault(
            table=self.table.name,
            row=self.label(position),
            column=column,
            value=value,
            rule=rule,
            cure=cure,
        )
        return Found(position=position, fault=fault)


def in_file_order(found: Iterable[Found]) -> list[Found]:
    """Return faults sorted by row, those of the whole table first; else in the order given."""
    return sorted(found, key=lambda one: -1 if one.position is None else one.position)


def shown(value: Any) -> str:  # noqa: ANN401 — any cell
    r"""
    Return a cell as a message shows it: on one line, cut where it is long; nothing where empty.

    What does not print, or turns the direction of writing, is shown by its code.

    Examples
    --------
    >>> shown("North\nroad"), shown(float("nan")), shown(2.0), shown("T\x1b1")
    ('North road', '', '2', 'T\\x1b1')
    """
    if value is None or (pd.api.types.is_scalar(value) and pd.isna(value)):
        return ""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    words = " ".join(str(value)[:VALUE_LOOKED_AT].split())
    text = "".join(
        char if char.isprintable() else ascii(char)[1:-1] for char in words[: VALUE_SHOWN + 1]
    )
    return text if len(text) <= VALUE_SHOWN else text[: VALUE_SHOWN - 1] + "…"


def _column_checks(
    column: Column, values: "pd.Series[Any]"
) -> Iterable[tuple["pd.Series[bool]", str, str]]:
    empty = values.isna()
    if column.required:
        yield empty, "is empty", f"Fill it in: {column.meaning}."
    if column.unique:
        twice = values.duplicated(keep=False) & ~empty
        yield twice, "stands in more than one row", "Give every row its own."
    if column.choices:
        listed = ", ".join(column.choices)
        wrong = ~values.isin(column.choices) & ~empty
        yield wrong, "is not a word of this column", f"Use one of: {listed}."
    if column.kind in {Kind.NUMBER, Kind.WHOLE}:
        yield from _range_checks(column, values)


def _range_checks(
    column: Column, values: "pd.Series[float]"
) -> Iterable[tuple["pd.Series[bool]", str, str]]:
    unit = f" {column.unit}" if column.unit else ""
    cure = f"Check it: {column.meaning}."
    if column.above is not None:
        yield values <= column.above, f"must be greater than {column.above:,.15g}{unit}", cure
    if column.at_least is not None:
        yield values < column.at_least, f"must be at least {column.at_least:,.15g}{unit}", cure
    if column.at_most is not None:
        yield values > column.at_most, f"must be at most {column.at_most:,.15g}{unit}", cure
