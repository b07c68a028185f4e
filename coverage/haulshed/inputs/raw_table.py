"""A table as its file has it: text by header, and where each row stands."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from pyproj import CRS

from haulshed.errors import Fault, TableError
from haulshed.tables.table import Found

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
