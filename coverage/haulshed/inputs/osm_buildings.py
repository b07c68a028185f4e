"""Buildings of an OpenStreetMap file as a table: footprint, height and storeys."""

import re
from pathlib import Path

import numpy as np
import shapely
from pyproj import CRS

from haulshed.inputs.osm_areas import read_osm_areas
from haulshed.inputs.raw_table import RawTable, Shapes
from haulshed.units import M_PER_FT

_LEVELS, _HEIGHT = "building:levels", "height"
#: A length as OpenStreetMap's map features define it (OSM wiki, Key:height, from memory): metres
#: where no unit is written, else m or ft, or feet and inches.
_METRES = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*m?")
_FEET = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*(?:ft|')\s*(?:([0-9]+(?:\.[0-9]+)?)\s*(?:in|\"))?")
_IN_PER_FT = 12


def read_osm_buildings(path: Path) -> RawTable:
    """
    Return the areas with the tag building, but *no*, as a table with height_ft and stories.

    Raises
    ------
    InputError
        If the file is damaged, cut short or not what its name says.
    """
    areas = read_osm_areas(path, "building", wanted=(_LEVELS, _HEIGHT))
    left_out = [
        f"{path.name}: {count:,} {what}"
        for count, what in (
            (areas.broken, "buildings whose outline does not close or is cut off; not used"),
            (areas.nodes, "buildings that are a point without an outline; not used"),
        )
        if count
    ]
    return RawTable(
        columns={
            "stories": [tags.get(_LEVELS, "") for tags in areas.tags],
            "height_ft": [_in_feet(tags.get(_HEIGHT, "")) for tags in areas.tags],
        },
        places=[f"building {at + 1}" for at in range(len(areas.wkb))],
        shapes=Shapes(
            geometry=np.array(shapely.from_wkb(list(areas.wkb)), dtype=object),
            crs=CRS.from_epsg(4326),
        ),
        notes=left_out,
    )


def _in_feet(value: str) -> str:
    r"""
    Return a length in feet as text; what is none comes back as it is.

    Examples
    --------
    >>> _in_feet("3.048"), _in_feet("3.048 m"), _in_feet("12'6\""), _in_feet("40 ft")
    ('10', '10', '12.5', '40')
    >>> _in_feet("tall")
    'tall'
    """
    metres, feet = _METRES.fullmatch(value), _FEET.fullmatch(value)
    if metres:
        return f"{float(metres[1]) / M_PER_FT:.6g}"
    if feet:
        return f"{float(feet[1]) + float(feet[2] or 0) / _IN_PER_FT:.6g}"
    return value
