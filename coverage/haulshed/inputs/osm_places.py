"""Read what an OpenStreetMap file holds beside its roads: buildings, waters, hydrants, stations."""

from dataclasses import dataclass, field
from pathlib import Path

import osmium
import shapely

from haulshed.errors import InputError
from haulshed.inputs.limits import MAX_ROWS
from haulshed.inputs.osm_check import check_osm, damaged
from haulshed.inputs.osm_order import in_order
from haulshed.survey.place import PLACE_KEYS, MapExtract, Place, plain

_TOO_MANY = (
    f"The map has more than {MAX_ROWS:,} buildings, addresses and waters. Cut out the district."
)


@dataclass(slots=True)
class _Read:
    """What the passes over a file fill, by id; of an object that stands twice the last counts."""

    tags: dict[str, dict[str, str]] = field(default_factory=dict)
    shapes: dict[str, shapely.Geometry] = field(default_factory=dict)


def read_places(path: Path, ending: str) -> MapExtract:
    """
    Return the places of a file, in its order, and the box that it was cut to.

    Areas are put together of closed ways and multipolygon relations by osmium. A file that is not
    sorted is sorted first, in memory, and the newest version of each object kept.

    Parameters
    ----------
    path
        The file.
    ending
        Its format, one of :data:`haulshed.inputs.osm_file.OSM_ENDINGS`.

    Raises
    ------
    InputError
        If the file is damaged, cut short or not what its name says.
    """
    check_osm(path, ending)
    try:
        with in_order(path, ending) as file:
            read = _pass_over(file)
        box = _box(osmium.io.File(str(path), ending))
    except InputError:
        raise
    except (RuntimeError, ValueError, osmium.InvalidLocationError) as error:
        raise damaged(path, error) from error
    places = (
        Place(osm_id=osm_id, tags=tags, shape=read.shapes.get(osm_id))
        for osm_id, tags in read.tags.items()
    )
    return MapExtract(places=tuple(places), box=box)


def _pass_over(file: osmium.io.File) -> _Read:
    read = _Read()
    kept = osmium.filter.KeyFilter(*PLACE_KEYS)
    shapes = osmium.geom.WKBFactory()
    content = osmium.FileProcessor(file).with_locations().with_areas(kept).with_filter(kept)
    for thing in content:
        if isinstance(thing, osmium.osm.Area):
            osm_id = f"{'w' if thing.from_way() else 'r'}{thing.orig_id()}"
            read.shapes[osm_id] = shapely.from_wkb(shapes.create_multipolygon(thing))
        elif not isinstance(thing, osmium.osm.Changeset) and not thing.deleted:
            osm_id = f"{thing.type_str()}{thing.id}"
            if len(read.tags) > MAX_ROWS:
                raise InputError(_TOO_MANY)
            read.tags[osm_id] = {tag.k: plain(tag.v) for tag in thing.tags}
            if isinstance(thing, osmium.osm.Node) and thing.location.valid():
                read.shapes[osm_id] = shapely.Point(thing.lon, thing.lat)
    return read


def _box(file: osmium.io.File) -> tuple[float, float, float, float] | None:
    with osmium.io.Reader(file, osmium.osm.NOTHING) as reader:
        box = reader.header().box()
    if not box.valid():
        return None
    low, high = box.bottom_left, box.top_right
    return (low.lon, low.lat, high.lon, high.lat)
