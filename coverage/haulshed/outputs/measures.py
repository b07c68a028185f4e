"""A table in the unit system of the user's choice: headers and values change together."""

from collections.abc import Iterable, Mapping
from typing import TypeVar

import pandas as pd

from haulshed.tables.answers import ANSWERS
from haulshed.tables.apparatus import APPARATUS
from haulshed.tables.candidates import CANDIDATES
from haulshed.tables.comparison import COMPARISON
from haulshed.tables.evidence import EVIDENCE, SOURCE_EVIDENCE
from haulshed.tables.fill_sites import FILL_SITES
from haulshed.tables.parcels import PARCELS
from haulshed.tables.segments import SEGMENTS
from haulshed.tables.stations import STATIONS
from haulshed.units import SI_SUFFIX, System, factor_between, split_header

Frame = TypeVar("Frame", bound=pd.DataFrame)

_TABLES = (
    *(ANSWERS, FILL_SITES, STATIONS, APPARATUS, SEGMENTS, PARCELS),
    *(COMPARISON, CANDIDATES, EVIDENCE, SOURCE_EVIDENCE),
)
_UNIT_OF = {column.name: column.unit for table in _TABLES for column in table.columns}


def unit_of(header: str) -> str | None:
    """
    Return the unit of a column by its table, else by the end of its header.

    Examples
    --------
    >>> unit_of("road_miles_to_site"), unit_of("rate_gpm"), unit_of("site_id")
    ('miles', 'gpm', None)
    """
    if header in _UNIT_OF:
        return _UNIT_OF[header]
    unit = split_header(header)[1]
    return unit.suffix if unit else None


def header_in(header: str, system: System) -> str:
    """
    Return the header of a US column in `system`.

    Examples
    --------
    >>> header_in("road_miles_to_site", System.SI), header_in("lay_ft", System.SI)
    ('road_km_to_site', 'lay_m')
    >>> header_in("lay_ft", System.US)
    'lay_ft'
    """
    unit = unit_of(header)
    if system is System.US or unit not in SI_SUFFIX:
        return header
    parts = header.split("_")
    last = len(parts) - 1 - parts[::-1].index(unit)
    return "_".join((*parts[:last], SI_SUFFIX[unit], *parts[last + 1 :]))


def headers_in(headers: Iterable[str], system: System) -> Mapping[str, str]:
    """Return the header in `system` of each US header."""
    return {header: header_in(header, system) for header in headers}


def converted(frame: Frame, system: System) -> Frame:
    """Return `frame`, US units, with headers and values in `system`."""
    if system is System.US:
        return frame
    factors = {
        header: factor_between(unit, SI_SUFFIX[unit])
        for header in frame.columns
        if (unit := unit_of(header)) in SI_SUFFIX
    }
    return frame.assign(**{h: frame[h] * factor for h, factor in factors.items()}).rename(
        columns=headers_in(frame.columns, system)
    )
