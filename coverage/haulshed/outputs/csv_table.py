"""Tables as CSV: stable figures, and no cell that a spreadsheet would run."""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from haulshed.tables.formula_guard import guarded

#: Degrees carry this many decimals, about 0.1 m; other figures three.
_DEGREE_DECIMALS = 6
_DECIMALS = 3
_DEGREES = ("lon", "lat")


def write_csv(table: pd.DataFrame, file: Path) -> None:
    """
    Write `table` to `file` in UTF-8; empty cells stay empty, text is made safe for a spreadsheet.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    shown = pd.DataFrame({name: _shown(name, table[name]) for name in table.columns})
    shown.to_csv(file, index=False, encoding="utf-8", lineterminator="\n")


def _shown(name: str, values: "pd.Series[Any]") -> "pd.Series[Any]":
    if pd.api.types.is_bool_dtype(values):
        return values.map({True: "yes", False: "no"})
    if pd.api.types.is_float_dtype(values):
        decimals = _DEGREE_DECIMALS if name.endswith(_DEGREES) else _DECIMALS
        return values.round(decimals) + 0.0  # +0.0 turns −0 into 0
    if pd.api.types.is_numeric_dtype(values):
        return values
    codes, distinct = pd.factorize(values)
    words = np.array([*(guarded(str(text)) for text in distinct), None], dtype=object)
    return pd.Series(words[codes], index=values.index, dtype=object)  # -1, the last, is no text
