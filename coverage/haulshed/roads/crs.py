"""The district's coordinate system: projected, in metres, true to length where the roads are."""

from dataclasses import dataclass
from math import floor, inf

import numpy as np
from numpy.typing import NDArray
from pyproj import CRS, Geod, Transformer
from pyproj.exceptions import CRSError as ProjError

from haulshed.errors import CrsError

#: Largest error of length [share] that we accept at the roads' middle; UTM stays under 0.001.
LENGTH_ERROR_MAX = 0.02

#: UTM is defined between these latitudes [degrees].
UTM_SOUTH, UTM_NORTH = -80.0, 84.0

_ELLIPSOID = Geod(ellps="WGS84")


@dataclass(frozen=True, slots=True, kw_only=True)
class Middle:
    """Middle of the roads, degrees east and north (WGS 84)."""

    lon: float
    lat: float


def middle(lon: NDArray[np.float64], lat: NDArray[np.float64]) -> Middle:
    """
    Return the mean place; longitudes are averaged around the circle, so ±180° is no edge.

    Examples
    --------
    >>> round(abs(middle(np.array([179.0, -179.0]), np.array([0.0, 0.0])).lon), 9)
    180.0
    """
    angle = np.radians(lon)
    east = np.degrees(np.arctan2(np.sin(angle).mean(), np.cos(angle).mean()))
    return Middle(lon=float(east), lat=float(lat.mean()))


def utm_epsg(place: Middle) -> int:
    """
    Return the EPSG code of the UTM zone of `place`, on WGS 84.

    Raises
    ------
    CrsError
        If UTM is not defined there.

    Examples
    --------
    >>> utm_epsg(Middle(lon=-87.4, lat=39.5)), utm_epsg(Middle(lon=179.9, lat=-17.0))
    (32616, 32760)
    """
    if not UTM_SOUTH <= place.lat <= UTM_NORTH:
        msg = (
            f"crs = auto takes a UTM zone, and there is none at latitude {place.lat:.1f}. Give"
            " crs as the EPSG code of a projected system in metres."
        )
        raise CrsError(msg)
    zone = floor((place.lon + 180) / 6) % 60 + 1
    return (32600 if place.lat >= 0 else 32700) + zone


def district_crs(crs: str, place: Middle) -> CRS:
    """
    Return the coordinate system that `crs` names; ``auto`` is the UTM zone of `place`.

    Raises
    ------
    CrsError
        If it is unknown, not projected, not in metres, or not true to length at `place`.
    """
    if crs.strip().lower() == "auto":
        return CRS.from_epsg(utm_epsg(place))
    try:
        named = CRS.from_user_input(crs)
    except ProjError as error:
        msg = f"crs = {crs} is no coordinate system that PROJ knows. {_cure(place)}"
        raise CrsError(msg) from error
    fault = _fault(named, place)
    if fault:
        msg = f"crs = {crs} ({named.name}) {fault}. {_cure(place)}"
        raise CrsError(msg)
    return named


def project(
    crs: CRS, place: Middle, lon: NDArray[np.float64], lat: NDArray[np.float64]
) -> NDArray[np.float64]:
    """
    Return x and y [m] of places around `place`, shape (n, 2).

    PROJ counts longitudes from the system's own meridian, so roads across ±180° stay together.

    Raises
    ------
    CrsError
        If a place has no x and y in `crs`.
    """
    x, y = Transformer.from_crs(4326, crs, always_xy=True).transform(lon, lat)
    xy = np.column_stack((x, y))
    if not np.isfinite(xy).all():
        msg = f"Some roads lie outside the area of {crs.name}. {_cure(place)}"
        raise CrsError(msg)
    return xy


def _cure(place: Middle) -> str:
    try:
        zone = utm_epsg(place)
    except CrsError as error:
        return str(error)
    return f"Give 'auto', or a projected system in metres such as EPSG:{zone} (UTM)."


def _fault(crs: CRS, place: Middle) -> str:
    """Return why lengths in `crs` would be wrong, or nothing."""
    if not crs.is_projected:
        return "is not a projected system: its lengths would be in degrees"
    units = {axis.unit_name for axis in crs.axis_info}
    if units != {"metre"}:
        return f"is in {', '.join(sorted(units))}, not in metres"
    operation = crs.coordinate_operation
    method = operation.method_name if operation else ""
    if "Mercator" in method and "Transverse" not in method and "Oblique" not in method:
        return "is a Mercator map: its lengths grow toward the poles"
    error = _length_error(crs, place)
    if error == inf:
        return "does not reach the roads"
    if error > LENGTH_ERROR_MAX:
        return (
            f"gets lengths wrong by {error:.0%} at the roads (longitude {place.lon:.1f},"
            f" latitude {place.lat:.1f})"
        )
    return ""


def _length_error(crs: CRS, place: Middle) -> float:
    """Return the larger error of length [share] of 1 km east and north; inf: not on the map."""
    true_m = 1000.0
    lon, lat, _ = _ELLIPSOID.fwd([place.lon] * 2, [place.lat] * 2, [90.0, 0.0], [true_m] * 2)
    x, y = Transformer.from_crs(4326, crs, always_xy=True).transform(
        np.array([place.lon, *lon]), np.array([place.lat, *lat])
    )
    if not np.isfinite([x, y]).all():
        return inf
    mapped_m = np.hypot(x[1:] - x[0], y[1:] - y[0])
    return float(np.abs(mapped_m / true_m - 1).max())
