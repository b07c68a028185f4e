"""A table as its file has it: text by header, and where each row stands."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from pyproj import CRS

from haulshed.errors import Fault, TableError
from haulshed.tables.table import Found, shown

#: Key that names a table's layer, where it is not `layer` of the table's own section; "" where
#: none does.
_LAYER_KEYS = {
    "boundary": ("district", "boundary_layer"),
    **dict.fromkeys(("candidates", "closed_area", "drill log"), ("", "")),
}

Geometries = npt.NDArray[np.object_]
"""Shapely geometries, one a row; None where there is none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shapes:
    """The geometry of a layer."""

    geometry: Geometries
    crs: CRS | None  #: None: the file does not say it


@dataclass(frozen=True, slots=True, kw_only=True)
class RawTable:
    """A table as its file has it."""

    columns: Mapping[str, Sequence[str]]  #: by header; cells stripped, an empty one is ""
    places: Sequence[str]  #: where each row stands, such as ``line 7``
    shapes: Shapes | None = None  #: None: a file without geometry
    found: Sequence[Found] = ()  #: rows that could not be taken apart into cells
    notes: Sequence[str] = ()  #: what the reader passed over or was told by the library

    def cells(self, position: int) -> dict[str, str]:
        """Return a row as the file has it."""
        return {header: texts[position] for header, texts in self.columns.items()}


def unreadable(table: str, rule: str, cure: str) -> TableError:
    """Return the error of a table whose file cannot be read at all."""
    fault = Fault(table=table, row="", column="", value="", rule=rule, cure=cure)
    return TableError([fault])


def refuse_twice(headers: Sequence[str], table: str, name: str) -> None:
    """
    Raise if a file has two columns of one name, of which one would be lost.

    Raises
    ------
    TableError
        If it has.
    """
    twice = [header for header, count in Counter(headers).items() if count > 1]
    if twice:
        rule = f"{name} has more than one column '{shown(min(twice))}'"
        raise unreadable(table, rule, "Delete or rename one of them.")


def layer_name(path: Path, table: str, layer: str | None, names: Iterable[str]) -> str:
    """
    Return the layer that is meant: the one of that name, or the only one.

    Raises
    ------
    TableError
        If it is not there, or there are several and none is named.
    """
    known = list(names)
    if not known:
        raise unreadable(table, f"{path.name} has no layer", "Export it again.")
    listed = ", ".join(map(shown, known))
    if layer is not None and layer not in known:
        rule = f"{path.name} has no layer '{shown(layer)}'"
        raise unreadable(table, rule, f"It has: {listed}.")
    if layer is None and len(known) != 1:
        raise unreadable(table, f"{path.name} has {len(known)} layers", _name_one(table, listed))
    return layer or known[0]


def without_layer(table: str) -> str:
    """Return the cure where a layer is named of a file that has none."""
    section, key = _LAYER_KEYS.get(table, (table, "layer"))
    return f"Take {key} out of [{section}] of district.toml."


def _name_one(table: str, listed: str) -> str:
    section, key = _LAYER_KEYS.get(table, (table, "layer"))
    if not key:
        return f"Export the one that is meant to a file of its own. It has: {listed}."
    return f'Name one in [{section}] of district.toml, {key} = "…", of: {listed}.'
