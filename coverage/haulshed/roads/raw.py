"""Ways as a road file has them, before any rule: one plain value for every format."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RawWays:
    """
    Ways, their tags and their nodes.

    A reference to a node that is not in `node_id` is a gap in the way. A way id may stand more
    than once where a file holds a way in parts.

    Attributes
    ----------
    node_id, lon, lat
        Nodes in the order of their id, each once; degrees east and north (WGS 84).
    way_id
        One id a way.
    ref_start
        Where each way's references start in `refs`, and their number at the end.
    refs
        Node ids, way after way.
    tags
        One mapping a way, of :data:`haulshed.roads.ways.TAGS_USED` only.
    notes
        What the reader survived, counted.
    """

    node_id: NDArray[np.int64]
    lon: NDArray[np.float64]
    lat: NDArray[np.float64]
    way_id: NDArray[np.int64]
    ref_start: NDArray[np.int64]
    refs: NDArray[np.int64]
    tags: tuple[Mapping[str, str], ...]
    notes: Mapping[str, int]


def last_of_each(ids: NDArray[np.int64]) -> NDArray[np.int64]:
    """
    Return where each id stands last, in the order of the ids.

    OSM files put the newer version of an object after the older one.

    Examples
    --------
    >>> last_of_each(np.array([7, 3, 7])).tolist()
    [1, 2]
    """
    order = np.argsort(ids, kind="stable")
    in_order = ids[order]
    last = np.append(in_order[1:] != in_order[:-1], [True] * min(1, len(ids)))
    return np.asarray(order[last.astype(bool)], dtype=np.int64)


def joined_ranges(start: NDArray[np.int64], count: NDArray[np.int64]) -> NDArray[np.int64]:
    """
    Return start, start + 1, … for each pair, one after the other.

    Examples
    --------
    >>> joined_ranges(np.array([4, 0]), np.array([2, 3])).tolist()
    [4, 5, 0, 1, 2]
    """
    before = np.cumsum(count) - count
    joined: NDArray[np.int64] = np.repeat(start - before, count) + np.arange(int(count.sum()))
    return joined
