"""Ground levels from grids of elevation: plain arrays, no files."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from pyproj import CRS, Transformer

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """
    Levels at the centres of a grid's cells.

    Attributes
    ----------
    level_ft
        Ground level [ft], shape (rows, columns), at least one of each; NaN: void.
    crs
        Coordinate system of x and y.
    to_xy
        a, b, c, d, e, f of x = a·column + b·row + c and y = d·column + e·row + f, where whole
        numbers of columns and rows are the corners of cells.
    """

    level_ft: NDArray[np.float32]
    crs: CRS
    to_xy: tuple[float, float, float, float, float, float]

    def at(self, x: Floats, y: Floats) -> Floats:
        """
        Return the level at places in the grid's own coordinates [ft]; NaN: not known.

        Bilinear between the centres of the four cells around, level in the outer half of the cells
        at the rim. Not known outside, and where one of the four that counts is void.

        Examples
        --------
        A cell of 0 ft, one of 10 ft east of it, 1 wide each, centres at x = 0.5 and 1.5:

        >>> grid = Grid(
        ...     level_ft=np.array([[0.0, 10.0]], dtype=np.float32),
        ...     crs=CRS.from_epsg(32615),
        ...     to_xy=(1.0, 0.0, 0.0, 0.0, -1.0, 1.0),
        ... )
        >>> grid.at(np.array([0.2, 0.5, 1.25, 2.5]), np.full(4, 0.5)).tolist()
        [0.0, 0.0, 7.5, nan]
        """
        a, b, c, d, e, f = self.to_xy
        east, north, size = x - c, y - f, a * e - b * d
        with np.errstate(invalid="ignore"):  # a place that is nowhere is infinite
            column = (e * east - b * north) / size - 0.5
            row = (a * north - d * east) / size - 0.5
        rows, columns = self.level_ft.shape
        inside = (np.abs(column - (columns - 1) / 2) <= columns / 2) & (
            np.abs(row - (rows - 1) / 2) <= rows / 2
        )
        left, right_share = _between(np.where(inside, column, 0.0), columns)
        top, low_share = _between(np.where(inside, row, 0.0), rows)
        level = np.zeros(len(x))
        for right in (0, 1):
            for low in (0, 1):
                share = (right_share if right else 1 - right_share) * (
                    low_share if low else 1 - low_share
                )
                cell = self.level_ft[
                    np.minimum(top + low, rows - 1), np.minimum(left + right, columns - 1)
                ]
                level += np.where(share > 0, share * cell, 0.0)
        return np.where(inside, level, np.nan)


def _between(place: Floats, count: int) -> tuple[NDArray[np.int64], Floats]:
    """Return the cell before each place, and how far on towards the next one the place lies."""
    held = np.clip(place, 0.0, count - 1.0)
    before = np.floor(held).astype(np.int64)
    return before, held - before


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Terrain:
    """The ground of a district, by grids of which the first that knows a place counts."""

    grids: tuple[Grid, ...]
    crs: CRS  #: the district's, in which places are asked for

    def levels_ft(self, start_xy: Floats, end_xy: Floats) -> tuple[Floats, Floats]:
        """
        Return the ground levels at both ends of some lines [ft], shape (n,) each; NaN: not known.

        They are those of the first grid that knows both ends, since two grids may not measure from
        the same zero; where none knows both, each end is that of the first grid that knows it.

        Parameters
        ----------
        start_xy, end_xy
            Places in the district's coordinates [m], shape (n, 2).
        """
        start_ft, end_ft = np.full((2, len(start_xy)), np.nan)
        both = np.zeros(len(start_xy), dtype=bool)
        for grid in self.grids:
            turn = Transformer.from_crs(self.crs, grid.crs, always_xy=True).transform
            start, end = (grid.at(*turn(*ends.T)) for ends in (start_xy, end_xy))
            known = ~(np.isnan(start) | np.isnan(end))
            start_ft = np.where(~both & (known | np.isnan(start_ft)), start, start_ft)
            end_ft = np.where(~both & (known | np.isnan(end_ft)), end, end_ft)
            both |= known
        return start_ft, end_ft
