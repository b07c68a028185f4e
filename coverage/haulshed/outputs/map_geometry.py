"""Geometry as the map carries it: whole millionths of a degree, differences, no detail unseen."""

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS, Transformer

#: Outlines are drawn to within this, less than a pixel at any scale of the map [m].
SIMPLIFIED_M = 0.5
PER_DEGREE = 1_000_000
_WGS84 = 4326

#: A line or ring: its first position, then the difference of each further one to the one before.
Line = list[int]


class Degrees:
    """Turns geometry of one district [m] into the map's whole numbers, across 180° if need be."""

    def __init__(self, layers: Sequence[gpd.GeoDataFrame], crs: CRS) -> None:
        self._to_degrees = Transformer.from_crs(crs, _WGS84, always_xy=True)
        boxes = np.array([layer.total_bounds for layer in layers if len(layer)]).reshape(-1, 4)
        if len(boxes):
            low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
            self.middle_lon = float(self._to_degrees.transform(*(low + high) / 2)[0])
        else:
            self.middle_lon = 0.0

    def places(self, lon_lat: NDArray[np.float64]) -> list[Line]:
        """Return positions (n, 2) [degrees] as lists of two, empty where there is none."""
        whole = self._whole(lon_lat)
        there = np.asarray(np.isfinite(lon_lat).all(axis=1))
        return [p.tolist() if is_there else [] for p, is_there in zip(whole, there, strict=True)]

    def points(self, geometry: gpd.GeoSeries) -> list[Line]:
        """Return the place of each geometry as a list of two."""
        inside = shapely.point_on_surface(geometry.to_numpy())
        return self.places(self._degrees(shapely.get_coordinates(inside)))

    def shapes(self, geometry: gpd.GeoSeries) -> list[list[Line]]:
        """Return the lists of each geometry: rings of an area, lines, single places."""
        drawn = self._drawn(geometry)
        moves = drawn.moves()
        moves[drawn.starts] = drawn.places[drawn.starts]
        flat = moves.ravel().tolist()
        shapes: list[list[Line]] = [[] for _ in range(len(geometry))]
        ends = (drawn.starts + drawn.sizes).tolist()
        for owner, start, end in zip(drawn.owners.tolist(), drawn.starts, ends, strict=True):
            shapes[owner].append(flat[2 * start : 2 * end])
        return shapes

    def outlines(self, geometry: gpd.GeoSeries) -> "Outlines":
        """Return the same as columns, which take less room."""
        drawn = self._drawn(geometry)
        first = np.zeros((len(geometry), 2), dtype=np.int64)
        owners, lines = np.unique(drawn.owners, return_index=True)
        first[owners] = drawn.places[drawn.starts[lines]]
        return Outlines(
            lines=np.bincount(drawn.owners, minlength=len(geometry)),
            points=drawn.sizes,
            moves=drawn.moves().ravel(),
            first=first,
        )

    def away(
        self, lon_lat: NDArray[np.float64], first: NDArray[np.int64]
    ) -> dict[str, list[int | None]]:
        """Return how far east and north of `first` positions are, None where there is none."""
        away = self._whole(lon_lat) - first
        east: list[int | None] = away[:, 0].tolist()
        north: list[int | None] = away[:, 1].tolist()
        for row in np.flatnonzero(~np.isfinite(lon_lat).all(axis=1)).tolist():
            east[row] = north[row] = None
        return {"east": east, "north": north}

    def _drawn(self, geometry: gpd.GeoSeries) -> "_Drawn":
        parts, owner_of_part = _parts(_simplified(geometry.to_numpy()))
        area = shapely.get_type_id(parts) == shapely.GeometryType.POLYGON
        rings, area_of_ring = shapely.get_rings(parts[area], return_index=True)
        owners = np.concatenate((owner_of_part[area][area_of_ring], owner_of_part[~area]))
        order = np.argsort(owners, kind="stable")
        lines = np.concatenate((rings, parts[~area]))[order]
        xy_m, line = shapely.get_coordinates(lines, return_index=True)
        places = self._whole(self._degrees(xy_m))
        begins = np.diff(line, prepend=-1) > 0
        kept = begins | np.asarray(np.diff(places, axis=0, prepend=0).any(axis=1))
        sizes = np.bincount(line[kept], minlength=len(lines))
        return _Drawn(places=places[kept], sizes=sizes, owners=owners[order].astype(np.int64))

    def _degrees(self, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack(self._to_degrees.transform(xy_m[:, 0], xy_m[:, 1]))

    def _whole(self, lon_lat: NDArray[np.float64]) -> NDArray[np.int64]:
        east = (lon_lat[:, 0] - self.middle_lon + 180) % 360 - 180 + self.middle_lon
        scaled = np.column_stack((east, lon_lat[:, 1])) * PER_DEGREE
        return np.rint(np.nan_to_num(scaled)).astype(np.int64)


def _simplified(shapes: NDArray[np.object_]) -> NDArray[np.object_]:
    """Return shapes without the detail that nobody sees; areas stay areas, which takes longer."""
    simple = shapes.copy()
    line = shapely.get_dimensions(shapes) == 1
    simple[line] = shapely.simplify(shapes[line], SIMPLIFIED_M, preserve_topology=False)
    simple[~line] = shapely.simplify(shapes[~line], SIMPLIFIED_M)
    return simple


def _parts(shapes: NDArray[np.object_]) -> tuple[NDArray[np.object_], NDArray[np.int64]]:
    """Return the single shapes that shapes consist of, and which one each is of."""
    several = shapely.get_type_id(shapes) >= shapely.GeometryType.MULTIPOINT
    parts, owner = shapely.get_parts(shapes[several], return_index=True)
    single = np.flatnonzero(~several & ~shapely.is_missing(shapes))
    owners = np.concatenate((single, np.flatnonzero(several)[owner]))
    return np.concatenate((shapes[single], parts)), owners


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlines:
    """
    The outlines of a table as columns.

    Attributes
    ----------
    lines, points
        How many lines a row has; how many positions a line has.
    moves
        East and north, by turns: each position's difference to the one before, across lines and
        rows; the very first one's to 0, 0.
    first
        The first position of each row, (n, 2); 0, 0 where it has none.
    """

    lines: NDArray[np.int64]
    points: NDArray[np.int64]
    moves: NDArray[np.int64]
    first: NDArray[np.int64]

    def columns(self) -> dict[str, NDArray[np.int64]]:
        """Return what the map carries."""
        return {"lines": self.lines, "points": self.points, "moves": self.moves}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawn:
    """Lines in the order of their owners, positions that repeat left out."""

    places: NDArray[np.int64]  #: (positions, 2)
    sizes: NDArray[np.int64]  #: positions of each line
    owners: NDArray[np.int64]  #: row that each line belongs to

    @property
    def starts(self) -> NDArray[np.int64]:
        """The first position of each line."""
        return np.asarray(np.cumsum(self.sizes) - self.sizes, dtype=np.int64)

    def moves(self) -> NDArray[np.int64]:
        """Return each position's difference to the one before."""
        return np.diff(self.places, axis=0, prepend=0)
