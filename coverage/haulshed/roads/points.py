"""Points on the road: a segment and the share along it, never the nearest junction."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from haulshed.roads.line_tree import build_tree, nearest
from haulshed.roads.lines import nearest_places
from haulshed.roads.network import Network


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


def positions(points: NDArray[np.object_]) -> NDArray[np.float64]:
    """Return the xy [m] of shapely's points, shape (n, 2); NaN where there is none."""
    return np.stack((shapely.get_x(points), shapely.get_y(points)), axis=1)


def place(
    network: Network, segment: NDArray[np.int64], seeds: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """
    Return share and xy [m] of the place on each `segment` that is nearest to its seed's xy.

    NaN where `segment` is -1. Where a line passes one spot twice the first pass counts. An end
    within a micrometre is the junction.
    """
    along_m, xy = nearest_places(network.paths, segment, seeds)
    length_m = network.paths.length_m[segment]
    return np.divide(along_m, length_m, out=along_m, where=length_m > 0), xy


def nearest_segment(
    network: Network,
    points: NDArray[np.float64],
    eligible: NDArray[np.bool_],
    *,
    within_m: float = np.inf,
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """
    Return for the xy of each point the nearest eligible segment and the distance to it [m].

    -1 and infinite where none is within `within_m`. Of segments equally near, to a micrometre, it
    is the one with the lowest id.
    """
    return nearest(build_tree(network.paths, eligible), points, within_m=within_m)
