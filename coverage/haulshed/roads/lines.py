"""Lines as flat arrays, for compiled work; distances and places along them as GEOS has them."""

from typing import NamedTuple

import numpy as np
import shapely
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
At = tuple[float, float]

#: Distances closer than this are equal, and an end of a line closer than this is the end itself
#: [m]. A micrometre: far below any survey, far above the rounding of coordinates in metres.
SAME_M = 1e-6


class Lines(NamedTuple):
    """The positions of all lines, one line after the other; a piece lies between each two."""

    xy: Floats  #: [m], shape (n, 2)
    along_m: Floats  #: from the start of its line to each position
    starts: Ints  #: first position of each line, and behind the last

    @property
    def length_m(self) -> Floats:
        """Length of each line [m]."""
        return self.along_m[self.starts[1:] - 1]


def lines_of(lines: NDArray[np.object_]) -> Lines:
    """Return shapely's lines as arrays."""
    xy, owner = shapely.get_coordinates(lines, return_index=True)
    starts = np.searchsorted(owner, np.arange(len(lines) + 1))
    return Lines(xy, _along(xy, starts), starts)


@njit(cache=True)
def _along(xy: Floats, starts: Ints) -> Floats:
    """Add up the pieces of each line."""
    along_m = np.zeros(len(xy))
    for line in range(len(starts) - 1):
        for at in range(starts[line] + 1, starts[line + 1]):
            wide, high = xy[at, 0] - xy[at - 1, 0], xy[at, 1] - xy[at - 1, 1]
            along_m[at] = along_m[at - 1] + np.sqrt(wide * wide + high * high)
    return along_m


@njit(cache=True)
def run_distance(xy: Floats, run: tuple[int, int], at: At, reach_m: float) -> tuple[float, int]:
    """
    Return the distance of a point to the positions of a `run`, its last one included, joined [m].

    And the first of the pieces that are as near, by its first position. Infinite where the point
    is farther than `reach_m`.
    """
    least_m, nearest = np.inf, run[0]
    for piece in range(run[0], run[1]):
        wide, high = xy[piece + 1, 0] - xy[piece, 0], xy[piece + 1, 1] - xy[piece, 1]
        east, north = at[0] - xy[piece, 0], at[1] - xy[piece, 1]
        squared, across = wide * wide + high * high, high * east - wide * north
        # No root and no quotient for most: the line through the piece is too far off already.
        if across * across > (min(reach_m, least_m) + SAME_M) ** 2 * squared:
            continue
        share = (east * wide + north * high) / squared if squared > 0 else 0.0
        if share <= 0.0:
            found_m = np.sqrt(east * east + north * north)
        elif share >= 1.0:
            found_m = np.sqrt((at[0] - xy[piece + 1, 0]) ** 2 + (at[1] - xy[piece + 1, 1]) ** 2)
        else:
            found_m = abs(across / squared) * np.sqrt(squared)
        if found_m < least_m:
            least_m, nearest = found_m, piece
    return least_m, nearest


@njit(cache=True)
def distances(lines: Lines, line: Ints, points: Floats) -> Floats:
    """Return the distance of each point to its line [m]."""
    distance_m = np.empty(len(line))
    for row in range(len(line)):
        run = lines.starts[line[row]], lines.starts[line[row] + 1] - 1
        distance_m[row], _ = run_distance(lines.xy, run, (points[row, 0], points[row, 1]), np.inf)
    return distance_m


@njit(cache=True)
def nearest_places(lines: Lines, line: Ints, points: Floats) -> tuple[Floats, Floats]:
    """
    Return the place on its line that is nearest to each point: how far along [m], and its xy [m].

    Where a line passes one spot twice the first pass counts. NaN where `line` is -1.
    """
    along_m, xy = np.full(len(line), np.nan), np.full((len(line), 2), np.nan)
    for row in range(len(line)):
        if line[row] < 0:
            continue
        first, last = lines.starts[line[row]], lines.starts[line[row] + 1] - 1
        at = points[row, 0], points[row, 1]
        _, piece = run_distance(lines.xy, (first, last), at, np.inf)
        along_m[row] = _onto_piece(lines, piece, at)
        if along_m[row] < SAME_M:
            along_m[row] = 0.0
        if lines.along_m[last] - along_m[row] < SAME_M:
            along_m[row] = lines.along_m[last]
        xy[row, 0], xy[row, 1] = _place(lines, (first, last), along_m[row])
    return along_m, xy


@njit(cache=True)
def _onto_piece(lines: Lines, piece: int, at: At) -> float:
    """Return how far along its line the place on a piece is that is nearest to a point [m]."""
    start, end = lines.xy[piece], lines.xy[piece + 1]
    wide, high = end[0] - start[0], end[1] - start[1]
    squared = wide * wide + high * high
    share = ((at[0] - start[0]) * wide + (at[1] - start[1]) * high) / squared if squared else 0.0
    return float(lines.along_m[piece] + min(max(share, 0.0), 1.0) * np.sqrt(squared))


@njit(cache=True)
def _place(lines: Lines, run: tuple[int, int], along_m: float) -> At:
    """Return the place that far along a line [m]."""
    first, last = run
    piece = first
    while piece < last and lines.along_m[piece + 1] <= along_m:
        piece += 1
    x, y = lines.xy[piece]
    if piece == last:
        return x, y
    wide, high = lines.xy[piece + 1, 0] - x, lines.xy[piece + 1, 1] - y
    share = (along_m - lines.along_m[piece]) / np.sqrt(wide * wide + high * high)
    return x + share * wide, y + share * high
