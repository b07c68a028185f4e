"""A box on the globe, as the user names it."""

from dataclasses import dataclass

from haulshed.errors import InputError

#: Farthest longitude and latitude [degrees].
LON_MAX, LAT_MAX = 180, 90


@dataclass(frozen=True, slots=True, kw_only=True)
class Bbox:
    """
    A box, degrees east and north (WGS 84).

    Raises
    ------
    InputError
        If it is no box on the globe.

    Examples
    --------
    >>> Bbox(west=-87.5, south=39.4, east=-87.3, north=39.6).west
    -87.5
    """

    west: float
    south: float
    east: float
    north: float

    def __post_init__(self) -> None:
        """Refuse what is no box; NaN is none either."""
        wide = -LON_MAX <= self.west < self.east <= LON_MAX
        high = -LAT_MAX <= self.south < self.north <= LAT_MAX
        if wide and high:
            return
        msg = (
            f"bbox = {self} is no box. Give west, south, east, north in degrees, west less than"
            " east and south less than north; across ±180° use a file instead."
        )
        raise InputError(msg)

    def __str__(self) -> str:
        """Return the four sides as the user gives them."""
        return f"{self.west:g}, {self.south:g}, {self.east:g}, {self.north:g}"
