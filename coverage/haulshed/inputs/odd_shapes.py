"""What is said of geometry that is sound but seldom meant: counted, never mended."""

from collections.abc import Iterable, Iterator, Mapping

import numpy as np
import pandas as pd
import shapely

from haulshed.inputs.raw_table import Geometries, RawTable
from haulshed.tables.parcels import PARCELS
from haulshed.tables.table import Mask, Rows, Table
from haulshed.units import M_PER_FT

#: No structure stands on less [ft²], or on a strip that is narrower [ft] (twice the area over the
#: outline's length). Assumption of this project.
SLIVER_FT2 = 100.0
SLIVER_FT = 3.0
#: Rows that one note names.
_ROWS_SHOWN = 5


def notes_on(
    table: Table, places: Mapping[str, Geometries], raw: RawTable, rows: Rows
) -> Iterable[str]:
    """Return what is odd in the geometry of a table, with counts and the first rows."""
    if "geometry" not in places:
        return []
    placed = places["geometry"]
    return [
        f"{what}: {where.sum():,} of {len(where):,} rows ({_first(where, rows)})"
        for where, what in _odd(table, placed, raw)
        if where.any()
    ]


def _odd(table: Table, placed: Geometries, raw: RawTable) -> Iterator[tuple[Mask, str]]:
    if raw.shapes is not None:
        heights = shapely.has_z(raw.shapes.geometry)
        yield heights, "geometry with heights, which are not used"
    if table is not PARCELS:
        return
    yield _same(placed), "the geometry of another row, each kept as a parcel"
    parts = shapely.get_num_geometries(placed) > 1
    yield parts, "several parts, kept as one parcel"
    yield _slivers(placed), f"slivers, under {SLIVER_FT2:g} ft² or {SLIVER_FT:g} ft wide"


def _same(placed: Geometries) -> Mask:
    """Return which geometries stand in more than one row, drawn from whatever corner."""
    drawn, alike = shapely.get_type_id(placed) > shapely.GeometryType.POINT, placed.copy()
    alike[drawn] = shapely.normalize(placed[drawn])
    written = pd.Series(shapely.to_wkb(alike), dtype="object")
    return (written.duplicated(keep=False) & written.notna()).to_numpy()


def _slivers(placed: Geometries) -> Mask:
    area_ft2 = shapely.area(placed) / M_PER_FT**2
    around_ft = shapely.length(placed) / M_PER_FT
    areas = shapely.get_dimensions(placed) == 2  # noqa: PLR2004 — of an area
    return np.asarray(areas & ((area_ft2 < SLIVER_FT2) | (2 * area_ft2 < SLIVER_FT * around_ft)))


def _first(where: Mask, rows: Rows) -> str:
    positions = where.nonzero()[0]
    more = " …" if len(positions) > _ROWS_SHOWN else ""
    return ", ".join(rows.label(int(at)) for at in positions[:_ROWS_SHOWN]) + more
