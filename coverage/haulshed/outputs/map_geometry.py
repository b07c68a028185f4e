"""Geometry as the map carries it: whole millionths of a degree, differences, no detail unseen."""

from collections.abc import Sequence

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
        simple = shapely.simplify(geometry.to_numpy(), SIMPLIFIED_M)
        parts, owner_of_part = shapely.get_parts(simple, return_index=True)
        rings, part_of_ring = shapely.get_rings(parts, return_index=True)
        plain = np.flatnonzero(shapely.get_type_id(parts) != shapely.GeometryType.POLYGON)
        lines = np.concatenate((rings, parts[plain]))
        owners = owner_of_part[np.concatenate((part_of_ring, plain)).astype(np.intp)]
        whole = self._whole(self._degrees(shapely.get_coordinates(lines)))
        ends = np.cumsum(shapely.get_num_coordinates(lines))
        shapes: list[list[Line]] = [[] for _ in range(len(geometry))]
        for start, end, owner in zip(ends - np.diff(ends, prepend=0), ends, owners, strict=True):
            line = np.diff(whole[start:end], axis=0, prepend=0)
            moves = np.asarray(line.any(axis=1))
            moves[0] = True
            shapes[owner].append(line[moves].ravel().tolist())
        return shapes

    def _degrees(self, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack(self._to_degrees.transform(xy_m[:, 0], xy_m[:, 1]))

    def _whole(self, lon_lat: NDArray[np.float64]) -> NDArray[np.int64]:
        east = (lon_lat[:, 0] - self.middle_lon + 180) % 360 - 180 + self.middle_lon
        scaled = np.column_stack((east, lon_lat[:, 1])) * PER_DEGREE
        return np.rint(np.nan_to_num(scaled)).astype(np.int64)
