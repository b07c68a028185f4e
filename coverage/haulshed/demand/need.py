"""What a method answers: needed flow, needed water, and what they rest on."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from haulshed.tables.parcels import Parcels


class DemandSource(StrEnum):
    """What a parcel's needed flow rests on."""

    PARCEL = "parcel"  #: the parcel's own data, by the method
    PART_DEFAULT = "part default"  #: the same, some of it defaults of the scenario
    DEFAULT = "default"  #: the scenario's default dwelling
    FIXED = "fixed"  #: the scenario's one figure
    COLUMN = "column"  #: the district's own needed_gpm
    NO_STRUCTURE = "no structure"  #: nothing stands there, so nothing is needed


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """Demand of each parcel, in the order of the parcels."""

    needed_gpm: NDArray[np.float64]  #: needed flow [gpm]; NaN: nothing is needed
    needed_gal: NDArray[np.float64]  #: needed water [gal]; NaN: the method states none
    demand_source: NDArray[np.str_]  #: a :class:`DemandSource` each


def numbers(parcels: Parcels, column: str) -> NDArray[np.float64]:
    """Return a column of numbers or truth values as floats, NaN where a cell is empty."""
    cells = parcels[column].astype("Float64")
    return np.asarray(cells.to_numpy(dtype=float, na_value=np.nan), dtype=np.float64)


def source_by_known(known: NDArray[np.bool_]) -> NDArray[np.str_]:
    """
    Return the source of each parcel by which of its fields are its own.

    Parameters
    ----------
    known
        Whether a field is the parcel's own, shape (parcels, fields).

    Examples
    --------
    >>> source_by_known(np.array([[True, True], [True, False], [False, False]])).tolist()
    ['parcel', 'part default', 'default']
    """
    partly = np.where(known.any(axis=1), DemandSource.PART_DEFAULT, DemandSource.DEFAULT)
    return np.where(known.all(axis=1), DemandSource.PARCEL, partly)
