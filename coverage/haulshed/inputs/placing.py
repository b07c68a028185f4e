"""Putting geometry into the district's coordinates, and noticing what lies in the wrong place."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from pyproj import CRS, Geod, Transformer

from haulshed.inputs.raw_table import Geometries
from haulshed.tables.table import Mask
from haulshed.units import M_PER_MI

#: What is farther than this from the box around the roads is in the wrong place [m].
NEAR_M = 50_000.0
_WGS84 = CRS.from_epsg(4326)
_LAT_MAX = 90.0
_LON_MAX = 180.0

Floats = npt.NDArray[np.float64]
Turn = Callable[[Any, Any], tuple[Any, Any]]
"""Turns coordinates of one system, x and y, into another's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Misplaced:
    """A place that cannot be right."""

    position: int
    value: str
    rule: str
    cure: str
    elsewhere: bool = False  #: the place is sound, but not by the roads


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """Where the roads lie: their coordinate system, and the box around them."""

    crs: CRS
    west_m: float
    south_m: float
    east_m: float
    north_m: float

    @property
    def to_lonlat(self) -> Turn:
        """Turns the district's coordinates into degrees (WGS 84)."""
        return _turn(self.crs, _WGS84)

    def from_crs(self, crs: CRS) -> Turn:
        """Return what turns coordinates of `crs` into the district's."""
        return _turn(crs.to_2d(), self.crs)

    def to_crs(self, crs: CRS) -> Turn:
        """Return what turns the district's coordinates into those of `crs`."""
        return _turn(self.crs, crs.to_2d())

    def near(self, x_m: Floats, y_m: Floats) -> Mask:
        """Return which places are near the roads."""
        gap_x = np.maximum(self.west_m - x_m, x_m - self.east_m)
        gap_y = np.maximum(self.south_m - y_m, y_m - self.north_m)
        gap_m = np.hypot(gap_x.clip(0), gap_y.clip(0))
        return np.asarray(gap_m <= NEAR_M)  # of NaN that is False

    def miles(self, lon: Floats, lat: Floats) -> Floats:
        """Return the distance of places on the globe from the box around the roads [miles]."""
        x_m, y_m = self.from_crs(_WGS84)(lon, lat)
        wild = ~(np.isfinite(x_m) & np.isfinite(y_m))
        near_x = np.where(wild, (self.west_m + self.east_m) / 2, x_m).clip(self.west_m, self.east_m)
        near_y = np.where(wild, (self.south_m + self.north_m) / 2, y_m)
        near_lon, near_lat = self.to_lonlat(near_x, near_y.clip(self.south_m, self.north_m))
        gap_m: Floats = Geod(ellps="WGS84").inv(lon, lat, near_lon, near_lat)[2]
        return gap_m / M_PER_MI


@lru_cache(maxsize=32)  # PROJ takes some 20 ms to make one
def _turn(there: CRS, here: CRS) -> Turn:
    turn: Turn = Transformer.from_crs(there, here, always_xy=True).transform
    return turn


def ground_of(segments: gpd.GeoDataFrame) -> Ground:
    """Return where the roads lie."""
    west_m, south_m, east_m, north_m = map(float, segments.total_bounds)
    return Ground(
        crs=CRS.from_user_input(segments.crs),
        west_m=west_m,
        south_m=south_m,
        east_m=east_m,
        north_m=north_m,
    )


def place_degrees(lat: Floats, lon: Floats, ground: Ground) -> tuple[Geometries, list[Misplaced]]:
    """Return points of latitude and longitude in the district's coordinates; None where NaN."""
    x_m, y_m = ground.from_crs(_WGS84)(lon, lat)
    given = ~(np.isnan(lat) | np.isnan(lon))
    right = _on_globe(lat, lon) & ground.near(x_m, y_m)
    points = np.full(len(lat), None, dtype=object)
    points[right] = shapely.points(x_m[right], y_m[right])
    wrong = given & ~right
    return points, list(_misplaced(lat, lon, wrong, ground))


def place_shapes(
    shapes: Geometries, crs: CRS, ground: Ground
) -> tuple[Geometries, list[Misplaced]]:
    """Return shapes of `crs` in the district's coordinates; None where there is no shape."""
    into = ground.from_crs(crs)
    flat = shapely.transform(shapely.force_2d(shapes), lambda xy: np.column_stack(into(*xy.T)))
    bounds = shapely.bounds(flat)
    given = ~(shapely.is_missing(shapes) | shapely.is_empty(shapes))
    right = (
        ground.near(bounds[:, 0], bounds[:, 1])
        & ground.near(bounds[:, 2], bounds[:, 3])
        & np.isfinite(bounds).all(axis=1)
    )
    wrong = given & ~right
    lat = np.full(len(shapes), np.nan)
    lon = np.full(len(shapes), np.nan)
    globe = _turn(crs.to_2d(), _WGS84)
    for position in wrong.nonzero()[0]:
        lon[position], lat[position] = _farthest(shapes[position], globe, ground)
    flat[~right] = None
    return flat, list(_misplaced(lat, lon, wrong, ground))


def _farthest(
    shape: shapely.Geometry,
    globe: Turn,
    ground: Ground,
) -> tuple[float, float]:
    """Return the corner of a shape that lies farthest from the roads, as longitude and latitude."""
    x, y = shapely.get_coordinates(shape).T
    lon, lat = globe(x, y)
    lost = ~_on_globe(lat, lon)
    gap = np.where(lost, np.inf, ground.miles(np.where(lost, 0, lon), np.where(lost, 0, lat)))
    at = int(gap.argmax())
    # A corner that is nowhere on the globe is named as the file has it.
    return (float(x[at]), float(y[at])) if lost[at] else (float(lon[at]), float(lat[at]))


def _on_globe(lat: Floats, lon: Floats) -> Mask:
    return (np.abs(lat) <= _LAT_MAX) & (np.abs(lon) <= _LON_MAX)


def _misplaced(lat: Floats, lon: Floats, wrong: Mask, ground: Ground) -> Iterable[Misplaced]:
    at = wrong.nonzero()[0]
    if not len(at):
        return
    lat, lon = lat[at], lon[at]
    on_globe, swappable = _on_globe(lat, lon), _on_globe(lon, lat)
    miles = ground.miles(np.where(on_globe, lon, 0), np.where(on_globe, lat, 0))
    swapped_miles = ground.miles(np.where(swappable, lat, 0), np.where(swappable, lon, 0))
    swapped = swappable & (swapped_miles * M_PER_MI <= NEAR_M)
    for one, position in enumerate(map(int, at)):
        rule, cure = _what(swapped[one], on_globe[one], float(miles[one]))
        value = f"{lat[one]:.9g}, {lon[one]:.9g}"
        yield Misplaced(position=position, value=value, rule=rule, cure=cure, elsewhere=True)


def _what(swapped: np.bool_, on_globe: np.bool_, miles: float) -> tuple[str, str]:
    if swapped:
        return "looks swapped: the other way round it is by the roads", "Write lat, then lon."
    if not on_globe:
        return (
            "is not on the globe",
            "lat is -90 to 90 and lon -180 to 180 degrees; a layer in others needs its crs.",
        )
    return (
        f"lies {miles:,.0f} miles from the roads",
        "Is it mistyped, are lat and lon swapped, or is a layer's crs wrong?",
    )
