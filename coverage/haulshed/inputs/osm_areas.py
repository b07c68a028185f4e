"""Areas of an OpenStreetMap file: closed ways and multipolygons with a certain key."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import osmium
from osmium.osm import AREA, NODE, RELATION, WAY

from haulshed.errors import InputError
from haulshed.inputs.osm_check import check_osm, damaged
from haulshed.inputs.osm_file import OSM_ENDINGS
from haulshed.inputs.osm_order import in_order

_AREA_RELATIONS = ("multipolygon", "boundary")


@dataclass(frozen=True, slots=True, kw_only=True)
class OsmAreas:
    """
    Areas and what is no area though it has the key, in the order of the file.

    Attributes
    ----------
    wkb
        One hexadecimal WKB a area, a multipolygon in degrees east and north (WGS 84).
    tags
        Those of the tags asked for that each area has.
    broken
        Ways and multipolygons that have the key and make no area: not closed, cut off, crossing.
    nodes
        Nodes that have the key.
    """

    wkb: tuple[str, ...]
    tags: tuple[dict[str, str], ...]
    broken: int
    nodes: int


@dataclass(slots=True, kw_only=True)
class _Read:
    """What the pass over a file fills."""

    wkb: list[str] = field(default_factory=list)
    tags: list[dict[str, str]] = field(default_factory=list)
    drawn: int = 0
    nodes: int = 0


def read_osm_areas(path: Path, key: str, *, wanted: Iterable[str]) -> OsmAreas:
    """
    Return the areas that have `key`, put together by osmium, with their `wanted` tags.

    A value of *no* counts as not having the key.

    Raises
    ------
    InputError
        If the file is damaged, cut short or not what its name says.
    """
    name = path.name.lower()
    ending = next(ending for ending in OSM_ENDINGS if name.endswith(f".{ending}"))
    check_osm(path, ending)
    with _errors(path), in_order(path, ending) as file:
        read = _pass_over(file, key, frozenset(wanted))
    return OsmAreas(
        wkb=tuple(read.wkb),
        tags=tuple(read.tags),
        broken=read.drawn - len(read.wkb),
        nodes=read.nodes,
    )


@contextmanager
def _errors(path: Path) -> Iterator[None]:
    """Turn osmium's errors into ours."""
    try:
        yield
    except InputError:
        raise
    except (RuntimeError, ValueError, osmium.InvalidLocationError) as error:
        raise damaged(path, error) from error


def _pass_over(file: osmium.io.File, key: str, wanted: frozenset[str]) -> _Read:
    read = _Read()
    with_key = osmium.filter.KeyFilter(key)
    with_key.enable_for(NODE | WAY | RELATION | AREA)
    areas = osmium.FileProcessor(file).with_areas(osmium.filter.KeyFilter(key))
    shapes = osmium.geom.WKBFactory()
    for thing in areas.with_filter(with_key):
        if thing.tags[key] == "no":
            continue
        if isinstance(thing, osmium.osm.Area):
            _add_area(read, shapes, thing, wanted)
        elif isinstance(thing, osmium.osm.Node):
            read.nodes += 1
        elif isinstance(thing, osmium.osm.Way) or thing.tags.get("type") in _AREA_RELATIONS:
            read.drawn += 1
    return read


def _add_area(
    read: _Read, shapes: osmium.geom.WKBFactory, area: osmium.osm.Area, wanted: frozenset[str]
) -> None:
    try:
        read.wkb.append(shapes.create_multipolygon(area))
    except RuntimeError:  # no ring that closes: counted as broken, since it was drawn
        return
    read.tags.append({tag.k: tag.v for tag in area.tags if tag.k in wanted})
