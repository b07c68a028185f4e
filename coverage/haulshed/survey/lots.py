"""Parcels of a district whose parcel table nobody has: a building, or an address without one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from haulshed.survey.outline import Outline, inside
from haulshed.survey.place import Place, is_address, is_building
from haulshed.survey.roadside import WGS84, in_metres
from haulshed.tables.buildings import LEAST_FT2
from haulshed.tables.segments import Segments
from haulshed.units import M_PER_FT

#: Values of `building` that are no property of their own.
OUTBUILDINGS = frozenset(
    ("carport", "garage", "garages", "greenhouse", "roof", "ruins", "shed", "toilets")
)
#: An address this near to a building is that building's [ft]. Assumption of this project.
ADDRESS_FT = 100.0

_FT2_PER_M2 = 1 / M_PER_FT**2

Tags = Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lots:
    """The parcels found, and how many places were none."""

    parcels: gpd.GeoDataFrame  #: columns of parcels, and `address`; geometry [degrees]
    buildings: int  #: parcels that are buildings
    addresses: int  #: parcels that are addresses without a building
    outbuildings: int  #: left out: garages, sheds, footprints under 100 ft²
    outside: int  #: left out: beyond the outline


def find_lots(places: Sequence[Place], outline: Outline, segments: Segments) -> Lots:
    """
    Return a parcel a building, and one an address that stands more than 100 ft from any building.

    What is known of a building (floor area, height) is read of its footprint in the map itself.
    """
    shaped = [one for one in places if one.shape is not None]
    built = _within([one for one in shaped if is_building(one.tags)], outline)
    footprints = in_metres(_shapes(built), segments)
    area_ft2 = shapely.area(footprints) * _FT2_PER_M2
    main = np.array([_is_main(p, a) for p, a in zip(built, area_ft2, strict=True)], dtype=bool)
    addressed = [one for one in shaped if is_address(one.tags) and not is_building(one.tags)]
    lone = _apart(_once(_within(addressed, outline)), footprints, segments)
    buildings = [one for one, kept in zip(built, main, strict=True) if kept]
    wanted = sum(is_building(one.tags) for one in shaped)
    return Lots(
        parcels=_table([*buildings, *lone]),
        buildings=len(buildings),
        addresses=len(lone),
        outbuildings=len(built) - len(buildings),
        outside=wanted - len(built),
    )


def address(tags: Tags) -> str:
    """Return the address as people write it: number and street, or the place without streets."""
    street = tags.get("addr:street") or tags.get("addr:place", "")
    return " ".join(part for part in (tags.get("addr:housenumber", ""), street) if part)


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


def _table(places: Sequence[Place]) -> gpd.GeoDataFrame:
    table = pd.DataFrame(
        {
            "parcel_id": [one.osm_id for one in places],
            "address": [address(one.tags) for one in places],
        }
    )
    return gpd.GeoDataFrame(table, geometry=_shapes(places), crs=WGS84)
