"""Candidates: places where a fill site could be, before anybody has been there."""

from typing import NewType

import geopandas as gpd

from haulshed.tables.fill_sites import FILL_SITES
from haulshed.tables.table import Column, Kind, Table

Candidates = NewType("Candidates", gpd.GeoDataFrame)
"""Candidates that the table's rules hold for: every column there, defaults filled, projected."""

CANDIDATES = Table(
    name="candidates",
    meaning="Places where a fill site could be; the columns of fill_sites and these.",
    id_column="site_id",
    has_section=False,
    columns=(
        *FILL_SITES.columns,
        Column(
            name="area_ft2",
            kind=Kind.NUMBER,
            unit="ft2",
            above=0,
            meaning="surface of the water as mapped",
        ),
        Column(
            name="road_ft",
            kind=Kind.NUMBER,
            unit="ft",
            at_least=0,
            meaning="from the water's edge to the nearest road that tankers use",
        ),
        Column(name="road_name", kind=Kind.TEXT, meaning="name of that road"),
        Column(name="seasonal", kind=Kind.YES_NO, meaning="dry for part of the year"),
        Column(name="capital", kind=Kind.NUMBER, at_least=0, default=0, meaning="cost, paid once"),
        Column(name="yearly", kind=Kind.NUMBER, default=0, meaning="cost, paid every year"),
        Column(
            name="life_years",
            kind=Kind.NUMBER,
            unit="years",
            above=0,
            default=20,
            meaning="years that it serves",
        ),
        Column(
            name="verify",
            kind=Kind.TEXT,
            default="",
            meaning="what must be seen to on site",
        ),
    ),
    rules=FILL_SITES.rules,
)
