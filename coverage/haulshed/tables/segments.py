"""Road segments: the road network as the model keeps it, undirected, one row a segment."""

from typing import NewType

import geopandas as gpd

from haulshed.tables.table import Column, Kind, Table

Segments = NewType("Segments", gpd.GeoDataFrame)
"""Segments in the district's projected CRS, in `segment_id` order, in step with a 0-based index."""

SEGMENTS = Table(
    name="segments",
    meaning="Roads between junctions; a segment belongs to one way.",
    id_column="segment_id",
    columns=(
        Column(
            name="segment_id", kind=Kind.WHOLE, required=True, unique=True, meaning="0, 1, 2, …"
        ),
        Column(name="way_id", kind=Kind.WHOLE, required=True, meaning="way in the source file"),
        Column(name="from_node", kind=Kind.WHOLE, required=True, meaning="node of the first point"),
        Column(name="to_node", kind=Kind.WHOLE, required=True, meaning="node of the last point"),
        Column(name="road_class", kind=Kind.TEXT, required=True, meaning="class of the road"),
        Column(name="name", kind=Kind.TEXT, default="", meaning="name or number of the road"),
        Column(
            name="forward_open",
            kind=Kind.YES_NO,
            required=True,
            meaning="may be driven from from_node to to_node; neither way: closed",
        ),
        Column(
            name="backward_open",
            kind=Kind.YES_NO,
            required=True,
            meaning="may be driven from to_node to from_node",
        ),
        Column(
            name="public",
            kind=Kind.YES_NO,
            required=True,
            meaning="tankers may use it; no: a driveway or private road that carries the lay",
        ),
        Column(
            name="may_stop",
            kind=Kind.YES_NO,
            required=True,
            meaning="an access point may be here: no motorway, ramp, bridge or tunnel",
        ),
        Column(name="unpaved", kind=Kind.YES_NO, required=True, meaning="surface is not paved"),
        Column(
            name="posted_mph",
            kind=Kind.NUMBER,
            unit="mph",
            above=0,
            meaning="posted limit; empty: none mapped",
        ),
        Column(name="bridge", kind=Kind.YES_NO, required=True, meaning="is a bridge"),
        Column(
            name="max_weight_lb",
            kind=Kind.NUMBER,
            unit="lb",
            above=0,
            meaning="posted weight of the vehicle as it drives; empty: none mapped",
        ),
        Column(
            name="max_height_ft",
            kind=Kind.NUMBER,
            unit="ft",
            above=0,
            meaning="posted or measured height; empty: none mapped",
        ),
        Column(
            name="max_rated_lb",
            kind=Kind.NUMBER,
            unit="lb",
            above=0,
            meaning="posted weight that a vehicle may be rated for; empty: none mapped",
        ),
        Column(
            name="hgv_allowed",
            kind=Kind.YES_NO,
            required=True,
            meaning="no: closed to heavy goods vehicles by law",
        ),
        Column(
            name="posted_understood",
            kind=Kind.YES_NO,
            required=True,
            meaning="no: a weight or height is mapped that cannot be read",
        ),
        Column(
            name="geometry", kind=Kind.GEOMETRY, required=True, meaning="line in the district's CRS"
        ),
    ),
)
