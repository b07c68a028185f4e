"""How much each supply line rises, and what that rests on."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from haulshed.case import Inputs
from haulshed.roads.snap import Access
from haulshed.tables.answers import RiseSource

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rises:
    """
    The rise of some lines, each from `start_xy` to `end_xy`; n of them.

    Attributes
    ----------
    rise_ft
        Ground at the end less ground at the start; the scenario's where either is not known.
    rise_source
        A :class:`~haulshed.tables.answers.RiseSource` each.
    start_ft, end_ft
        Ground levels; NaN: not known.
    end_xy
        Where the lines end, shape (n, 2) [m].
    """

    rise_ft: Floats
    rise_source: NDArray[np.str_]
    start_ft: Floats
    end_ft: Floats
    end_xy: Floats

    def take(self, rows: NDArray[np.int64]) -> "Rises":
        """Return some of the lines."""
        return Rises(
            rise_ft=self.rise_ft[rows],
            rise_source=self.rise_source[rows],
            start_ft=self.start_ft[rows],
            end_ft=self.end_ft[rows],
            end_xy=self.end_xy[rows],
        )


def rises_between(inputs: Inputs, start_xy: Floats, end_xy: Floats) -> Rises:
    """Return the rise between places in the district's coordinates [m], shape (n, 2) each."""
    start_ft, end_ft = np.full((2, len(start_xy)), np.nan)
    if inputs.terrain is not None:
        start_ft, end_ft = inputs.terrain.levels_ft(start_xy, end_xy)
    rise_ft = end_ft - start_ft
    known = ~np.isnan(rise_ft)
    return Rises(
        rise_ft=np.where(known, rise_ft, inputs.scenario.supply_line.rise_ft),
        rise_source=np.where(known, RiseSource.DEM, RiseSource.SCENARIO),
        start_ft=start_ft,
        end_ft=end_ft,
        end_xy=end_xy,
    )


def parcel_rises(inputs: Inputs, access: Access) -> Rises:
    """Return the rise from each parcel's access point to its structure."""
    return rises_between(inputs, access.points.xy, shapely.get_coordinates(access.structures))
