"""A district made by hand: one straight road, so that every leg can be worked out on paper."""

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import geopandas as gpd
import pandas as pd
from shapely import LineString, Point

from haulshed.case import Inputs
from haulshed.scenario import Scenario
from haulshed.tables import fill_sites
from haulshed.tables.apparatus import APPARATUS, Apparatus
from haulshed.tables.fill_sites import FillSites
from haulshed.tables.parcels import PARCELS, Parcels
from haulshed.tables.segments import Segments
from haulshed.tables.stations import STATIONS, Stations
from haulshed.tables.table import Table
from haulshed.units import M_PER_MI

CRS = "EPSG:32615"
#: West end of the road, so that its coordinates are those of a real zone [m].
WEST_M = 400_000.0
NORTH_M = 4_500_000.0

Row = Mapping[str, Any]


def road_point(mile: float, off_m: float = 0.0) -> Point:
    return Point(WEST_M + mile * M_PER_MI, NORTH_M + off_m)


def road(*miles: float) -> Segments:
    """Return one straight tertiary road, 35 mph by our own table, cut at `miles`."""
    frame = pd.DataFrame(
        [
            {
                "segment_id": i,
                "way_id": 1,
                "from_node": i,
                "to_node": i + 1,
                "road_class": "tertiary",
                "name": "Straight Road",
                "forward_open": True,
                "backward_open": True,
                "public": True,
                "may_stop": True,
                "unpaved": False,
                "posted_mph": float("nan"),
                "bridge": False,
                "max_weight_lb": float("nan"),
                "max_height_ft": float("nan"),
                "max_rated_lb": float("nan"),
                "hgv_allowed": True,
                "posted_understood": True,
            }
            for i in range(len(miles) - 1)
        ]
    )
    lines = [LineString([road_point(start), road_point(end)]) for start, end in pairwise(miles)]
    return Segments(gpd.GeoDataFrame(frame, geometry=lines, crs=CRS))


def _names(table: Table) -> list[str]:
    return [column.name for column in table.columns]


def _table(rows: list[Row], columns: list[str]) -> pd.DataFrame:
    frame = pd.DataFrame(rows)
    return frame.reindex(columns=[*columns, *[c for c in frame if c not in columns]])


def _placed(rows: list[Row], columns: list[str]) -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(_table(rows, columns), geometry="geometry", crs=CRS)


def inputs(
    *,
    sites: list[Row],
    stations: list[Row],
    apparatus: list[Row],
    parcels: list[Row],
    scenario: Scenario | None = None,
    segments: Segments | None = None,
) -> Inputs:
    """Return inputs from rows that say only what matters to the test."""

    parcel_frame = _placed(parcels, [*_names(PARCELS), "structure", "access"])
    for name in ("structure", "access"):
        given = [point if isinstance(point, Point) else None for point in parcel_frame[name]]
        parcel_frame[name] = gpd.GeoSeries(given, crs=CRS)
    site_frame = fill_sites.filled(_placed(sites, _names(fill_sites.FILL_SITES)))
    station_frame = STATIONS.with_defaults(_placed(stations, _names(STATIONS)))
    return Inputs(
        name="By hand",
        scenario=scenario or Scenario(),
        segments=segments if segments is not None else road(-5.0, 5.0),
        parcels=Parcels(parcel_frame),
        fill_sites=FillSites(gpd.GeoDataFrame(site_frame, geometry="geometry", crs=CRS)),
        stations=Stations(gpd.GeoDataFrame(station_frame, geometry="geometry", crs=CRS)),
        apparatus=Apparatus(APPARATUS.with_defaults(_table(apparatus, _names(APPARATUS)))),
        road_notes={},
    )


def tanker(number: int, **changes: Any) -> Row:
    """Return a 2,000-gal tanker of the rules of thumb, with `changes`."""
    return {
        "unit_id": f"T{number}",
        "station_id": "S1",
        "kind": "tanker",
        "tank_gal": 2000.0,
        "fill_gpm": 1000.0,
        "dump_gpm": 1000.0,
        "pump_gpm": 750.0,
        "tank_to_pump_gpm": 500.0,
    } | changes


def engine(number: int, **changes: Any) -> Row:
    """Return an engine with 1,000 ft of 5-in hose, with `changes`."""
    return {
        "unit_id": f"E{number}",
        "station_id": "S1",
        "kind": "engine",
        "tank_gal": 1000.0,
        "pump_gpm": 1500.0,
        "supply_hose_ft": 1000.0,
        "supply_hose_in": 5.0,
    } | changes


def hydrant(name: str, mile: float, **changes: Any) -> Row:
    """Return a hydrant of 1,000 gpm, handled in 2.0 min, with `changes`."""
    return {
        "site_id": name,
        "kind": "hydrant",
        "geometry": road_point(mile),
        "flow_gpm": 1000.0,
        "fill_positions": 2,
        "handling_min": 2.0,
    } | changes


def station(**changes: Any) -> Row:
    """Return a station a tenth of a mile from the parcel, with `changes`."""
    return {"station_id": "S1", "geometry": road_point(0.1), "aid": "own"} | changes


def parcel(**changes: Any) -> Row:
    """Return a parcel at mile 0 with a lay of 100 ft, with `changes`."""
    return {"parcel_id": "P1", "geometry": road_point(0.0, 20.0), "lay_ft": 100.0} | changes
