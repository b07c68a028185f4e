"""The whole district, as the text of each of its files."""

from larkmoor_maker.buildings import drive_roads, make_buildings
from larkmoor_maker.drill import LOG_COLUMNS, drill_rows
from larkmoor_maker.holdings import parcel_rows
from larkmoor_maker.network import road_network
from larkmoor_maker.noding import joined
from larkmoor_maker.options import OPTIONS_TOML
from larkmoor_maker.osm import area_ways, osm_xml
from larkmoor_maker.parcels import make_parcels, moor
from larkmoor_maker.supply import apparatus_rows, site_rows, station_rows, with_ponds
from larkmoor_maker.tables import COLUMNS, DISTRICT_TOML, boundary_text, csv_text, features_text
from larkmoor_maker.village import green, village_outline
from larkmoor_maker.water import waters as dry_waters


def district_files() -> dict[str, str]:
    """Return the text of every file of the district by its name."""
    waters = dry_waters()
    roads = road_network(waters)
    waters = with_ponds(waters, roads)
    parcels = make_parcels(roads, waters)
    buildings = make_buildings(parcels, roads, waters)
    public = [road for road in roads if road.public]
    areas = [
        *area_ways(moor(public), {"natural": "heath", "name": "Lark Moor"}),
        *area_ways(village_outline(), {"landuse": "residential", "name": "Larkmoor"}),
        *area_ways(green(), {"leisure": "park", "name": "Village Green"}),
    ]
    rows = parcel_rows(buildings)
    tables = {
        "fill_sites.csv": site_rows(roads),
        "stations.csv": station_rows(roads),
        "apparatus.csv": apparatus_rows(),
    }
    return {
        "district.toml": DISTRICT_TOML,
        "options.toml": OPTIONS_TOML,
        "roads.osm": osm_xml(joined([*roads, *drive_roads(buildings)]), waters, areas),
        "parcels.geojson": features_text("parcels", [(row, b.parcel.outline) for row, b in rows]),
        "boundary.geojson": boundary_text(),
        "drill.csv": csv_text(LOG_COLUMNS, drill_rows()),
        **{name: csv_text(COLUMNS[name], table) for name, table in tables.items()},
    }
