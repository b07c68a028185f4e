"""
A tree of boxes over lines: which line is nearest to a point, and which come near a box.

Its leaves hold short runs of a line's pieces, in the order of a Z-shaped curve through the ground,
and every other box holds four. Boxes stand in the order in which a search comes by, each with the
place to go on from where it is too far off. Points are taken in the curve's order too, so that what
was found for one leaves little to search for the next.
"""

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from haulshed.cores import shared_out
from haulshed.roads.lines import SAME_M, At, Floats, Ints, Lines, run_distance

#: Boxes within a box.
BRANCHES = 4
#: Pieces of a line that share a leaf at most.
RUN = 4
#: Steps of the curve along each axis: as many as two of them fit into one number.
STEPS = 2**16
#: Parts of the curve that the cores share out among them.
PARTS = 16


class Tree(NamedTuple):
    """Some lines and the boxes that hold them, the outermost first; arrays are over boxes."""

    xy: Floats  #: positions of the lines [m]
    lines: int  #: how many there are, those not in the tree too
    boxes: Floats  #: west, south, east and north [m]
    past: Ints  #: the next box that is not within this one
    line: Ints  #: of a leaf its line; -1: not a leaf
    first: Ints  #: position that a leaf's run begins with
    last: Ints  #: position that it ends with


