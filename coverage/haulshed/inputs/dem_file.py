"""Reading ground levels: GeoTIFF and SRTM tiles, by rasterio, and only where the parcels lie."""

import logging
import math
import warnings
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import rasterio
from pyproj import CRS
from pyproj.exceptions import ProjError
from rasterio.enums import Resampling
from rasterio.errors import NotGeoreferencedWarning, RasterioError
from rasterio.io import DatasetReader, MemoryFile
from rasterio.windows import Window

from haulshed.errors import TableError
from haulshed.inputs.hgt_file import HGT_SUFFIX, TABLE, ZIP_SUFFIX, read_tile
from haulshed.inputs.limits import refuse_beyond
from haulshed.inputs.placing import Ground
from haulshed.inputs.raw_table import unreadable
from haulshed.inputs.settings import LevelUnit
from haulshed.tables.table import shown
from haulshed.terrain import Grid
from haulshed.units import M_PER_FT

# What GDAL says of a tag that it passes over goes to nobody's screen; what matters is raised.
logging.getLogger("rasterio").addHandler(logging.NullHandler())

DEM_SUFFIXES = (".tif", ".tiff", HGT_SUFFIX, ZIP_SUFFIX)

#: A grid as it is kept [cells]; where the parcels take more, so many are averaged into one.
MAX_KEPT = 16_000_000
#: Cells of a file that are looked at, to be averaged [cells]: 60 by 60 km at 1 m.
MAX_READ = 4_000_000_000
#: One block, the least that GDAL unpacks at once [bytes].
MAX_BLOCK_BYTES = 256 * 1024**2
#: Lower or higher than any dry land [m]: the Dead Sea's shore is at -430, Everest at 8,849. Files
#: have voids of -9999, -32768 and the like that they do not declare.
LOWEST_M, HIGHEST_M = -500.0, 9000.0
#: Ground that is read around the parcels [m]: their access points lie there.
AROUND_M = 2000.0

