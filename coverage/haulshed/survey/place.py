"""One thing on the map, and which of our tables it has to do with."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

import shapely

#: Keys of which a place must have one to be kept by the reader; as the OpenStreetMap wiki has them.
PLACE_KEYS = (
    *("addr:housenumber", "amenity", "boundary", "building", "emergency", "landuse", "natural"),
)

#: Values of `emergency` that are water to fill from.
WATER_POINTS = ("fire_hydrant", "suction_point", "water_tank", "fire_water_pond")


Box: TypeAlias = tuple[float, float, float, float]
"""West, south, east, north [degrees]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Place:
    """A node, way or relation with its tags."""

    osm_id: str  #: n, w or r, then the number
    tags: Mapping[str, str]
    shape: shapely.Geometry | None  #: point or area [degrees]; None: broken, or cut off by the file


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MapExtract:
    """What a map file holds beside its roads."""

    places: tuple[Place, ...]
    box: Box | None  #: what it was cut to; None: it does not say


def plain(text: str) -> str:
    r"""
    Return a mapper's text on one line, without what does not print.

    Examples
    --------
    >>> plain("Mill\nRoad\x1b ")
    'Mill Road'
    """
    return " ".join("".join(char if char.isprintable() else " " for char in text).split())


def is_building(tags: Mapping[str, str]) -> bool:
    """Return whether a place is a building; an entrance to one is not."""
    return tags.get("building", "no") not in {"no", "entrance"}


def is_address(tags: Mapping[str, str]) -> bool:
    """Return whether a place has a house number."""
    return "addr:housenumber" in tags


def is_station(tags: Mapping[str, str]) -> bool:
    """Return whether a place is a fire station."""
    return tags.get("amenity") == "fire_station"


def is_water_point(tags: Mapping[str, str]) -> bool:
    """Return whether a place is water kept for the fire service."""
    return tags.get("emergency") in WATER_POINTS


def is_water(tags: Mapping[str, str]) -> bool:
    """Return whether a place is a lake, pond or river by its area."""
    return tags.get("natural") == "water" or tags.get("landuse") == "reservoir"


def is_admin_area(tags: Mapping[str, str]) -> bool:
    """Return whether a place is the area of an administration."""
    return tags.get("boundary") == "administrative"
