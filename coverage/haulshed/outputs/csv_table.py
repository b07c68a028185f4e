"""Tables as CSV: stable figures, and no cell that a spreadsheet would run."""

import csv
from collections.abc import Iterable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

from haulshed.tables.formula_guard import guarded

#: Degrees carry this many decimals, about 0.1 m; other figures three.
_DEGREE_DECIMALS = 6
_DECIMALS = 3
_DEGREES = ("lon", "lat")
#: Figures of such a size Arrow writes in Python's digits, many times as fast; a whole one without
#: its last ".0".
_PLAIN_FROM, _PLAIN_BELOW = 1e-4, 1e9
#: Rows that are put together at once: a table of a state would fill the memory.
_ROWS = 100_000


def write_csv(table: pd.DataFrame, file: Path) -> None:
    """
    Write `table` to `file` in UTF-8; empty cells stay empty, text is made safe for a spreadsheet.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    with file.open("w", encoding="utf-8", newline="") as out:
        out.write(",".join(_quoted(table.columns)) + "\n")
        for start in range(0, len(table), _ROWS):
            some = table.iloc[start : start + _ROWS]
            cells = [_shown(name, some[name]) for name in some.columns]
            lines = pc.binary_join_element_wise(*cells, ",", null_handling="replace")
            out.write("\n".join(lines.to_pylist()) + "\n")


def _shown(name: str, values: "pd.Series[Any]") -> "pa.Array[Any]":
    """Return the cells of a column as they are written; none where there is nothing."""
    if pd.api.types.is_bool_dtype(values):
        return pc.if_else(pa.array(values, from_pandas=True), "yes", "no")
    if pd.api.types.is_float_dtype(values):
        decimals = _DEGREE_DECIMALS if name.endswith(_DEGREES) else _DECIMALS
        return _figures(values.round(decimals) + 0.0)  # +0.0 turns −0 into 0
    if pd.api.types.is_numeric_dtype(values):
        return pa.array(values, from_pandas=True).cast(pa.string())
    codes, distinct = pd.factorize(values)
    words = _quoted(guarded(str(text)) for text in np.asarray(distinct, dtype=object).tolist())
    return pa.array(words, pa.string()).take(pa.array(codes, mask=codes < 0))


def _figures(values: "pd.Series[Any]") -> "pa.Array[Any]":
    """Return figures in the fewest digits that give them back, as Python has them."""
    figures = values.to_numpy(dtype=np.float64, na_value=np.nan)
    size, there = np.abs(figures), ~np.isnan(figures)
    if (there & (size >= _PLAIN_BELOW) | (size > 0) & (size < _PLAIN_FROM)).any():
        return pa.array(
            [None if np.isnan(one) else repr(one) for one in figures.tolist()], pa.string()
        )
    texts = pa.array(figures, mask=~there).cast(pa.string())
    whole = pa.array(figures == np.floor(figures))
    return pc.if_else(whole, pc.binary_join_element_wise(texts, "0", "."), texts)


def _quoted(cells: Iterable[str]) -> list[str]:
    """Return text cells in quotation marks where they need them."""
    lines: list[str] = []
    writer = csv.writer(SimpleNamespace(write=lines.append), lineterminator="\n")
    writer.writerows((cell, "") for cell in cells)  # alone, an empty one would be quoted
    return [line.removesuffix(",\n") for line in lines]
