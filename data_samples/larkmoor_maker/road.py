"""One road of the map, before it is cut into OSM ways at its crossings."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import shapely
from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

#: Half of the strip that belongs to the road [m], by class; parcels start beyond it.
HALF_STRIP_M = {"primary": 15.0, "secondary": 12.5, "service": 3.0, "track": 3.0}
HALF_STRIP_OTHER_M = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Road:
    """A line with its OSM tags."""

    line: LineString
    tags: Mapping[str, str]
    spans: bool = False  #: may cross the river, by a bridge

    @property
    def half_strip_m(self) -> float:
        """Half of the strip that belongs to the road."""
        return HALF_STRIP_M.get(self.tags["highway"], HALF_STRIP_OTHER_M)

    @property
    def public(self) -> bool:
        """Whether parcels may front on it and tankers drive on it."""
        return self.tags["highway"] not in {"service", "track"}

    def strip(self) -> BaseGeometry:
        """Return the strip of land that belongs to the road."""
        return self.line.buffer(self.half_strip_m)

    def without(self, area: BaseGeometry) -> list["Road"]:
        """Return the pieces of the road outside an area, shorter scraps left out."""
        rest = self.line.difference(area)
        parts = rest.geoms if isinstance(rest, MultiLineString) else [rest]
        return [replace(self, line=part) for part in parts if part.length > area_scrap(self)]


def area_scrap(road: Road) -> float:
    """Return the length below which a piece of a cut road is not worth keeping [m]."""
    return min(150.0, road.line.length / 3)


def strips(roads: Iterable[Road]) -> BaseGeometry:
    """Return the land of all roads that parcels keep off."""
    return shapely.union_all([road.strip() for road in roads if road.public])
