"""Areas by which properties are counted and chosen."""

from difflib import get_close_matches

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.working import Working
from haulshed.errors import InputError

#: Area of a property of which no area is known, or to which no engine comes.
NO_AREA, NOBODY = "no area given", "nobody comes"
#: Areas that a message proposes.
_NEAR = 3


def areas_of(working: Working) -> NDArray[np.object_]:
    """
    Return the area of each parcel.

    The parcels' own column ``area`` where any has one; else the name of the station from which the
    first engine comes.
    """
    given = working.ground.inputs.parcels.get("area")
    if given is not None and given.notna().any():
        return np.asarray(given.fillna(NO_AREA).astype(str).to_numpy(dtype=object))
    units, stations = working.ground.assignment, working.ground.inputs.stations
    ids = stations["station_id"].astype(str)
    names = stations["name"].fillna("").astype(str)
    called = names.where(names != "", ids).to_numpy(dtype=object)
    arrival_min = np.where(units.is_engine, working.there.arrival_min, np.inf)
    areas = np.full(len(arrival_min), NOBODY, dtype=object)
    rows = np.flatnonzero(np.isfinite(arrival_min).any(axis=1))
    areas[rows] = called[units.station[arrival_min[rows].argmin(axis=1)]]
    return areas


def in_area(working: Working, area: str) -> NDArray[np.bool_]:
    """
    Return which parcels are in an area.

    Raises
    ------
    InputError
        If none is; the message names near areas.
    """
    areas = areas_of(working)
    held = np.asarray(areas == area, dtype=np.bool_)
    if not held.any():
        known = sorted(set(areas.tolist()))
        near = get_close_matches(area, known, n=_NEAR)
        hint = f"Near ones: {', '.join(near)}." if near else f"There are: {', '.join(known[:9])}."
        msg = f"parcels: no parcel is in an area '{area}'. {hint}"
        raise InputError(msg)
    return held