#: GDAL sees the file that is named and nothing beside it, and no network.
_ALONE = {
    "GDAL_DISABLE_READDIR_ON_OPEN": "EMPTY_DIR",
    "GDAL_PAM_ENABLED": "NO",
    "GDAL_GEOREF_SOURCES": "INTERNAL",
    "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": ".none",
}
#: Units of levels by the names that files have for them, in feet.
_FEET = {
    **dict.fromkeys(("m", "metre", "meter", "metres", "meters"), 1 / M_PER_FT),
    **dict.fromkeys(("ft", "foot", "feet", "international foot"), 1.0),
    **dict.fromkeys(("us survey foot", "us-ft", "ftus", "foot_us"), 1200 / 3937 / M_PER_FT),
}
_UNIT_KEY = {LevelUnit.M: 1 / M_PER_FT, LevelUnit.FT: 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class GridRead:
    """A grid, and what is to be said of it."""

    grid: Grid | None  #: None: the file does not reach the parcels
    note: str


def read_grid(
    path: Path, unit: LevelUnit | None, bounds: Sequence[float], ground: Ground
) -> GridRead:
    """
    Return the ground levels of a file around the parcels.

    Parameters
    ----------
    path
        GeoTIFF of one band; SRTM tile, also in a zip.
    unit
        Of the levels; None: as the file says.
    bounds
        West, south, east and north of the parcels in the district's coordinates [m].
    ground
        The district's coordinates.

    Raises
    ------
    InputError
        If the file is not what its name says, is damaged, does not say where it lies or its
        levels' unit, or is too large.
    """
    with _rasterio(path), ExitStack() as opened:
        source = _opened(path, opened)
        crs = _crs(path, source)
        factor = _in_feet(path, source, crs, unit)
        window = _window(source, crs, bounds, ground)
        if window is None:
            return GridRead(grid=None, note=f"{path.name}: no ground of the parcels in it")
        return _read(path, source, crs, window, factor)


@contextmanager
def _rasterio(path: Path) -> Iterator[None]:
    """Turn the library's errors into ours."""
    # Numbers of a damaged file that are none come out as voids, or as a place that is nowhere.
    careless = np.errstate(over="ignore", invalid="ignore")
    with warnings.catch_warnings(), rasterio.Env(**_ALONE), careless:
        warnings.simplefilter("ignore", NotGeoreferencedWarning)  # said by us as a fault
        try:
            yield
        except TableError:
            raise
        except (RasterioError, ProjError, ValueError, MemoryError, OverflowError) as error:
            rule = f"{path.name} cannot be read: {shown(error)}"
            raise unreadable(TABLE, rule, "Open it in a GIS and export it again.") from error


def _opened(path: Path, opened: ExitStack) -> DatasetReader:
    if path.suffix.lower() in {HGT_SUFFIX, ZIP_SUFFIX}:
        tile = read_tile(path)
        held = opened.enter_context(MemoryFile(tile.content, filename=tile.name))
        return opened.enter_context(held.open(driver="SRTMHGT"))
    source: DatasetReader = opened.enter_context(rasterio.open(path, driver="GTiff"))
    block = max(math.prod(shape) for shape in source.block_shapes)
    size = block * np.dtype(source.dtypes[0]).itemsize
    refuse_beyond(path, TABLE, size, MAX_BLOCK_BYTES, "bytes in one block")
    if source.count != 1 or np.dtype(source.dtypes[0]).kind not in "iuf":
        rule = f"{path.name} has {source.count} bands of {source.dtypes[0]}, no levels"
        raise unreadable(TABLE, rule, "Give the elevation itself: one band of numbers.")
    return source


def _crs(path: Path, source: DatasetReader) -> CRS:
    if source.crs is None or source.transform.is_identity or source.transform.is_degenerate:
        rule = f"{path.name} does not say where it lies"
        raise unreadable(TABLE, rule, "Export it as GeoTIFF with its coordinate system.")
    return CRS.from_wkt(source.crs.to_wkt())


def _in_feet(path: Path, source: DatasetReader, crs: CRS, unit: LevelUnit | None) -> float:
    """Return what one of the file's levels is in feet."""
    if unit is not None:
        return _UNIT_KEY[unit]
    vertical = [axis.unit_name for part in crs.sub_crs_list for axis in part.axis_info[-1:]]
    said = [source.units[0] or "", vertical[-1] if len(vertical) > 1 else ""]
    known = [_FEET[name.casefold()] for name in said if name.casefold() in _FEET]
    if not known:
        rule = f"{path.name} does not say the unit of its levels"
        raise unreadable(TABLE, rule, 'Set it: [supply_line] dem_unit = "m", or "ft".')
    return known[0]


def _window(
    source: DatasetReader, crs: CRS, bounds: Sequence[float], ground: Ground
) -> Window | None:
    """Return the part of a file that lies around the parcels; None where there is none."""
    west, south, east, north = bounds
    x, y = np.meshgrid(
        np.linspace(west - AROUND_M, east + AROUND_M, 21),
        np.linspace(south - AROUND_M, north + AROUND_M, 21),
    )
    there_x, there_y = ground.to_crs(crs)(x.ravel(), y.ravel())
    into = ~source.transform
    column = into.a * there_x + into.b * there_y + into.c
    row = into.d * there_x + into.e * there_y + into.f
    if not (np.isfinite(column).all() and np.isfinite(row).all()):
        return None
    left, right = _held(column, source.width)
    top, bottom = _held(row, source.height)
    if right <= left or bottom <= top:
        return None
    return Window(left, top, right - left, bottom - top)


def _held(place: npt.NDArray[np.float64], count: int) -> tuple[int, int]:
    """Return the first cell and the one after the last of some places, within the file."""
    first, last = math.floor(place.min()) - 1, math.ceil(place.max()) + 1
    return min(max(first, 0), count), min(max(last, 0), count)


def _read(path: Path, source: DatasetReader, crs: CRS, window: Window, factor: float) -> GridRead:
    refuse_beyond(path, TABLE, window.width * window.height, MAX_READ, "cells around the parcels")
    step = math.ceil(math.sqrt(window.width * window.height / MAX_KEPT))
    rows, columns = (max(1, int(count) // step) for count in (window.height, window.width))
    level = source.read(
        1,
        window=window,
        out_shape=(rows, columns),
        resampling=Resampling.average if step > 1 else Resampling.nearest,
        masked=True,
    )
    known = level.astype(np.float64).filled(np.nan)
    level_ft = (known * source.scales[0] + source.offsets[0]) * factor
    dry = (level_ft >= LOWEST_M / M_PER_FT) & (level_ft <= HIGHEST_M / M_PER_FT)
    wide, high = window.width / columns, window.height / rows
    cells, left, top = source.transform, window.col_off, window.row_off
    averaged = f", {step} × {step} cells averaged into one" if step > 1 else ""
    return GridRead(
        grid=Grid(
            level_ft=np.where(dry, level_ft, np.nan).astype(np.float32),
            crs=crs.to_2d(),
            to_xy=(
                *(cells.a * wide, cells.b * high, cells.a * left + cells.b * top + cells.c),
                *(cells.d * wide, cells.e * high, cells.d * left + cells.e * top + cells.f),
            ),
        ),
        note=f"{path.name}: {level.size:,} ground levels, {int((~dry).sum()):,} void{averaged}",
    )
