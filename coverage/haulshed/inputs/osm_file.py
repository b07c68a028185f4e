"""Read OpenStreetMap files: XML, plain or compressed, and PBF."""

from array import array
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import osmium
from numpy.typing import NDArray
from osmium.osm import NODE, WAY

from haulshed.errors import InputError
from haulshed.inputs.limits import MAX_OSM_POINTS
from haulshed.inputs.osm_check import check_osm, damaged
from haulshed.roads.raw import RawWays, joined_ranges, last_of_each
from haulshed.roads.ways import ROAD_CLASSES, TAGS_USED

#: File name endings that are read here; osmium's names of these formats.
OSM_ENDINGS = ("osm", "osm.gz", "osm.bz2", "osm.pbf")

#: osmium keeps a coordinate as a whole number of these to the degree.
_STEPS_PER_DEGREE = 10_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class _Read:
    """What the pass over a file fills, in compact arrays."""

    node_id: "array[int]" = field(default_factory=lambda: array("q"))
    node_x: "array[int]" = field(default_factory=lambda: array("i"))
    node_y: "array[int]" = field(default_factory=lambda: array("i"))
    way_id: "array[int]" = field(default_factory=lambda: array("q"))
    ref_count: "array[int]" = field(default_factory=lambda: array("q"))
    refs: "array[int]" = field(default_factory=lambda: array("q"))
    tags: list[dict[str, str]] = field(default_factory=list)


def read_osm(path: Path, ending: str) -> RawWays:
    """
    Return the ways of a file whose `highway` is a road class, and the nodes that they use.

    One pass. All nodes are held meanwhile, 16 bytes each, so that ways may stand before their
    nodes. Of an object that stands in the file more than once the last counts.

    Parameters
    ----------
    path
        The file.
    ending
        Its format, one of :data:`OSM_ENDINGS`.

    Raises
    ------
    InputError
        If the file is damaged, cut short or not what its name says.
    """
    check_osm(path, ending)
    try:
        read = _pass_over(osmium.io.File(str(path), ending))
    except InputError:
        raise
    except (RuntimeError, ValueError, osmium.InvalidLocationError) as error:
        raise damaged(path, error) from error
    return _each_once(read)


def _pass_over(file: osmium.io.File) -> _Read:
    read = _Read()
    roads = osmium.filter.TagFilter(*(("highway", name) for name in ROAD_CLASSES))
    roads.enable_for(WAY)
    for thing in osmium.FileProcessor(file, NODE | WAY).with_filter(roads):
        if isinstance(thing, osmium.osm.Node):
            _add_node(read, thing)
            _refuse_beyond(len(read.node_id))
        elif isinstance(thing, osmium.osm.Way) and not thing.deleted:
            read.way_id.append(thing.id)
            read.refs.extend([node.ref for node in thing.nodes])
            read.ref_count.append(len(thing.nodes))
            _refuse_beyond(len(read.refs))
            read.tags.append({tag.k: tag.v for tag in thing.tags if tag.k in TAGS_USED})
    return read


def _add_node(read: _Read, node: osmium.osm.Node) -> None:
    location = node.location
    if location.valid() and not node.deleted:
        read.node_id.append(node.id)
        read.node_x.append(location.x)
        read.node_y.append(location.y)


def _refuse_beyond(points: int) -> None:
    if points > MAX_OSM_POINTS:
        msg = (
            f"The road file has more than the {MAX_OSM_POINTS:,} points that are read. Cut out the"
            " district, with its roads alone."
        )
        raise InputError(msg)


def _each_once(read: _Read) -> RawWays:
    """Return what was read, every object once, without the nodes that no road uses."""
    node_id, node_x, node_y = (_whole(part) for part in (read.node_id, read.node_x, read.node_y))
    way_id, ref_count, refs = (_whole(part) for part in (read.way_id, read.ref_count, read.refs))
    way = np.sort(last_of_each(way_id))
    count = ref_count[way]
    used_refs = refs[joined_ranges((np.cumsum(ref_count) - ref_count)[way], count)]
    used = np.flatnonzero(np.isin(node_id, used_refs))
    node = used[last_of_each(node_id[used])]
    return RawWays(
        node_id=node_id[node],
        lon=node_x[node] / _STEPS_PER_DEGREE,
        lat=node_y[node] / _STEPS_PER_DEGREE,
        way_id=way_id[way],
        ref_start=np.concatenate(([0], np.cumsum(count))),
        refs=used_refs,
        tags=tuple(read.tags[n] for n in way),
        notes={"ways_twice": len(way_id) - len(way), "nodes_twice": len(used) - len(node)},
    )


def _whole(values: "array[int]") -> NDArray[np.int64]:
    return np.array(values, dtype=np.int64)
