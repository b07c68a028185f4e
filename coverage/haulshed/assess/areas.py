"""Areas by which properties are counted and chosen."""

from difflib import get_close_matches

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.case import Inputs
from haulshed.errors import InputError

#: Area of a property of which no area is known, or to which no engine comes.
NO_AREA, NOBODY = "no area given", "nobody comes"
#: Areas that a message proposes.
_NEAR = 3


def areas_of(inputs: Inputs, first_due: "pd.Series[str]") -> "pd.Series[str]":
    """
    Return the area of each parcel.

    The parcels' own column ``area`` where any has one; else the name of the station from which the
    first engine comes.

    Parameters
    ----------
    inputs
        The district.
    first_due
        Id of that station by parcel, in their order; empty where nobody comes.
    """
    given = inputs.parcels.get("area")
    if given is not None and given.notna().any():
        return pd.Series(given.fillna(NO_AREA).astype(str).to_numpy(), index=first_due.index)
    stations = inputs.stations.set_index("station_id")["name"]
    names = first_due.map(stations.to_dict())
    return names.where(names.fillna("") != "", first_due).fillna(NOBODY).astype(str)


def in_area(inputs: Inputs, first_due: "pd.Series[str]", area: str) -> NDArray[np.bool_]:
    """
    Return which parcels are in an area.

    Raises
    ------
    InputError
        If none is; the message names near areas.
    """
    areas = areas_of(inputs, first_due)
    held = np.asarray(areas == area, dtype=np.bool_)
    if not held.any():
        known = sorted(set(areas))
        near = get_close_matches(area, known, n=_NEAR)
        hint = f"Near ones: {', '.join(near)}." if near else f"There are: {', '.join(known[:9])}."
        msg = f"parcels: no parcel is in an area '{area}'. {hint}"
        raise InputError(msg)
    return held
