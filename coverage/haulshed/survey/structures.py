"""Parcels of a district whose parcel table nobody has: a building, or an address without one."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import nan

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from haulshed.survey.outline import Outline, inside
from haulshed.survey.place import Place, is_address, is_building
from haulshed.survey.roadside import WGS84, in_metres
from haulshed.tables.segments import Segments
from haulshed.units import M_PER_FT

#: Values of `building` that are no property of their own.
OUTBUILDINGS = frozenset(
    ("carport", "garage", "garages", "greenhouse", "roof", "ruins", "shed", "toilets")
)
#: A footprint under this is none either [ft²]: a structure counts as an exposure from 100 ft² on
#: (NFPA 1142 review slides).
LEAST_FT2 = 100.0
#: An address this near to a building is that building's [ft]. Assumption of this project.
ADDRESS_FT = 100.0

_STORIES_MAX, _HEIGHT_FT_MAX = 60.0, 600.0
_METRES = re.compile(r"(\d{1,4}(?:\.\d+)?)\s*(m|ft|')?", re.ASCII)
_FT2_PER_M2 = 1 / M_PER_FT**2

Tags = Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Structures:
    """The parcels found, and how many places were none."""

    parcels: gpd.GeoDataFrame  #: columns of parcels, and `address`; geometry [degrees]
    buildings: int  #: parcels that are buildings
    addresses: int  #: parcels that are addresses without a building
    outbuildings: int  #: left out: garages, sheds, footprints under 100 ft²
    outside: int  #: left out: beyond the outline


def find_structures(places: Sequence[Place], outline: Outline, segments: Segments) -> Structures:
    """
    Return a parcel a building, and one an address that stands more than 100 ft from any building.

    Floor area is the footprint on the ground; storeys and height stand where they are mapped.
    """
    shaped = [one for one in places if one.shape is not None]
    built = _within([one for one in shaped if is_building(one.tags)], outline)
    footprints = in_metres(_shapes(built), segments)
    area_ft2 = shapely.area(footprints) * _FT2_PER_M2
    main = np.array([_is_main(p, a) for p, a in zip(built, area_ft2, strict=True)], dtype=bool)
    addressed = [one for one in shaped if is_address(one.tags) and not is_building(one.tags)]
    lone = _apart(_once(_within(addressed, outline)), footprints, segments)
    buildings = [one for one, kept in zip(built, main, strict=True) if kept]
    both = [*buildings, *lone]
    area = np.concatenate((area_ft2[main], np.zeros(len(lone))))
    wanted = sum(is_building(one.tags) for one in shaped)
    return Structures(
        parcels=_table(both, np.where(area > 0, area, nan)),
        buildings=len(buildings),
        addresses=len(lone),
        outbuildings=len(built) - len(buildings),
        outside=wanted - len(built),
    )


def height_ft(tags: Tags) -> float:
    """
    Return the mean height of a structure, half of a mapped roof's rise off; NaN where unmapped.

    `height` is to the ridge and in metres where it has no unit.

    Examples
    --------
    >>> round(height_ft({"height": "9", "roof:height": "3"}), 1), height_ft({"height": "30 ft"})
    (24.6, 30.0)
    """
    ridge, roof = _feet(tags.get("height", "")), _feet(tags.get("roof:height", ""))
    mean = ridge - (roof / 2 if roof < ridge else 0.0)
    return mean if 0 < mean <= _HEIGHT_FT_MAX else nan


def stories(tags: Tags) -> float:
    """
    Return the storeys above ground that are mapped; NaN where none are.

    Examples
    --------
    >>> stories({"building:levels": "2"}), stories({"building:levels": "ground"})
    (2.0, nan)
    """
    match = _METRES.fullmatch(tags.get("building:levels", "").strip())
    count = float(match[1]) if match and not match[2] else nan
    return count if 0 < count <= _STORIES_MAX else nan


def address(tags: Tags) -> str:
    """Return the address as people write it: number and street, or the place without streets."""
    street = tags.get("addr:street") or tags.get("addr:place", "")
    return " ".join(part for part in (tags.get("addr:housenumber", ""), street) if part)


def _feet(text: str) -> float:
    match = _METRES.fullmatch(text.strip())
    if not match:
        return nan
    return float(match[1]) * (1 if match[2] in {"ft", "'"} else 1 / M_PER_FT)


def _is_main(place: Place, area_ft2: float) -> bool:
    """Return whether a building is a property; one mapped as a point has no area to judge."""
    big = area_ft2 >= LEAST_FT2 or area_ft2 == 0
    return big and place.tags["building"] not in OUTBUILDINGS


def _shapes(places: Sequence[Place]) -> list[shapely.Geometry]:
    return [one.shape for one in places if one.shape is not None]


def _within(places: Sequence[Place], outline: Outline) -> list[Place]:
    there = inside(np.array(_shapes(places), dtype=object), outline)
    return [one for one, kept in zip(places, there, strict=True) if kept]


def _once(places: Sequence[Place]) -> list[Place]:
    """Return the first place of each address; shops in one house share it."""
    first: dict[tuple[str, ...], Place] = {}
    keys = ("addr:housenumber", "addr:street", "addr:place", "addr:city", "addr:postcode")
    for one in places:
        first.setdefault(tuple(one.tags.get(key, "") for key in keys), one)
    return list(first.values())


def _apart(
    places: Sequence[Place], footprints: NDArray[np.object_], segments: Segments
) -> list[Place]:
    """Return the places that are near no building."""
    if not len(footprints) or not places:
        return list(places)
    tree = shapely.STRtree(footprints)
    near, _ = tree.query(
        in_metres(_shapes(places), segments), predicate="dwithin", distance=ADDRESS_FT * M_PER_FT
    )
    taken = set(near.tolist())
    return [one for at, one in enumerate(places) if at not in taken]


def _table(places: Sequence[Place], area_ft2: NDArray[np.float64]) -> gpd.GeoDataFrame:
    table = pd.DataFrame(
        {
            "parcel_id": [one.osm_id for one in places],
            "address": [address(one.tags) for one in places],
            "floor_area_ft2": np.round(area_ft2, 1),
            "stories": [stories(one.tags) for one in places],
            "height_ft": [round(height_ft(one.tags), 1) for one in places],
        }
    )
    return gpd.GeoDataFrame(table, geometry=_shapes(places), crs=WGS84)
