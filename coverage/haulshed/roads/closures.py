"""Roads that a scenario closes."""

from collections.abc import Iterable

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from haulshed.tables.segments import Segments


def closed(
    segments: Segments, ways: Iterable[int], area: Polygon | MultiPolygon | None = None
) -> Segments:
    """
    Return the segments with some of them closed in both directions: nothing drives or stops there.

    Closed is every segment of `ways`, and every one that any of `area` touches, in the whole of its
    length: between two junctions nobody gets past.
    """
    shut = segments["way_id"].isin(list(ways)).to_numpy(dtype=bool)
    if area is not None:
        shut = shut | shapely.intersects(np.asarray(segments.geometry, dtype=object), area)
    if not shut.any():
        return segments
    forward, backward = segments["forward_open"] & ~shut, segments["backward_open"] & ~shut
    return Segments(segments.assign(forward_open=forward, backward_open=backward))
