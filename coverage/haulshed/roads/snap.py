"""What stands beside the road, put on it: fill sites, stations and the parcels' access points."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from haulshed.roads.driveways import DRIVEWAY_REACH_FT, find_driveways
from haulshed.roads.line_tree import Tree, build_tree, near, nearest
from haulshed.roads.lines import SAME_M, distances
from haulshed.roads.network import Network
from haulshed.roads.points import Points, nearest_segment, place, positions
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
    seeds = positions(np.asarray(points, dtype=object))
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
    stands = positions(structures)
    limit_m = operation.parcel_snap_ft * M_PER_FT
    segment, road_m = _beside(network, shapes, stands, limit_m)
    drive = find_driveways(network, stands, road_m)
    driven = drive.road_segment >= 0
    segment = np.where(driven, drive.road_segment, segment)
    own = positions(np.asarray(parcels["access"], dtype=object))
    given = np.isfinite(own[:, 0])
    own_segment, _ = nearest_segment(network, own, network.may_stop, within_m=limit_m)
    segment = np.where(given, own_segment, segment)
    seeds = np.where(given[:, None], own, np.where(driven[:, None], drive.meets, stands))
    share, xy = place(network, segment, seeds)
    reach_m = DRIVEWAY_REACH_FT * M_PER_FT
    with_drive = driven & (~given | (_apart(xy, drive.meets) <= reach_m))
    return Access(
        points=Points(
            segment=segment,
            share=share,
            off_road_m=np.where(segment >= 0, _apart(stands, xy), road_m),
            xy=xy,
        ),
        structures=structures,
        driveway_ft=np.where(with_drive, drive.length_ft, np.nan),
    )


def _apart(one: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the distances between places [m]; NaN where one is missing."""
    away = one - other
    return np.sqrt(away[:, 0] ** 2 + away[:, 1] ** 2)


def _beside(
    network: Network, shapes: NDArray[np.object_], stands: NDArray[np.float64], limit_m: float
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return the way beside each parcel, and how far the structure is from the nearest one [m]."""
    tree = build_tree(network.paths, network.may_stop)
    segment, road_m = nearest(tree, stands, within_m=np.inf)
    touching = _touching(network, tree, shapes, stands)
    apart = np.flatnonzero((touching < 0) & (segment >= 0))
    parcel_m = shapely.distance(shapes[apart], network.lines[segment[apart]])
    segment[apart[parcel_m > limit_m]] = -1
    return np.where(touching >= 0, touching, segment), road_m


def _touching(
    network: Network, tree: Tree, shapes: NDArray[np.object_], stands: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Return, of the ways that touch each parcel, the one nearest to its structure; -1 for none."""
    touch_m = PARCEL_TOUCH_FT * M_PER_FT
    row, segment = near(tree, shapely.bounds(shapes), within_m=touch_m)
    touch = shapely.dwithin(shapes[row], network.lines[segment], touch_m)
    row, segment = row[touch], segment[touch]
    distance_m = distances(network.paths, segment, stands[row])
    least_m = np.full(len(shapes), np.inf)
    np.minimum.at(least_m, row, distance_m)
    close = distance_m <= least_m[row] + SAME_M
    lowest = np.full(len(shapes), len(network.lines))
    np.minimum.at(lowest, row[close], segment[close])
    return np.where(lowest == len(network.lines), -1, lowest)
