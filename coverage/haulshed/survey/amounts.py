"""Flows and volumes as mappers write them: a plain number and its unit, or nothing understood."""

import re
from collections.abc import Mapping
from math import nan

from haulshed.units import L_PER_GAL, MIN_PER_H

_AMOUNT = re.compile(r"(\d{1,9}(?:\.\d{1,6})?)\s*(\D.*)", re.ASCII)
_L_PER_M3 = 1000
_S_PER_MIN = 60

#: Gallons a minute in one of each unit.
_FLOW = {
    "l/min": 1 / L_PER_GAL,
    "lpm": 1 / L_PER_GAL,
    "l/s": _S_PER_MIN / L_PER_GAL,
    "m3/h": _L_PER_M3 / MIN_PER_H / L_PER_GAL,
    "gpm": 1.0,
    "usgpm": 1.0,
}
#: Gallons in one of each unit.
_VOLUME = {
    "m3": _L_PER_M3 / L_PER_GAL,
    "l": 1 / L_PER_GAL,
    "liter": 1 / L_PER_GAL,
    "litre": 1 / L_PER_GAL,
    "liters": 1 / L_PER_GAL,
    "litres": 1 / L_PER_GAL,
    "gal": 1.0,
    "gallons": 1.0,
}


def flow_gpm(text: str) -> float:
    """
    Return the flow [gpm] that a value states with its unit; NaN where it states none.

    A bare number is not guessed at: mappers write litres a minute and cubic metres an hour alike.

    Examples
    --------
    >>> round(flow_gpm("96 m³/h")), flow_gpm("750 gpm"), flow_gpm("1500")
    (423, 750.0, nan)
    """
    return _amount(text, _FLOW)


def volume_gal(text: str) -> float:
    """
    Return the volume [gal] that a value states with its unit; NaN where it states none.

    Examples
    --------
    >>> round(volume_gal("100 m3")), volume_gal("30000 gal"), volume_gal("1,000 gal")
    (26417, 30000.0, nan)
    """
    return _amount(text, _VOLUME)


def _amount(text: str, units: Mapping[str, float]) -> float:
    match = _AMOUNT.fullmatch(text.strip())
    if not match or not float(match[1]):
        return nan
    unit = match[2].strip().lower().replace("³", "3").replace("^3", "3")
    return float(match[1]) * units.get(unit, nan)
