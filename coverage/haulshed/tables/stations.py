"""Stations: where apparatus starts from."""

from typing import NewType

import geopandas as gpd

from haulshed.tables.table import Column, Kind, Table

Stations = NewType("Stations", gpd.GeoDataFrame)
"""Stations that the table's rules hold for: every column there, defaults filled, projected."""

STATIONS = Table(
    name="stations",
    meaning="Where apparatus starts from.",
    id_column="station_id",
    columns=(
        Column(
            name="station_id",
            kind=Kind.TEXT,
            required=True,
            unique=True,
            meaning="the district's own number for the station",
        ),
        Column(name="name", kind=Kind.TEXT, default="", meaning="name on the map"),
        Column(
            name="geometry",
            kind=Kind.GEOMETRY,
            required=True,
            meaning="the station; or the columns lat and lon, x and y, or wkt",
        ),
        Column(
            name="aid",
            kind=Kind.TEXT,
            choices=("own", "automatic", "mutual"),
            default="own",
            meaning="how the station comes to be called",
        ),
        Column(
            name="turnout_min",
            kind=Kind.NUMBER,
            unit="min",
            at_least=0,
            at_most=120,
            meaning="from dispatch to rolling",
            default_says="operation.turnout_min",
        ),
    ),
)
