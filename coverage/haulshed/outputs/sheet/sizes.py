"""Distances and places as a driver reads them."""

from haulshed.units import FT_PER_MI, M_PER_MI, System

#: Nearer than this a distance is told in feet or metres [mi].
_NEAR_MI = 0.15
_FEET_STEP, _METRE_STEP = 50, 10


def distance(miles: float, units: System) -> str:
    """
    Return a distance by road.

    Examples
    --------
    >>> distance(3.04, System.US), distance(0.1, System.US), distance(0.1, System.SI)
    ('3.0 mi', '550 ft', '160 m')
    """
    if units is System.US:
        if miles >= _NEAR_MI:
            return f"{miles:,.1f} mi"
        return f"{max(round(miles * FT_PER_MI / _FEET_STEP), 1) * _FEET_STEP} ft"
    metres = miles * M_PER_MI
    if miles >= _NEAR_MI:
        return f"{metres / 1000:,.1f} km"
    return f"{max(round(metres / _METRE_STEP), 1) * _METRE_STEP} m"


def position(lat: float, lon: float) -> str:
    """
    Return a place as a phone takes it.

    Examples
    --------
    >>> position(-45.123456, 170.5)
    '-45.12346, 170.50000'
    """
    return f"{lat:.5f}, {lon:.5f}"
