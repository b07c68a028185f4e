"""Parcels: the properties that the district answers for."""

from typing import NewType

import geopandas as gpd
import pandas as pd

from haulshed.tables.table import Column, Kind, Rule, Table

Parcels = NewType("Parcels", gpd.GeoDataFrame)
"""
Parcels that the table's rules hold for: every column there, projected.

Two more geometry columns, each empty where the user gave none: `structure` (from structure_lat,
structure_lon) and `access` (from access_lat, access_lon).
"""


def _half(one: str, other: str) -> Rule:
    def broken(frame: pd.DataFrame) -> "pd.Series[bool]":
        return frame[one].isna() != frame[other].isna()

    return Rule(
        column=one,
        broken=broken,
        rule=f"and {other} must both be given or both be empty",
        cure="Fill in the other one, or empty both.",
    )


PARCELS = Table(
    name="parcels",
    meaning="The properties that the district answers for.",
    id_column="parcel_id",
    columns=(
        Column(
            name="parcel_id",
            kind=Kind.TEXT,
            required=True,
            unique=True,
            meaning="the county's own number for the parcel",
        ),
        Column(
            name="geometry",
            kind=Kind.GEOMETRY,
            required=True,
            meaning="polygon or point; or the columns lat and lon, x and y, or wkt",
        ),
        Column(
            name="structure_lat",
            kind=Kind.NUMBER,
            at_least=-90,
            at_most=90,
            meaning="the main structure, degrees north",
            default_says="on the main building, else a point within the parcel",
        ),
        Column(
            name="structure_lon",
            kind=Kind.NUMBER,
            at_least=-180,
            at_most=180,
            meaning="the main structure, degrees east",
            default_says="on the main building, else a point within the parcel",
        ),
        Column(
            name="access_lat",
            kind=Kind.NUMBER,
            at_least=-90,
            at_most=90,
            meaning="where the driveway meets the road, degrees north",
            default_says="nearest place on a public way, one that touches the parcel first",
        ),
        Column(
            name="access_lon",
            kind=Kind.NUMBER,
            at_least=-180,
            at_most=180,
            meaning="where the driveway meets the road, degrees east",
            default_says="nearest place on a public way, one that touches the parcel first",
        ),
        Column(
            name="lay_ft",
            kind=Kind.NUMBER,
            unit="ft",
            above=0,
            at_most=50000,
            meaning="hose from the road to the structure",
            default_says="along the mapped driveway, else straight distance times detour",
        ),
        Column(
            name="structures",
            kind=Kind.WHOLE,
            at_least=0,
            at_most=10000,
            meaning="structures on the parcel; 0: none, so nothing is needed",
            default_says="counted on the footprints, else not known",
        ),
        Column(
            name="floor_area_ft2",
            kind=Kind.NUMBER,
            unit="ft2",
            above=0,
            at_most=5_000_000,
            meaning="ground floor area of the main structure",
            default_says="the main building's footprint, else demand.default_floor_area_ft2",
        ),
        Column(
            name="stories",
            kind=Kind.NUMBER,
            above=0,
            at_most=60,
            meaning="storeys of the main structure",
            default_says="the main building's, else demand.default_stories",
        ),
        Column(
            name="height_ft",
            kind=Kind.NUMBER,
            unit="ft",
            above=0,
            at_most=600,
            meaning="mean height of the main structure, half the roof's rise included",
            default_says="the main building's, else stories and demand.story_height_ft",
        ),
        Column(
            name="occupancy_hazard",
            kind=Kind.WHOLE,
            at_least=3,
            at_most=7,
            meaning="occupancy hazard class, 3 (severe) to 7 (light)",
            default_says="demand.default_occupancy_hazard",
        ),
        Column(
            name="construction_class",
            kind=Kind.NUMBER,
            at_least=0.5,
            at_most=1.5,
            meaning="construction class factor, 0.5 (fire resistive) to 1.5 (wood frame)",
            default_says="demand.default_construction_class",
        ),
        Column(
            name="exposure",
            kind=Kind.YES_NO,
            meaning="another structure stands close enough to count as an exposure",
            default_says="demand.default_exposure",
        ),
        Column(
            name="exposure_ft",
            kind=Kind.NUMBER,
            unit="ft",
            at_least=0,
            at_most=1_000_000,
            meaning="distance to the nearest other structure of 100 ft² or more: an exposure up to"
            " 50 ft, where the column exposure is empty",
            default_says="measured between buildings, else demand.default_exposure",
        ),
        Column(
            name="exposure_any_ft",
            kind=Kind.NUMBER,
            unit="ft",
            at_least=0,
            at_most=1_000_000,
            meaning="distance to the nearest other structure of any size, which counts for"
            " occupancy hazard classes 3 and 4",
            default_says="measured between buildings, else exposure_ft",
        ),
        Column(
            name="spacing_ft",
            kind=Kind.NUMBER,
            unit="ft",
            at_least=0,
            at_most=100_000,
            meaning="distance to the nearest other dwelling, for the dwelling-spacing method",
            default_says="measured between main buildings, else demand.default_spacing_ft",
        ),
        Column(
            name="needed_gpm",
            kind=Kind.NUMBER,
            unit="gpm",
            at_least=0,
            at_most=20000,
            meaning="needed flow by the district's own finding, for the method column",
        ),
        Column(
            name="people",
            kind=Kind.WHOLE,
            at_least=0,
            at_most=100_000,
            meaning="people living there",
        ),
        Column(
            name="area",
            kind=Kind.TEXT,
            meaning="township, ward or other area by which papers count; none given: by first_due",
        ),
        Column(name="value", kind=Kind.NUMBER, at_least=0, meaning="assessed value, any currency"),
    ),
    rules=(_half("structure_lat", "structure_lon"), _half("access_lat", "access_lon")),
)
