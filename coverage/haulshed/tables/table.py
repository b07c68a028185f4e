"""What a table is: its columns, its rules, and the check that finds every fault."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import Any

import pandas as pd

from haulshed.errors import Fault, TableError

#: A value longer than this is cut in a message.
VALUE_SHOWN = 60


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


@dataclass(frozen=True, kw_only=True)
class Table:
    """A table's name, its id column, its columns in order and its rules."""

    name: str
    meaning: str
    id_column: str
    columns: tuple[Column, ...]
    rules: tuple[Rule, ...] = ()

    @cached_property
    def by_name(self) -> dict[str, Column]:
        """The columns by their header."""
        return {column.name: column for column in self.columns}

    def faults(self, frame: pd.DataFrame) -> list[Fault]:
        """
        Return every fault of `frame`, whose cells already have their column's type.

        Missing columns come first; then the rows', in column order.
        """
        missing = [c for c in self.columns if c.required and c.name not in frame]
        found = [self._missing(column) for column in missing]
        for column in self.columns:
            if column.name in frame:
                found.extend(self._column_faults(column, frame))
        for rule in self.rules:
            found.extend(
                self._rows(frame, rule.broken(frame), rule.column, rule.rule, rule.cure)
                if not missing
                else ()
            )
        return found

    def check(self, frame: pd.DataFrame) -> None:
        """
        Raise if `frame` breaks a rule.

        Raises
        ------
        TableError
            With every fault.
        """
        found = self.faults(frame)
        if found:
            raise TableError(found)

    def _missing(self, column: Column) -> Fault:
        return Fault(
            table=self.name,
            row="",
            column=f"column '{column.name}'",
            value="",
            rule="is missing",
            cure=f"Add it: {column.meaning}.",
        )

    def _column_faults(self, column: Column, frame: pd.DataFrame) -> Iterable[Fault]:
        values = frame[column.name]
        empty = values.isna()
        checks: list[tuple[pd.Series[bool], str, str]] = []
        if column.required:
            checks.append((empty, "is empty", f"Fill it in: {column.meaning}."))
        if column.unique:
            twice = values.duplicated(keep=False) & ~empty
            checks.append((twice, "stands in more than one row", "Give every row its own."))
        if column.choices:
            listed = ", ".join(column.choices)
            wrong = ~values.isin(column.choices) & ~empty
            checks.append((wrong, "is not a word of this column", f"Use one of: {listed}."))
        if column.kind in {Kind.NUMBER, Kind.WHOLE}:
            checks.extend(_range_checks(column, values))
        for broken, rule, cure in checks:
            yield from self._rows(frame, broken, column.name, rule, cure)

    def _rows(
        self, frame: pd.DataFrame, broken: "pd.Series[bool]", column: str, rule: str, cure: str
    ) -> Iterable[Fault]:
        ids = frame[self.id_column] if self.id_column in frame else pd.Series(frame.index)
        for position in broken.to_numpy().nonzero()[0]:
            value = frame[column].iloc[position] if column in frame else None
            yield Fault(
                table=self.name,
                row=shown(ids.iloc[position]),
                column=column,
                value=shown(value),
                rule=rule,
                cure=cure,
            )


def shown(value: Any) -> str:  # noqa: ANN401 — any cell
    r"""
    Return a cell as a message shows it: on one line, cut where it is long.

    Examples
    --------
    >>> shown("North\nroad"), shown(float("nan")), shown(2.0)
    ('North road', 'empty', '2')
    """
    if pd.api.types.is_scalar(value) and pd.isna(value):
        return "empty"
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    text = " ".join(str(value).split())
    return text if len(text) <= VALUE_SHOWN else text[: VALUE_SHOWN - 1] + "…"


def _range_checks(
    column: Column, values: "pd.Series[float]"
) -> Iterable[tuple["pd.Series[bool]", str, str]]:
    if column.above is not None:
        limit = f"{column.above:g}"
        yield values <= column.above, f"must be greater than {limit}", f"{column.meaning}."
    if column.at_least is not None:
        limit = f"{column.at_least:g}"
        yield values < column.at_least, f"must be at least {limit}", f"{column.meaning}."
    if column.at_most is not None:
        limit = f"{column.at_most:g}"
        yield values > column.at_most, f"must be at most {limit}", f"{column.meaning}."
