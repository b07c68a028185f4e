"""What stands beside the road, put on it: fill sites, stations and the parcels' access points."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from haulshed.roads.driveways import DRIVEWAY_REACH_FT, find_driveways
from haulshed.roads.network import Network
from haulshed.roads.points import SAME_M, Points, nearest_segment, place
from haulshed.scenario import Operation
from haulshed.tables.parcels import Parcels
from haulshed.units import M_PER_FT

__all__ = ["PARCEL_TOUCH_FT", "Access", "Points", "access_points", "snap"]

#: A parcel touches a way whose line is this near [ft]. Parcels end at the right-of-way, not at the
#: line in the road's middle: half of four rods (66 ft, common practice for section-line roads in
#: the United States) is 33 ft; the rest is 5 m for the error of both maps. Assumption of this
#: project.
PARCEL_TOUCH_FT = 50.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Access:
    """Where the lay to each parcel starts and ends; in step with the parcels."""

    points: Points  #: access points; `off_road_m` is the straight distance to the structure
    structures: NDArray[np.object_]  #: structure point, or a point within the parcel
    driveway_ft: NDArray[np.float64]  #: lay along the mapped driveway; NaN where there is none


def snap(
    points: gpd.GeoSeries,
    network: Network,
    *,
    eligible: NDArray[np.bool_] | None = None,
    limit_ft: float,
) -> Points:
    """
    Return `points` on the nearest `eligible` segments, or on none where it is beyond `limit_ft`.

    Eligible is what a tanker may drive, unless said otherwise. Of segments equally near it is the
    one with the lowest id, so neither the order of the points nor rounding decides.
    """
    eligible = network.drivable if eligible is None else eligible
    seeds = np.asarray(points, dtype=object)
    segment, off_road_m = nearest_segment(network, seeds, eligible)
    segment = np.where(off_road_m <= limit_ft * M_PER_FT, segment, -1)
    share, xy = place(network, segment, seeds)
    return Points(segment=segment, share=share, off_road_m=off_road_m, xy=xy)


def access_points(parcels: Parcels, network: Network, operation: Operation) -> Access:
    """
    Return the access point of each parcel, always on a public segment where a dump site may be.

    The first of these that the parcel has:

    1. the place nearest to its own access point; none if that is beyond ``parcel_snap_ft``;
    2. where its mapped driveway meets the road (:func:`~haulshed.roads.driveways.find_driveways`),
       however long the driveway is;
    3. the place nearest to the structure on a way that touches the parcel;
    4. the place nearest to the structure on any way, if that way is within ``parcel_snap_ft`` of
       the parcel.

    A driveway goes with an own access point only where the two are within
    :data:`~haulshed.roads.driveways.DRIVEWAY_REACH_FT` of each other. A structure that is not given
    is a point within the parcel's polygon.
    """
    shapes = np.asarray(parcels.geometry, dtype=object)
    known = np.asarray(parcels["structure"], dtype=object)
    structures = np.where(shapely.is_missing(known), shapely.point_on_surface(shapes), known)
    limit_m = operation.parcel_snap_ft * M_PER_FT
    segment, road_m = _beside(network, shapes, structures, limit_m)
    drive = find_driveways(network, structures, road_m)
    driven = drive.road_segment >= 0
    segment = np.where(driven, drive.road_segment, segment)
    own = np.asarray(parcels["access"], dtype=object)
    given = ~shapely.is_missing(own)
    own_segment, _ = nearest_segment(network, own, network.may_stop, within_m=limit_m)
    segment = np.where(given, own_segment, segment)
    seeds = np.where(given, own, np.where(driven, drive.meets, structures))
    share, xy = place(network, segment, seeds)
    places = shapely.points(xy)
    reach_m = DRIVEWAY_REACH_FT * M_PER_FT
    with_drive = driven & (~given | (shapely.distance(places, drive.meets) <= reach_m))
    off_road_m = shapely.distance(structures, places)
    return Access(
        points=Points(
            segment=segment,
            share=share,
            off_road_m=np.where(segment >= 0, off_road_m, road_m),
            xy=xy,
        ),
        structures=structures,
        driveway_ft=np.where(with_drive, drive.length_ft, np.nan),
    )


def _beside(
    network: Network,
    shapes: NDArray[np.object_],
    structures: NDArray[np.object_],
    limit_m: float,
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return the way beside each parcel, and how far the structure is from the nearest one [m]."""
    nearest, road_m = nearest_segment(network, structures, network.may_stop)
    found = np.flatnonzero(nearest >= 0)
    parcel_m = np.full(len(shapes), np.inf)
    parcel_m[found] = shapely.distance(shapes[found], network.lines[nearest[found]])
    touching = _touching(network, shapes, structures)
    beside = np.where(parcel_m <= limit_m, nearest, -1)
    return np.where(touching >= 0, touching, beside), road_m


def _touching(
    network: Network, shapes: NDArray[np.object_], structures: NDArray[np.object_]
) -> NDArray[np.int64]:
    """Return, of the ways that touch each parcel, the one nearest to its structure; -1 for none."""
    candidates = np.flatnonzero(network.may_stop)
    tree = shapely.STRtree(network.lines[candidates])
    row, at = tree.query(shapes, predicate="dwithin", distance=PARCEL_TOUCH_FT * M_PER_FT)
    segment = candidates[at]
    distance_m = shapely.distance(structures[row], network.lines[segment])
    least_m = np.full(len(shapes), np.inf)
    np.minimum.at(least_m, row, distance_m)
    near = distance_m <= least_m[row] + SAME_M
    lowest = np.full(len(shapes), len(network.lines))
    np.minimum.at(lowest, row[near], segment[near])
    return np.where(lowest == len(network.lines), -1, lowest)
