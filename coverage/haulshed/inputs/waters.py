"""Read the waters of an OpenStreetMap file: ponds and lakes, rivers and streams."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import osmium
import shapely
from osmium.osm import WAY
from pyproj import CRS, Transformer

from haulshed.errors import InputError
from haulshed.inputs.osm_check import check_osm, damaged
from haulshed.inputs.osm_file import OSM_ENDINGS
from haulshed.inputs.osm_order import in_order
from haulshed.options.waters import Water
from haulshed.tables.table import shown

#: Keys of which a water has one; as the OpenStreetMap wiki has them.
_AREA_KEYS = ("natural", "landuse", "water", "waterway")
#: Values of `waterway` that run and can be drafted from where they are deep enough.
_LINES = ("river", "stream", "canal")
_RUNNING = ("river", "stream", "canal", "ditch", "stream_pool", "rapids")
#: Values of `water` that nobody drafts from.
_FOUL = ("wastewater", "moat", "fountain", "lock", "fish_pass", "shoal")


def read_waters(path: Path, crs: CRS) -> tuple[Water, ...]:
    """
    Return the waters of a file in the district's coordinates, in the order of their ids.

    Raises
    ------
    InputError
        If there is no such file or it cannot be read.
    """
    if not path.is_file():
        msg = f"There is no {shown(path)} to find waters in. Mend candidates.water in the options."
        raise InputError(msg)
    ending = next((one for one in OSM_ENDINGS if path.name.lower().endswith(f".{one}")), None)
    if ending is None:
        msg = f"{path.name}: waters are read from OpenStreetMap extracts only, not from this."
        raise InputError(msg)
    check_osm(path, ending)
    try:
        with in_order(path, ending) as file:
            found = [*_lines(file), *_areas(file)]
    except (RuntimeError, ValueError, osmium.InvalidLocationError) as error:
        raise damaged(path, error) from error
    turn = Transformer.from_crs(4326, crs, always_xy=True)
    return tuple(
        Water(
            osm_id=osm_id,
            name=tags.get("name", ""),
            shape=_turned(shape, turn),
            running=_runs(tags),
            seasonal={tags.get("intermittent", "no"), tags.get("seasonal", "no")} != {"no"},
        )
        for osm_id, tags, shape in sorted(found, key=lambda one: one[0])
    )


_Found = tuple[str, dict[str, str], shapely.Geometry]


def _lines(file: osmium.io.File) -> Sequence[_Found]:
    kept = osmium.filter.TagFilter(*(("waterway", value) for value in _LINES))
    shapes = osmium.geom.WKBFactory()
    found = []
    kept.enable_for(WAY)
    content = osmium.FileProcessor(file).with_locations().with_filter(kept)
    for thing in content:
        if isinstance(thing, osmium.osm.Way) and "tunnel" not in thing.tags:
            tags = {tag.k: tag.v for tag in thing.tags}
            found.append((f"w{thing.id}", tags, shapely.from_wkb(shapes.create_linestring(thing))))
    return found


def _areas(file: osmium.io.File) -> Sequence[_Found]:
    kept = osmium.filter.KeyFilter(*_AREA_KEYS)
    shapes = osmium.geom.WKBFactory()
    found = []
    content = osmium.FileProcessor(file).with_locations().with_areas(kept).with_filter(kept)
    for thing in content:
        if isinstance(thing, osmium.osm.Area):
            tags = {tag.k: tag.v for tag in thing.tags}
            wet = tags.get("natural") == "water" or tags.get("landuse") == "reservoir"
            if wet and tags.get("water") not in _FOUL:
                osm_id = f"{'w' if thing.from_way() else 'r'}{thing.orig_id()}"
                found.append((osm_id, tags, shapely.from_wkb(shapes.create_multipolygon(thing))))
    return found


def _runs(tags: dict[str, str]) -> bool:
    return "waterway" in tags or tags.get("water") in _RUNNING


def _turned(shape: shapely.Geometry, turn: Transformer) -> shapely.Geometry:
    return shapely.transform(shape, lambda xy: np.column_stack(turn.transform(*xy.T)))
