"""Reading the ground of a district from one file of levels or several."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from haulshed.inputs.dem_file import read_grid
from haulshed.inputs.files import NamedFile
from haulshed.inputs.placing import Ground
from haulshed.inputs.raw_table import Geometries
from haulshed.inputs.settings import LevelUnit
from haulshed.terrain import Terrain


@dataclass(frozen=True, slots=True, kw_only=True)
class TerrainRead:
    """The ground, and what is to be said of the reading, a sentence a file."""

    terrain: Terrain
    notes: tuple[str, ...]


def read_terrain(
    files: Sequence[NamedFile], unit: LevelUnit | None, parcels: Geometries, ground: Ground
) -> TerrainRead:
    """
    Return the ground around the parcels, of the files in their order.

    Raises
    ------
    InputError
        If a file cannot be used; see :func:`~haulshed.inputs.dem_file.read_grid`.
    """
    bounds = shapely.total_bounds(parcels)
    if not np.isfinite(bounds).all():
        return TerrainRead(terrain=Terrain(grids=(), crs=ground.crs), notes=())
    reads = [read_grid(file.path, unit, bounds.tolist(), ground) for file in files]
    grids = tuple(read.grid for read in reads if read.grid is not None)
    return TerrainRead(
        terrain=Terrain(grids=grids, crs=ground.crs), notes=tuple(read.note for read in reads)
    )
