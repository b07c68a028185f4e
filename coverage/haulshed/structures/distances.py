"""How far the main building of each parcel stands from others."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from haulshed.structures.footprints import Footprints
from haulshed.units import M_PER_FT

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Distances:
    """From the outline of each parcel's main building [ft], shape (P,); NaN: none there."""

    exposure_ft: Floats  #: to the nearest other building of 100 ft² or more
    exposure_any_ft: Floats  #: to the nearest other building of any size
    spacing_ft: Floats  #: to the nearest other building that is a parcel's main one


def distances(main: Ints, footprints: Footprints) -> Distances:
    """
    Return the distances of each parcel's `main` building (its row; -1: none), shape (P,).

    They run from outline to outline, whoever owns the other building; between buildings that touch
    or overlap they are 0.
    """
    mains = np.unique(main[main >= 0])
    is_large, is_main = ~footprints.is_shed, np.zeros(len(footprints.shapes), dtype=bool)
    is_main[mains] = True
    of_any_m = np.full(len(mains), np.nan)
    nearest = np.full(len(mains), -1, dtype=np.int64)
    _look(footprints, mains, np.ones_like(is_main), of_any_m, nearest)
    # The nearest of all is most often the nearest of the larger ones too, and so on.
    of_large_m, nearest_large = of_any_m.copy(), nearest.copy()
    _look(footprints, mains, is_large, of_large_m, nearest_large)
    of_main_m, nearest_main = of_large_m.copy(), nearest_large.copy()
    _look(footprints, mains, is_main, of_main_m, nearest_main)

    def of_each_parcel(found_m: Floats) -> Floats:
        by_building = np.full(len(is_main) + 1, np.nan)  # the last one: no building
        by_building[mains] = found_m / M_PER_FT
        return by_building[main]

    return Distances(
        exposure_ft=of_each_parcel(of_large_m),
        exposure_any_ft=of_each_parcel(of_any_m),
        spacing_ft=of_each_parcel(of_main_m),
    )


def _look(
    footprints: Footprints, mains: Ints, wanted: Bools, nearest_m: Floats, nearest: Ints
) -> None:
    """Find the nearest other building that is `wanted` for each of `mains` that has not one yet."""
    again = np.flatnonzero((nearest < 0) | ~wanted[nearest])
    nearest_m[again], nearest[again] = np.nan, -1
    others = np.flatnonzero(wanted)
    # No two footprints are equal, so that leaving out equal ones leaves out the building itself.
    (row, at), found_m = shapely.STRtree(footprints.shapes[others]).query_nearest(
        footprints.shapes[mains[again]], exclusive=True, return_distance=True, all_matches=False
    )
    nearest_m[again[row]], nearest[again[row]] = found_m, others[at]
