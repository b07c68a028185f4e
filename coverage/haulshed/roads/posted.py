"""What a posted weight or height says: values of `maxweight` and `maxheight`, and their kin.

Value syntax as the OpenStreetMap wiki has it (pages *Key:maxweight*, *Key:maxheight* and *Map
features/Units*, from memory): a bare weight is metric tonnes, a bare height metres; `st` is the
short ton of 2,000 lb, `lt` the long ton of 2,240 lb.
"""

import re
from collections.abc import Callable
from math import inf, nan
from typing import NamedTuple

from haulshed.units import KG_PER_LB, M_PER_FT, M_PER_IN

_LB_PER_T = 1000 / KG_PER_LB
_POUNDS = {
    "": _LB_PER_T,
    "t": _LB_PER_T,
    "kg": 1 / KG_PER_LB,
    "lb": 1.0,
    "lbs": 1.0,
    "st": 2000.0,
    "lt": 2240.0,
}
_FEET = {"": 1 / M_PER_FT, "m": 1 / M_PER_FT, "ft": 1.0, "in": M_PER_IN / M_PER_FT}
#: Words that say that nothing is posted.
_NOTHING = frozenset(("none", "unsigned", "default", "no_sign", "no_indications", "no"))

_NUMBER = r"(\d{1,6}(?:\.\d+)?)"
_WITH_UNIT = re.compile(rf"{_NUMBER}\s*([a-z]*)", re.ASCII)
_FEET_INCHES = re.compile(rf"(\d{{1,3}})\s*(?:'|ft)(?:\s*{_NUMBER}\s*(?:\"|''|in))?", re.ASCII)
_IN_PER_FT = 12


class Posted(NamedTuple):
    """A limit as it is mapped."""

    figure: float  #: NaN: none
    understood: bool  #: no: something is mapped that is neither a figure nor a word for none


def posted_weight_lb(value: str) -> Posted:
    """
    Return the weight limit [lb] that a value of `maxweight` states; the least of a list counts.

    A value that cannot be read states none and says so: nothing is guessed from it.

    Examples
    --------
    >>> round(posted_weight_lb("7.5").figure), posted_weight_lb("10 st").figure
    (16535, 20000.0)
    >>> posted_weight_lb("none"), posted_weight_lb("10 tons")
    (Posted(figure=nan, understood=True), Posted(figure=nan, understood=False))
    """
    return _least(value, lambda text: _with_unit(text, _POUNDS))


def posted_height_ft(value: str) -> Posted:
    r"""
    Return the height limit [ft] that a value of `maxheight` states; the least of a list counts.

    Examples
    --------
    >>> round(posted_height_ft("3.5").figure, 2), posted_height_ft("12'6\"").figure
    (11.48, 12.5)
    >>> posted_height_ft("below_default")
    Posted(figure=nan, understood=False)
    """
    return _least(value, _height_ft)


def least_posted(one: Posted, other: Posted) -> Posted:
    """Return the lower of two limits, understood if both are."""
    figures = [limit for limit in (one.figure, other.figure) if limit > 0]
    return Posted(min(figures, default=nan), one.understood and other.understood)


def _least(value: str, read: Callable[[str], float | None]) -> Posted:
    said = [part.strip().lower() for part in value.split(";")]
    read_as = [read(part) for part in said if part and part not in _NOTHING]
    figures = [figure for figure in read_as if figure is not None]
    least = min(figures, default=inf)
    return Posted(least if least < inf else nan, len(figures) == len(read_as))


def _with_unit(text: str, units: dict[str, float]) -> float | None:
    match = _WITH_UNIT.fullmatch(text)
    if not match or match[2] not in units or float(match[1]) == 0:
        return None
    return float(match[1]) * units[match[2]]


def _height_ft(text: str) -> float | None:
    match = _FEET_INCHES.fullmatch(text)
    if not match:
        return _with_unit(text, _FEET)
    inches = float(match[2] or 0)
    height_ft = float(match[1]) + inches / _IN_PER_FT
    return height_ft if height_ft > 0 and inches < _IN_PER_FT else None
