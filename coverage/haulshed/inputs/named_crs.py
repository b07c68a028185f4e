"""A coordinate system that the user names in ``district.toml`` or another file of settings."""

from pyproj import CRS
from pyproj.exceptions import CRSError as ProjError

from haulshed.errors import Fault, TableError
from haulshed.tables.table import shown


def named_crs(
    name: str | None, section: str, key: str, *, file: str = "district.toml"
) -> CRS | None:
    """
    Return the coordinate system; None where none is named.

    Raises
    ------
    TableError
        If there is no such system; it names the section and key of `file`.
    """
    try:
        return CRS.from_user_input(name) if name else None
    except ProjError as error:
        fault = Fault(
            table=file,
            row=f"[{section}]",
            column=key,
            value=shown(name),
            rule="is no coordinate system that is known",
            cure="Give its EPSG number, such as EPSG:26916.",
        )
        raise TableError([fault]) from error