def build_tree(lines: Lines, chosen: NDArray[np.bool_]) -> Tree:
    """Return the tree of the `chosen` ones of `lines`; there may be none."""
    pieces = np.where(chosen, np.diff(lines.starts) - 1, 0)
    runs = -(-pieces // RUN)
    line = np.repeat(np.arange(len(runs)), runs)
    within = np.arange(len(line)) - np.repeat(np.cumsum(runs) - runs, runs)
    first = lines.starts[line] + RUN * within
    last = np.minimum(first + RUN, lines.starts[line + 1] - 1)
    order = curve_order((lines.xy[first] + lines.xy[last]) / 2)
    place, past = _places(_levels(len(line)))
    leaf = place[: len(line)]
    tree = Tree(
        xy=lines.xy,
        lines=len(runs),
        boxes=np.empty((len(place), 4)),
        past=past,
        line=np.full(len(place), -1),
        first=np.zeros(len(place), dtype=np.int64),
        last=np.zeros(len(place), dtype=np.int64),
    )
    tree.line[leaf], tree.first[leaf], tree.last[leaf] = line[order], first[order], last[order]
    _fit(tree)
    return tree


def curve_order(xy: Floats) -> NDArray[np.intp]:
    """Return places [m], shape (n, 2), in the order in which the curve comes by."""
    return np.argsort(_along_curve(xy))


@njit(cache=True)
def _along_curve(xy: Floats) -> NDArray[np.uint32]:
    """Return how far along the curve places are: the bits of both steps by turns."""
    extent = np.array([[np.inf, np.inf, -np.inf, -np.inf]])
    for row in range(len(xy)):
        if np.isfinite(xy[row, 0] + xy[row, 1]):
            _widen(extent, 0, xy, row)
    low, high = extent[0, :2], extent[0, 2:]
    step_m = max((high - low).max() / (STEPS - 1), SAME_M)
    along = np.zeros(len(xy), dtype=np.uint32)
    for row in range(len(xy)):
        if np.isfinite(xy[row, 0] + xy[row, 1]):
            for axis in range(2):
                along[row] |= _spread((xy[row, axis] - low[axis]) / step_m) << np.uint32(axis)
    return along


@njit(cache=True)
def _spread(step: float) -> np.uint32:
    """Return the bits of a step, each with a gap behind it."""
    bits = np.uint32(step)
    bits = (bits | bits << np.uint32(8)) & np.uint32(0x00FF00FF)
    bits = (bits | bits << np.uint32(4)) & np.uint32(0x0F0F0F0F)
    bits = (bits | bits << np.uint32(2)) & np.uint32(0x33333333)
    return (bits | bits << np.uint32(1)) & np.uint32(0x55555555)


def _levels(leaves: int) -> Ints:
    """Return the boxes up to each level, from the leaves to the one that holds all."""
    sizes = [leaves]
    while leaves > 1:
        leaves = -(-leaves // BRANCHES)
        sizes.append(leaves)
    return np.concatenate(([0], np.cumsum(sizes)))


@njit(cache=True)
def _places(levels: Ints) -> tuple[Ints, Ints]:
    """Return where each box stands, level by level, and by that place the next one past it."""
    size = np.ones(levels[-1], dtype=np.int64)
    place, past = np.zeros(levels[-1], dtype=np.int64), np.empty(levels[-1], dtype=np.int64)
    for level in range(1, len(levels) - 1):
        for box in range(levels[level] - levels[level - 1]):
            size[levels[level] + box // BRANCHES] += size[levels[level - 1] + box]
    for level in range(len(levels) - 2, -1, -1):
        for box in range(levels[level], levels[level + 1]):
            past[place[box]] = place[box] + size[box]
            if level:
                within = levels[level - 1] + BRANCHES * (box - levels[level])
                at = place[box] + 1
                for inner in range(within, min(within + BRANCHES, levels[level])):
                    place[inner] = at
                    at += size[inner]
    return place, past


@njit(cache=True)
def _fit(tree: Tree) -> None:
    """Fit each leaf's box to its run, each other box to those within it."""
    tree.boxes[:, :2], tree.boxes[:, 2:] = np.inf, -np.inf
    for box in range(len(tree.boxes) - 1, -1, -1):
        if tree.line[box] >= 0:
            for position in range(tree.first[box], tree.last[box] + 1):
                _widen(tree.boxes, box, tree.xy, position)
        else:
            inner = box + 1
            while inner < tree.past[box]:
                _widen(tree.boxes, box, tree.boxes[:, :2], inner)
                _widen(tree.boxes, box, tree.boxes[:, 2:], inner)
                inner = tree.past[inner]


@njit(cache=True)
def _widen(boxes: Floats, box: int, places: Floats, place: int) -> None:
    """Make a box hold a place."""
    for axis in range(2):
        boxes[box, axis] = min(boxes[box, axis], places[place, axis])
        boxes[box, 2 + axis] = max(boxes[box, 2 + axis], places[place, axis])


def nearest(tree: Tree, points: Floats, *, within_m: float) -> tuple[Ints, Floats]:
    """
    Return for each point the nearest line and its distance [m]; -1 and infinite beyond `within_m`.

    Of lines equally near, to a micrometre, it is the lowest. `points` have the shape (n, 2) [m],
    NaN where there is none.
    """
    found = np.full(len(points), -1), np.full(len(points), np.inf)
    if len(tree.boxes):
        parts = np.array_split(curve_order(points), PARTS)
        list(shared_out(lambda part: _nearest(tree, points, part, within_m, found), parts))
    return found


@njit(cache=True, nogil=True)
def _nearest(
    tree: Tree, points: Floats, order: Ints, within_m: float, found: tuple[Ints, Floats]
) -> None:
    """Search for each point, no farther than to where the one before has found its line."""
    line, distance_m = found
    leaf = -1
    for row in order:
        at = points[row, 0], points[row, 1]
        if np.isnan(at[0] + at[1]):
            continue
        bound_m = within_m
        if leaf >= 0:
            before_m, _ = run_distance(tree.xy, (tree.first[leaf], tree.last[leaf]), at, within_m)
            bound_m = min(before_m, within_m)
        least_m, own, leaf, sure = _search(tree, at, bound_m, leaf)
        if not sure:
            _, own, leaf, _ = _search(tree, at, least_m, leaf)
        if least_m <= within_m:
            distance_m[row], line[row] = least_m, own


@njit(cache=True)
def _search(tree: Tree, at: At, bound_m: float, leaf: int) -> tuple[float, int, int, bool]:
    """
    Return the least distance up to `bound_m`, the lowest line as near, the leaf with the least.

    And whether the line is sure: it may be no longer as near where the least went down by less than
    a micrometre. With the least as `bound_m` it always is.
    """
    least_m, line, sure = np.inf, -1, True
    reach_m = bound_m + SAME_M
    box = 0
    while box < len(tree.boxes):
        if _away(tree.boxes, box, at) > (reach_m + SAME_M) ** 2:
            box = tree.past[box]
            continue
        if tree.line[box] >= 0:
            run = tree.first[box], tree.last[box]
            away_m, _ = run_distance(tree.xy, run, at, reach_m)
            if away_m <= reach_m:
                if away_m + SAME_M < least_m:
                    line, sure = tree.line[box], True
                else:
                    line, sure = min(line, tree.line[box]), sure and away_m >= least_m
                if away_m < least_m:
                    least_m, leaf, reach_m = away_m, box, min(reach_m, away_m + SAME_M)
        box += 1
    return least_m, line, leaf, sure


@njit(cache=True)
def _away(boxes: Floats, box: int, at: At) -> float:
    """Return the square of the distance of a point to a box [m²]."""
    wide = max(boxes[box, 0] - at[0], at[0] - boxes[box, 2], 0.0)
    high = max(boxes[box, 1] - at[1], at[1] - boxes[box, 3], 0.0)
    return float(wide * wide + high * high)


def near(tree: Tree, boxes: Floats, *, within_m: float) -> tuple[Ints, Ints]:
    """
    Return each pair of one of `boxes` and a line that may come as near to it as `within_m`.

    The pairs in which the line does, and some more, in no order. `boxes` have the shape (n, 4) [m]:
    west, south, east, north.
    """
    wider = boxes + np.array((-within_m, -within_m, within_m, within_m))
    pairs = _pairs(tree, wider, curve_order(boxes[:, :2]))
    return pairs[:, 0], pairs[:, 1]


@njit(cache=True)
def _pairs(tree: Tree, boxes: Floats, order: Ints) -> Ints:
    """Return the pairs of a box and a line with a piece whose own box touches it."""
    pairs, count = np.empty((max(len(boxes), 1), 2), dtype=np.int64), 0
    noted = np.full(tree.lines, -1)
    for row in order:
        box = 0
        while box < len(tree.boxes):
            if not _meet(tree.boxes[box], boxes[row]):
                box = tree.past[box]
                continue
            own = tree.line[box]
            if own >= 0 and noted[own] != row and _passes(tree, box, boxes[row]):
                noted[own] = row
                if count == len(pairs):
                    pairs = np.concatenate((pairs, np.empty_like(pairs)))
                pairs[count] = row, own
                count += 1
            box += 1
    return pairs[:count]


@njit(cache=True)
def _meet(one: Floats, other: Floats) -> bool:
    """Return whether two boxes touch."""
    beside = one[0] <= other[2] and one[2] >= other[0]
    return bool(beside and one[1] <= other[3] and one[3] >= other[1])


@njit(cache=True)
def _passes(tree: Tree, leaf: int, box: Floats) -> bool:
    """Return whether the box of any piece of a leaf touches another."""
    for piece in range(tree.first[leaf], tree.last[leaf]):
        (x, y), (to_x, to_y) = tree.xy[piece], tree.xy[piece + 1]
        level = max(y, to_y) >= box[1] and min(y, to_y) <= box[3]
        if level and max(x, to_x) >= box[0] and min(x, to_x) <= box[2]:
            return True
    return False
