"""Segments: ways cut at junctions, projected. Nothing of two ways is joined."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from haulshed.errors import NetworkError
from haulshed.roads.crs import district_crs, middle, project
from haulshed.roads.raw import RawWays, joined_ranges
from haulshed.roads.ways import LeftOut, Road, left_out, road
from haulshed.scenario import RoadRules
from haulshed.tables.segments import SEGMENTS, Segments


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Points:
    """The roads' points in order: way after way, run after run, no gap within a run."""

    way: NDArray[np.int64]  #: position of the way in the list of roads
    run: NDArray[np.int64]  #: number of the run; a way is one run unless nodes are missing
    node: NDArray[np.int64]  #: position of the node in `RawWays.node_id`
    missing: int  #: references to nodes that the file does not hold


def build_segments(
    raw: RawWays, rules: RoadRules, crs: str = "auto"
) -> tuple[Segments, dict[str, int]]:
    """
    Return the segments of the ways that are roads, and what was left out or survived, counted.

    A way is cut where it meets another road or itself and where a node is missing: nothing is
    invented across a gap. The order is by way id, then by position along the way. A piece of no
    length is dropped and its two ends become one junction.

    Parameters
    ----------
    raw
        Ways as a file has them.
    rules
        Decides on tracks, driveways and private service roads.
    crs
        ``auto`` (the UTM zone of the roads' middle) or a projected system in metres.

    Raises
    ------
    NetworkError
        If no way is a road that a tanker may use.
    CrsError
        If `crs` cannot be used.
    """
    kept, roads, notes = _roads(raw, rules)
    points = _points(raw, kept)
    notes["nodes_missing"] = points.missing
    notes["ways_too_short"] = len(kept) - len(np.unique(points.way))
    _refuse_none(roads, points, notes)
    first, last = _pieces(points)
    used = np.unique(points.node)
    place = middle(raw.lon[used], raw.lat[used])
    system = district_crs(crs, place)
    xy = project(system, place, raw.lon[used], raw.lat[used])
    lines = _lines(xy[np.searchsorted(used, points.node)], first, last)
    real = shapely.length(lines) > 0
    notes["pieces_of_no_length"] = int((~real).sum())
    junction = _junctions(points.node[first], points.node[last], real, len(raw.node_id))
    ends = {
        "from_node": raw.node_id[junction[points.node[first[real]]]],
        "to_node": raw.node_id[junction[points.node[last[real]]]],
    }
    way = points.way[first[real]]
    columns = {"way_id": raw.way_id[kept[way]], **ends, **_attributes(roads, way)}
    frame = gpd.GeoDataFrame(columns, geometry=lines[real], crs=system)
    frame.insert(0, "segment_id", np.arange(len(frame)))
    frame = frame[[column.name for column in SEGMENTS.columns]]
    SEGMENTS.check(frame)
    return Segments(frame), {**raw.notes, **notes}


def _roads(raw: RawWays, rules: RoadRules) -> tuple[NDArray[np.int64], list[Road], dict[str, int]]:
    """Return the positions of the ways that are roads, by way id, and what their tags say."""
    why = [left_out(tags, rules) for tags in raw.tags]
    left = Counter(reason for reason in why if reason)
    kept = np.array([n for n, reason in enumerate(why) if reason is None], dtype=np.int64)
    kept = kept[np.argsort(raw.way_id[kept], kind="stable")]
    roads = [road(raw.tags[n], rules) for n in kept]
    notes = {
        "ways_read": len(raw.way_id),
        **{reason.value: left[reason] for reason in LeftOut},
        "oneway_not_understood": sum(not each.oneway_understood for each in roads),
        "maxspeed_no_figure": sum(not each.limit_understood for each in roads),
        "maxweight_not_understood": sum(not each.weight_understood for each in roads),
        "maxheight_not_understood": sum(not each.height_understood for each in roads),
    }
    return kept, roads, notes


def _points(raw: RawWays, kept: NDArray[np.int64]) -> _Points:
    """Return the points of the ways `kept`, cut into runs at missing nodes, repeats dropped."""
    count = np.diff(raw.ref_start)[kept]
    ref = raw.refs[joined_ranges(raw.ref_start[kept], count)]
    way = np.repeat(np.arange(len(kept)), count)
    node = np.searchsorted(raw.node_id, ref)
    held = np.isin(ref, raw.node_id)
    new_run = np.ones(len(ref), dtype=bool)
    new_run[1:] = (way[1:] != way[:-1]) | ~held[:-1]
    run = np.cumsum(new_run)[held]
    way, node = way[held], node[held]
    repeated = np.zeros(len(node), dtype=bool)
    repeated[1:] = (run[1:] == run[:-1]) & (node[1:] == node[:-1])
    way, node, run = way[~repeated], node[~repeated], run[~repeated]
    # A run of one point is no line, and must not cut another way either.
    line = np.bincount(run, minlength=1)[run] > 1
    return _Points(way=way[line], run=run[line], node=node[line], missing=int((~held).sum()))


def _refuse_none(roads: list[Road], points: _Points, notes: Mapping[str, int]) -> None:
    if any(roads[way].public for way in np.unique(points.way)):
        return
    counted = ", ".join(f"{key} {count}" for key, count in notes.items() if count)
    msg = (
        f"No road that a tanker may use ({counted or 'no way with a highway tag'}). Give a file"
        " that holds the district's roads with their nodes; [roads] tracks = true or"
        " private = true opens tracks, driveways and private service roads."
    )
    raise NetworkError(msg)


def _pieces(points: _Points) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return each piece's first and last point: runs cut at every node used more than once."""
    uses = np.bincount(points.node)
    end = np.ones(len(points.run) + 1, dtype=bool)
    end[1:-1] = points.run[1:] != points.run[:-1]
    cut = np.flatnonzero((uses[points.node] > 1) | end[:-1] | end[1:])
    within = points.run[cut[:-1]] == points.run[cut[1:]]
    return cut[:-1][within], cut[1:][within]


def _lines(
    xy: NDArray[np.float64], first: NDArray[np.int64], last: NDArray[np.int64]
) -> NDArray[np.object_]:
    count = last - first + 1
    vertex = joined_ranges(first, count)
    piece = np.repeat(np.arange(len(first)), count)
    return np.asarray(shapely.linestrings(xy[vertex], indices=piece), dtype=object)


def _junctions(
    tail: NDArray[np.int64], head: NDArray[np.int64], real: NDArray[np.bool_], nodes: int
) -> NDArray[np.int64]:
    """Return the node that each node stands for: itself, or the lowest at the same place."""
    junction = np.arange(nodes)
    if real.all():
        return junction
    pairs = coo_array(
        (np.ones(int((~real).sum())), (tail[~real], head[~real])), shape=(nodes, nodes)
    )
    count, group = connected_components(pairs, directed=False)
    lowest = np.full(count, nodes)
    np.minimum.at(lowest, group, junction)
    return lowest[group]


def _attributes(roads: list[Road], way: NDArray[np.int64]) -> dict[str, object]:
    """Return the roads' columns, a row for each piece of the way at `way`."""
    names = [column.name for column in SEGMENTS.columns if hasattr(Road, column.name)]
    table = pd.DataFrame({name: [getattr(each, name) for each in roads] for name in names})
    return {name: table[name].to_numpy()[way] for name in names}
