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
    columns=(
        *FILL_SITES.columns,
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
