"""What stands on a parcel and who lives there: the attributes of the parcel table.

The knobs of what structures ask for are the kinds below: floor area and height over the occupancy
hazard class give the needed water.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from larkmoor_maker.buildings import Building
from larkmoor_maker.frame import ACRE, MI, degrees, random

#: Parcels of whose structure the county knows nothing, and those with a cell or two missing.
_BLANK_SHARE, _PATCHY_SHARE = 0.05, 0.09


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kind:
    """A kind of structure: ground floor area [ft²], storeys and the factors of its need."""

    area_ft2: tuple[float, float]
    stories: tuple[float, ...]
    hazard: int
    construction: tuple[float, ...]
    people: tuple[int, int]
    value_per_ft2: float
    story_ft: float = 8.0
    roof_ft: float = 4.0  #: half of the rise


_KINDS = {
    "cabin": _Kind(area_ft2=(420, 900), stories=(1,), hazard=7, construction=(1.0, 1.5),
                   people=(0, 2), value_per_ft2=85, roof_ft=3),
    "house": _Kind(area_ft2=(780, 1750), stories=(1, 1, 1.5, 2), hazard=7, construction=(1.0, 1.0,
                   1.0, 1.5), people=(1, 5), value_per_ft2=120),
    "cottage": _Kind(area_ft2=(640, 1300), stories=(1, 1, 1.5), hazard=7, construction=(1.0,),
                     people=(1, 4), value_per_ft2=110),
    "big house": _Kind(area_ft2=(2600, 5200), stories=(2, 2.5), hazard=7, construction=(1.0, 1.5),
                       people=(2, 7), value_per_ft2=165),
    "barn": _Kind(area_ft2=(2400, 7500), stories=(1,), hazard=4, construction=(1.0, 1.5),
                  people=(0, 4), value_per_ft2=28, story_ft=16, roof_ft=6),
    "shed": _Kind(area_ft2=(2200, 5200), stories=(1,), hazard=5, construction=(0.75, 1.0),
                  people=(0, 3), value_per_ft2=32, story_ft=14, roof_ft=3),
    "shop": _Kind(area_ft2=(1400, 4200), stories=(1, 2), hazard=5, construction=(0.75, 1.0),
                  people=(0, 3), value_per_ft2=90, story_ft=11, roof_ft=2),
    "mill": _Kind(area_ft2=(6000, 14000), stories=(1, 2), hazard=3, construction=(0.75, 1.0),
                  people=(0, 0), value_per_ft2=45, story_ft=15, roof_ft=3),
    "school": _Kind(area_ft2=(24000, 24000), stories=(1,), hazard=7, construction=(0.75,),
                    people=(0, 0), value_per_ft2=150, story_ft=13, roof_ft=2),
}  # fmt: skip

#: Shares of the kinds by use of the parcel.
_MIX = {
    "village": {"house": 0.62, "cottage": 0.22, "shop": 0.12, "big house": 0.03, "mill": 0.01},
    "lot": {"house": 0.56, "cottage": 0.31, "big house": 0.05, "shop": 0.04, "shed": 0.04},
    "farm": {"house": 0.33, "cottage": 0.22, "barn": 0.25, "shed": 0.14, "big house": 0.055,
             "mill": 0.005},
    "cabin": {"cabin": 1.0},
}  # fmt: skip

Row = dict[str, object]


def parcel_rows(buildings: Sequence[Building]) -> list[tuple[Row, Building]]:
    """Return the attributes of each parcel, in the order of the parcel numbers."""
    rng = random("holdings")
    village = max((b for b in buildings if b.parcel.use == "village"), key=_area)
    rows = []
    for number, building in zip(_numbers(buildings), buildings, strict=True):
        kind = "school" if building is village else _drawn_kind(building.parcel.use, rng)
        structure = _forgotten(_structure(_KINDS[kind], building, rng), rng)
        lon, lat = degrees([building.at])[0]
        row: Row = {"parcel_id": number, "structure_lat": lat, "structure_lon": lon, **structure}
        rows.append((row, building))
    return sorted(rows, key=lambda pair: str(pair[0]["parcel_id"]))


def _area(building: Building) -> float:
    return building.parcel.outline.area


def _numbers(buildings: Sequence[Building]) -> list[str]:
    """Return the parcels' numbers: column and row of the square mile, then a running number."""
    counts: dict[str, int] = {}
    numbers = []
    for building in buildings:
        x, y = building.at
        square = f"{int(x // MI) + 11:02d}{int(y // MI) + 11:02d}"
        counts[square] = counts.get(square, 0) + 1
        numbers.append(f"{square}-{counts[square]:03d}")
    return numbers


def _drawn_kind(use: str, rng: np.random.Generator) -> str:
    mix = _MIX[use]
    return str(rng.choice(list(mix), p=list(mix.values())))


def _structure(kind: _Kind, building: Building, rng: np.random.Generator) -> Row:
    """Return what is known of a structure of a kind."""
    low, high = kind.area_ft2
    area = round(float(rng.triangular(low, low + 0.35 * (high - low), high + 1)) / 10) * 10
    stories = float(rng.choice(kind.stories))
    crowded = building.parcel.use == "village" and building.parcel.outline.area < 0.28 * ACRE
    value = area * stories * kind.value_per_ft2 * float(rng.lognormal(0, 0.25))
    return {
        "structures": 1 + int(rng.poisson(1.6 if building.parcel.use == "farm" else 0.3)),
        "floor_area_ft2": area,
        "stories": stories,
        "height_ft": round(stories * kind.story_ft + kind.roof_ft, 1),
        "occupancy_hazard": kind.hazard,
        "construction_class": float(rng.choice(kind.construction)),
        "exposure": bool(crowded and rng.random() < 0.6),  # noqa: PLR2004 — a share
        "people": int(rng.integers(kind.people[0], kind.people[1] + 1)),
        "value": round(value + 1800 * (building.parcel.outline.area / ACRE) ** 0.8, -2),
    }


def _forgotten(structure: Row, rng: np.random.Generator) -> Row:
    """Return a structure as the county's roll has it: some cells, or all, never filled in."""
    draw = float(rng.random())
    if draw < _BLANK_SHARE:
        return {"structures": structure["structures"]}
    if draw < _BLANK_SHARE + _PATCHY_SHARE:
        missing = rng.choice(list(structure), size=2, replace=False).tolist()
        return {name: value for name, value in structure.items() if name not in missing}
    return structure
