"""The tables as text: CSV, GeoJSON with one feature a line, and the district's settings."""

import csv
import json
from collections.abc import Mapping, Sequence
from io import StringIO

import shapely
from shapely import Polygon

from larkmoor_maker.frame import boundary, degrees

DISTRICT_TOML = """\
# Larkmoor: an invented district, laid in open ocean on purpose. Every key that is not here has its
# default; `haulshed columns` lists them all.

[district]
name = "Larkmoor"
boundary = "boundary.geojson"
units = "us"
crs = "auto"

[roads]
file = "roads.osm"
credit = "Roads invented with the district"

[parcels]
file = "parcels.geojson"

[fill_sites]
file = "fill_sites.csv"

[stations]
file = "stations.csv"

[apparatus]
file = "apparatus.csv"

[demand]
method = "volume"

# Every station that would come if asked.
[scenario.all_aid.operation]
aid = ["own", "automatic", "mutual"]

# July, south of the equator: ponds frozen, roads slow, crews slow to turn out.
[scenario.winter.operation]
month = 7
turnout_min = 7

[scenario.winter.roads]
max_mph = 35
unpaved_factor = 0.6

# The end of a dry summer: the ford is dry, and ponds and streams hold two fifths.
[scenario.drought.operation]
month = 2
drought_factor = 0.4

# Moor Road's bridge is out, and the village and its mains are on one side of it.
[scenario.bridge_closed.roads]
closed_ways = [27]

# Three things at once: a dump valve stuck, a tanker that breaks down, a landing that floods.
[scenario.bad_night.failures]
dump_valve_fails = ["T-12"]
breaks_down_min = { T-13 = 45 }
site_closes_min = { DH-1 = 60 }
"""

_SITE_COLUMNS = (
    "site_id", "name", "kind", "lat", "lon", "flow_gpm", "static_psi", "residual_psi",
    "test_flow_gpm", "usable_gal", "recharge_gpm", "source_id", "fill_positions", "handling_min",
    "open_months", "status", "all_weather", "lift_ft", "head_loss_ft", "certificate",
    "certified_year",
)  # fmt: skip
_STATION_COLUMNS = ("station_id", "name", "lat", "lon", "aid", "turnout_min")
_APPARATUS_COLUMNS = (
    "unit_id", "station_id", "kind", "tank_gal", "fill_gpm", "dump_gpm", "pump_gpm",
    "tank_to_pump_gpm", "portable_tank_gal", "supply_hose_ft", "supply_hose_in", "weight_lb",
    "empty_weight_lb", "crew", "alarm", "staffed_share",
)  # fmt: skip
COLUMNS = {
    "fill_sites.csv": _SITE_COLUMNS,
    "stations.csv": _STATION_COLUMNS,
    "apparatus.csv": _APPARATUS_COLUMNS,
}


def csv_text(columns: Sequence[str], rows: Sequence[Mapping[str, object]]) -> str:
    """Return rows as CSV; a cell that a row does not have is empty."""
    out = StringIO()
    writer = csv.DictWriter(out, columns, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def features_text(name: str, features: Sequence[tuple[Mapping[str, object], Polygon]]) -> str:
    """Return features in degrees as GeoJSON, one a line so that a difference can be read."""
    lines = ",\n".join(
        json.dumps(
            {"type": "Feature", "properties": dict(row), "geometry": _geometry(outline)},
            ensure_ascii=False,
            separators=(",", ":"),
        )
        for row, outline in features
    )
    head = json.dumps({"type": "FeatureCollection", "name": name})[:-1]
    return f'{head}, "features": [\n{lines}\n]}}\n'


def boundary_text() -> str:
    """Return the district's outline as GeoJSON."""
    return features_text("boundary", [({"name": "Larkmoor"}, boundary())])


def _geometry(outline: Polygon) -> dict[str, object]:
    """Return an outline as a GeoJSON geometry in degrees, its shell anticlockwise."""
    turned = shapely.orient_polygons(outline)
    rings = [turned.exterior, *turned.interiors]
    return {"type": "Polygon", "coordinates": [degrees(ring.coords) for ring in rings]}
