"""Buildings as the readers give them: sound polygons in the district's metres."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from haulshed.tables.buildings import LEAST_FT2
from haulshed.units import M_PER_FT


@dataclass(frozen=True, kw_only=True, eq=False)
class Footprints:
    """
    Buildings, each once.

    Attributes
    ----------
    shapes
        Valid polygons or multipolygons [m], none empty, no two equal.
    stories
        Storeys; NaN: not known.
    height_ft
        Height [ft]; NaN: not known.
    """

    shapes: NDArray[np.object_]
    stories: NDArray[np.float64]
    height_ft: NDArray[np.float64]

    @cached_property
    def area_ft2(self) -> NDArray[np.float64]:
        """Area of each footprint [ft²]."""
        return np.asarray(shapely.area(self.shapes) / M_PER_FT**2)

    @cached_property
    def is_shed(self) -> NDArray[np.bool_]:
        """Which are too small for a parcel's main structure."""
        return self.area_ft2 < LEAST_FT2
