"""Units: the exact factors, and how a column header carries its unit.

Inside the model everything is US customary (gallon, minute, gpm, foot, mile, mph, psi). A file may
say ``tank_l`` or ``lay_m``; the reader converts by the factors here. Every factor is an exact
expression of definitions: 1 in = 25.4 mm, 1 US gal = 231 in³, 1 lb = 0.45359237 kg (international
yard and pound agreement, 1959) and standard gravity 9.80665 m/s² (CGPM 1901).
"""

from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum

from haulshed.errors import UnitError

M_PER_IN = 0.0254
M_PER_FT = 12 * M_PER_IN
M_PER_MI = 5280 * M_PER_FT
FT_PER_MI = 5280.0
L_PER_GAL = 231 * (10 * M_PER_IN) ** 3
KG_PER_LB = 0.45359237
#: Water at about 60 °F (62.4 lb/ft³), as hydraulics handbooks of the fire service print it.
WATER_LB_PER_GAL = 8.34
KPA_PER_PSI = KG_PER_LB * 9.80665 / M_PER_IN**2 / 1000
GAL_PER_FT3 = 12**3 / 231
FT2_PER_ACRE = 43560.0
MI2_PER_M2 = 1 / M_PER_MI**2
MIN_PER_H = 60.0


class System(StrEnum):
    """Unit system of a file that we write."""

    US = "us"
    SI = "si"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """A unit as the last part of a column header, and what one of it is in ours."""

    suffix: str  #: last part of the header, such as ``gpm`` in ``flow_gpm``
    ours: str  #: suffix of the unit that the model uses for this dimension
    factor: float  #: one of this unit, in `ours`
    symbol: str  #: as people print it


_UNITS = (
    Unit(suffix="gal", ours="gal", factor=1, symbol="gal"),
    Unit(suffix="l", ours="gal", factor=1 / L_PER_GAL, symbol="L"),
    Unit(suffix="m3", ours="gal", factor=1000 / L_PER_GAL, symbol="m³"),
    Unit(suffix="gpm", ours="gpm", factor=1, symbol="gpm"),
    Unit(suffix="lpm", ours="gpm", factor=1 / L_PER_GAL, symbol="L/min"),
    Unit(suffix="ft", ours="ft", factor=1, symbol="ft"),
    Unit(suffix="m", ours="ft", factor=1 / M_PER_FT, symbol="m"),
    Unit(suffix="miles", ours="miles", factor=1, symbol="mi"),
    Unit(suffix="km", ours="miles", factor=1000 / M_PER_MI, symbol="km"),
    Unit(suffix="in", ours="in", factor=1, symbol="in"),
    Unit(suffix="mm", ours="in", factor=0.001 / M_PER_IN, symbol="mm"),
    Unit(suffix="ft2", ours="ft2", factor=1, symbol="ft²"),
    Unit(suffix="m2", ours="ft2", factor=1 / M_PER_FT**2, symbol="m²"),
    Unit(suffix="psi", ours="psi", factor=1, symbol="psi"),
    Unit(suffix="kpa", ours="psi", factor=1 / KPA_PER_PSI, symbol="kPa"),
    Unit(suffix="bar", ours="psi", factor=100 / KPA_PER_PSI, symbol="bar"),
    Unit(suffix="lb", ours="lb", factor=1, symbol="lb"),
    Unit(suffix="kg", ours="lb", factor=1 / KG_PER_LB, symbol="kg"),
    Unit(suffix="t", ours="lb", factor=1000 / KG_PER_LB, symbol="t"),
    Unit(suffix="mph", ours="mph", factor=1, symbol="mph"),
    Unit(suffix="kmh", ours="mph", factor=1000 / M_PER_MI, symbol="km/h"),
    Unit(suffix="min", ours="min", factor=1, symbol="min"),
    Unit(suffix="s", ours="min", factor=1 / 60, symbol="s"),
)

#: Every unit that a header may carry, by suffix.
UNITS = {unit.suffix: unit for unit in _UNITS}

#: The SI unit that stands for each of ours in a file written with ``--units si``.
SI_SUFFIX = {
    "gal": "l",
    "gpm": "lpm",
    "ft": "m",
    "miles": "km",
    "in": "mm",
    "ft2": "m2",
    "psi": "kpa",
    "lb": "kg",
    "mph": "kmh",
    "min": "min",
}


def split_header(header: str) -> tuple[str, Unit | None]:
    """
    Return a column header's stem and its unit, if its last part is one.

    Examples
    --------
    >>> stem, unit = split_header("tank_l")
    >>> stem, unit.ours
    ('tank', 'gal')
    >>> split_header("site_id")
    ('site_id', None)
    """
    stem, _, suffix = header.rpartition("_")
    unit = UNITS.get(suffix) if stem else None
    return (stem, unit) if unit else (header, None)


def accepted_suffixes(ours: str) -> tuple[str, ...]:
    """
    Return every header suffix that can be read as the unit `ours`, ours first.

    Examples
    --------
    >>> accepted_suffixes("gal")
    ('gal', 'l', 'm3')
    """
    return tuple(unit.suffix for unit in _UNITS if unit.ours == ours)


def factor_between(suffix: str, wanted: str) -> float:
    """
    Return what one `suffix` is in `wanted`.

    Raises
    ------
    UnitError
        If either is no unit of ours or the two measure different things.

    Examples
    --------
    >>> round(factor_between("gpm", "lpm"), 6)
    3.785412
    """
    for name in (suffix, wanted):
        if name not in UNITS:
            near = get_close_matches(name, UNITS, n=1)
            hint = f"; did you mean '{near[0]}'?" if near else "."
            msg = f"'{name}' is not a unit that haulshed knows{hint} Known: {', '.join(UNITS)}."
            raise UnitError(msg)
    here, there = UNITS[suffix], UNITS[wanted]
    if here.ours != there.ours:
        accepted = ", ".join(accepted_suffixes(there.ours))
        msg = f"'{suffix}' cannot be turned into '{wanted}'. Accepted: {accepted}."
        raise UnitError(msg)
    return here.factor / there.factor
