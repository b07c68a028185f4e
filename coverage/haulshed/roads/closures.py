"""Roads that a scenario closes."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from haulshed.errors import NetworkError
from haulshed.tables.segments import Segments


def unknown_ways(segments: Segments, ways: Sequence[int]) -> list[int]:
    """Return those of `ways` that are not among the segments'."""
    known = set(segments["way_id"])
    return [way for way in ways if way not in known]


def without_ways(segments: Segments, ways: Sequence[int]) -> Segments:
    """
    Return the segments with all of some ways closed: nothing drives, stops or lays hose there.

    Raises
    ------
    NetworkError
        If a way is not among them.
    """
    strangers = unknown_ways(segments, ways)
    if strangers:
        listed = ", ".join(map(str, strangers))
        msg = f"roads.closed_ways: {listed}: no such way among the roads. Look the ids up there."
        raise NetworkError(msg)
    return _closed(segments, segments["way_id"].isin(list(ways)).to_numpy(dtype=bool))


def without_area(segments: Segments, area: Polygon | MultiPolygon) -> Segments:
    """
    Return the segments with those closed that touch an area.

    Each is closed in the whole of its length: between two junctions nobody gets past.
    """
    lines = np.asarray(segments.geometry, dtype=object)
    return _closed(segments, shapely.intersects(lines, area))


def _closed(segments: Segments, shut: NDArray[np.bool_]) -> Segments:
    if not shut.any():
        return segments
    forward, backward = segments["forward_open"] & ~shut, segments["backward_open"] & ~shut
    return Segments(segments.assign(forward_open=forward, backward_open=backward))
