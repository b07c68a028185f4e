"""Waters as candidates are looked for in them."""

from dataclasses import dataclass

import shapely


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Water:
    """A pond, lake, river or stream."""

    osm_id: str  #: w or r, then the number
    name: str
    shape: shapely.Geometry  #: area or line, in the district's coordinates [m]
    running: bool
    seasonal: bool  #: mapped as dry for part of the year
