"""Where a figure comes from: one column beside each figure that may be nobody's measurement."""

from enum import StrEnum

from haulshed.tables.table import Column, Kind


class Source(StrEnum):
    """Who says so."""

    GIVEN = "given"  #: the district: measured, tested, or known to it
    OSM = "osm"  #: mapped in OpenStreetMap
    DEFAULT = "default"  #: nobody: a stated default stands there


def source_column(name: str, of: str) -> Column:
    """Return the column called `name` that says where `of` comes from."""
    return Column(
        name=name,
        kind=Kind.TEXT,
        choices=tuple(Source),
        default=str(Source.GIVEN),
        meaning=f"where {of} comes from; default: nobody measured it",
    )
