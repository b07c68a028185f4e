"""Pond candidates: water beside a road where a fill site could be made, to be looked at first."""

from dataclasses import replace

from haulshed.tables.fill_sites import FILL_SITES
from haulshed.tables.table import Column, Kind, Table

#: A row is a fill site once someone has been there: its first columns are those of fill_sites, in
#: their order, so that it can be copied there.
POND_CANDIDATES = Table(
    name="pond_candidates",
    meaning="Water beside a road where a fill site could be made; no run uses it.",
    id_column="site_id",
    columns=(
        *(
            replace(
                column, meaning="where the road comes nearest; in a CSV the columns lat and lon"
            )
            if column.kind is Kind.GEOMETRY
            else column
            for column in FILL_SITES.columns
        ),
        Column(
            name="area_ft2",
            kind=Kind.NUMBER,
            unit="ft2",
            above=0,
            required=True,
            meaning="surface of the water as mapped",
        ),
        Column(
            name="road_ft",
            kind=Kind.NUMBER,
            unit="ft",
            at_least=0,
            required=True,
            meaning="from the water's edge to the nearest road that tankers use",
        ),
        Column(name="road_name", kind=Kind.TEXT, default="", meaning="name of that road"),
        Column(
            name="seasonal",
            kind=Kind.YES_NO,
            default_says="not mapped",
            meaning="dry for part of the year",
        ),
    ),
    rules=FILL_SITES.rules,
)
