"""What a table's geometry must be: of the right kind, not empty, not crossing itself."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from pyproj import CRS

from haulshed.errors import CrsError
from haulshed.inputs.placing import Ground, Misplaced, Turn, place_shapes
from haulshed.inputs.raw_table import Geometries, Shapes
from haulshed.tables.table import shown

_POINT = shapely.GeometryType.POINT
_MULTI_POINT = shapely.GeometryType.MULTIPOINT
_AREAS = (shapely.GeometryType.POLYGON, shapely.GeometryType.MULTIPOLYGON)
#: The kinds of geometry that a table may hold, and what they are called.
POINTS = ((_POINT,), "a point")
POINTS_OR_AREAS = ((_POINT, *_AREAS), "a polygon or a point")
AREAS = (_AREAS, "a polygon")

Accepted = tuple[tuple[shapely.GeometryType, ...], str]
_AT = re.compile(r"\[(\S+) (\S+)\]")
#: What helps where no key takes a coordinate system.
SAVED_WITH_CRS = "Save it in a format that does, such as GeoPackage."


@dataclass(frozen=True, slots=True)
class Called:
    """How messages call a file, and what to do where it says no coordinate system."""

    name: str
    crs_cure: str

    def said(self, crs: CRS | None, of: str) -> CRS:
        """Return the coordinate system; where it is None, complain that `of` it is not said."""
        if crs is None:
            msg = f"{self.name} does not say the coordinate system of {of}. {self.crs_cure}"
            raise CrsError(msg)
        return crs


def checked_shapes(
    shapes: Shapes, accepted: Accepted, ground: Ground, *, called: Called
) -> tuple[Geometries, list[Misplaced]]:
    """
    Return a layer's geometry in the district's coordinates, and what is wrong with it.

    A shape that is at fault is None.

    Raises
    ------
    CrsError
        If the layer does not say its coordinate system.
    """
    crs = called.said(shapes.crs, "its geometry")
    single = _without_lone_multis(shapes.geometry)
    wrong = list(_wrong_kinds(single, accepted))
    whole = single.copy()
    whole[[fault.position for fault in wrong]] = None
    placed, misplaced = place_shapes(whole, crs, ground)
    crossing = list(_crossing(placed, ground))
    placed[[fault.position for fault in crossing]] = None
    return placed, [*wrong, *misplaced, *crossing]


def _without_lone_multis(shapes: Geometries) -> Geometries:
    """Return the shapes with each multipoint of one point as that point."""
    lone = (shapely.get_type_id(shapes) == _MULTI_POINT) & (shapely.get_num_geometries(shapes) == 1)
    single = shapes.copy()
    single[lone] = shapely.get_geometry(shapes[lone], 0)
    return single


def _wrong_kinds(shapes: Geometries, accepted: Accepted) -> Iterable[Misplaced]:
    kinds, called = accepted
    empty = shapely.is_missing(shapes) | shapely.is_empty(shapes)
    wrong = ~np.isin(shapely.get_type_id(shapes), kinds)
    for position in map(int, (empty | wrong).nonzero()[0]):
        kind = "" if empty[position] else shapes[position].geom_type
        yield Misplaced(
            position=position,
            value=kind,
            rule="is empty or cannot be read" if empty[position] else f"must be {called}",
            cure="Draw it again, or delete the row." if empty[position] else f"Draw {called}.",
        )


def _crossing(placed: Geometries, ground: Ground) -> Iterable[Misplaced]:
    """Yield the shapes that are not valid areas; they are never mended in silence."""
    for position in map(int, (~shapely.is_valid(placed)).nonzero()[0]):
        if placed[position] is not None:
            reason = shapely.is_valid_reason(placed[position])
            said, at = _AT.sub("", reason).strip(), _AT.search(reason)
            yield Misplaced(
                position=position,
                value="",
                rule=f"is no sound area: {shown(said).lower()}{_degrees(at, ground.to_lonlat)}",
                cure="Mend the outline in a GIS (a tool called fix or check geometries).",
            )


def _degrees(at: "re.Match[str] | None", to_lonlat: Turn) -> str:
    if at is None:
        return ""
    lon, lat = to_lonlat(float(at[1]), float(at[2]))
    return f" at lat {lat:.6f}, lon {lon:.6f}"
