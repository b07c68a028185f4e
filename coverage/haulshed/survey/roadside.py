"""Which road is nearest to a place, and from where on the place."""

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS

from haulshed.tables.segments import Segments
from haulshed.units import M_PER_FT

WGS84 = "EPSG:4326"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Roadside:
    """The nearest road of each of N places."""

    segment: NDArray[np.int64]  #: row of the segment, shape (N,)
    road_ft: NDArray[np.float64]  #: from the place's edge [ft], shape (N,)
    place: NDArray[
        np.object_
    ]  #: the point of the place that is nearest to the road [m], shape (N,)


def roadside(shapes: NDArray[np.object_], segments: Segments) -> Roadside:
    """
    Return the road nearest to each shape [m] of those that tankers use and may stop on.

    Of roads equally near it is the one with the lowest id.
    """
    roads = np.flatnonzero(segments["public"] & segments["may_stop"])
    if not len(roads) or not len(shapes):
        nothing = np.full(len(shapes), np.inf)
        return Roadside(segment=np.full(len(shapes), -1), road_ft=nothing, place=shapes)
    lines = segments.geometry.to_numpy()[roads]
    row, near = shapely.STRtree(lines).query_nearest(shapes)
    lowest = np.full(len(shapes), len(lines))
    np.minimum.at(lowest, row, near)
    between = shapely.shortest_line(shapes, lines[lowest])
    return Roadside(
        segment=roads[lowest],
        road_ft=shapely.length(between) / M_PER_FT,
        place=shapely.get_point(between, 0),
    )


def in_metres(shapes: Sequence[shapely.Geometry], segments: Segments) -> NDArray[np.object_]:
    """Return shapes [degrees] in the roads' coordinates [m]."""
    there = gpd.GeoSeries(list(shapes), crs=WGS84).to_crs(CRS(segments.crs))
    return np.asarray(there.to_numpy(), dtype=object)


def in_degrees(points: NDArray[np.object_], segments: Segments) -> NDArray[np.float64]:
    """Return points [m] as longitude and latitude [degrees], shape (N, 2)."""
    there = gpd.GeoSeries(list(points), crs=segments.crs).to_crs(WGS84)
    return shapely.get_coordinates(there.to_numpy())
