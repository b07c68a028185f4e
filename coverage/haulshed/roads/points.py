"""Points on the road: a segment and the share along it, never the nearest junction."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from haulshed.roads.network import Network

#: Distances closer than this are equal, and an end of a segment closer than this is the junction
#: [m]. A micrometre: far below any survey, far above the rounding of coordinates in metres.
SAME_M = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Points:
    """Places on segments; arrays in step with what was put on the road."""

    segment: NDArray[np.int64]  #: segment_id; -1 where no road is near enough
    share: NDArray[np.float64]  #: share of the segment from its from_node, 0 to 1; NaN where none
    off_road_m: NDArray[np.float64]
    """Straight distance to the road, kept where the road is too far; infinite if there is none."""
    xy: NDArray[np.float64]  #: the place on the road [m], shape (n, 2); NaN where none

    @property
    def on_road(self) -> NDArray[np.bool_]:
        """Which of them are on a road."""
        return self.segment >= 0

    def take(self, rows: NDArray[np.int64] | slice) -> "Points":
        """Return some of the points."""
        return Points(
            segment=self.segment[rows],
            share=self.share[rows],
            off_road_m=self.off_road_m[rows],
            xy=self.xy[rows],
        )


def place(
    network: Network, segment: NDArray[np.int64], seeds: NDArray[np.object_]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """
    Return share and xy [m] of the place on each `segment` that is nearest to its seed point.

    NaN where `segment` is -1. Where a line passes one spot twice the first pass counts.
    """
    share = np.full(len(segment), np.nan)
    xy = np.full((len(segment), 2), np.nan)
    row = np.flatnonzero(segment >= 0)
    lines = network.lines[segment[row]]
    length_m = shapely.length(lines)
    along_m = shapely.line_locate_point(lines, seeds[row])
    along_m = np.where(along_m < SAME_M, 0.0, along_m)
    along_m = np.where(length_m - along_m < SAME_M, length_m, along_m)
    share[row] = np.divide(along_m, length_m, out=np.zeros_like(length_m), where=length_m > 0)
    xy[row] = shapely.get_coordinates(shapely.line_interpolate_point(lines, along_m))
    return share, xy


def nearest_segment(
    network: Network,
    points: NDArray[np.object_],
    eligible: NDArray[np.bool_],
    *,
    within_m: float = np.inf,
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """
    Return for each point the nearest eligible segment and the distance to it [m].

    -1 and infinite where none is within `within_m`. Of segments equally near, to a micrometre, it
    is the one with the lowest id.
    """
    candidates = np.flatnonzero(eligible)
    tree = shapely.STRtree(network.lines[candidates])
    nearest_m = np.full(len(points), np.inf)
    (row, _), distance_m = tree.query_nearest(points, all_matches=False, return_distance=True)
    nearest_m[row] = distance_m
    nearest_m[nearest_m > within_m] = np.inf
    near = np.flatnonzero(np.isfinite(nearest_m))
    pairs = tree.query(points[near], predicate="dwithin", distance=nearest_m[near] + SAME_M)
    segment = np.full(len(points), len(eligible))
    np.minimum.at(segment, near[pairs[0]], candidates[pairs[1]])
    segment[segment == len(eligible)] = -1
    return segment, nearest_m
