"""Stations as mapped, and the apparatus that stands in for what nobody has listed yet."""

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd
import shapely

from haulshed.survey.defaults import ENGINE, TANKER
from haulshed.survey.outline import Outline, inside
from haulshed.survey.place import Place, is_station
from haulshed.survey.roadside import in_degrees, in_metres, roadside
from haulshed.tables.apparatus import APPARATUS
from haulshed.tables.segments import Segments
from haulshed.tables.sources import Source
from haulshed.tables.stations import STATIONS
from haulshed.tables.table import csv_headers


def find_stations(places: Sequence[Place], outline: Outline, segments: Segments) -> pd.DataFrame:
    """
    Return the stations, with lon and lat; an area is put where the road comes nearest.

    One within the outline is the district's own; one beyond it is mutual aid, which no scenario
    calls unless it says so.
    """
    found = [one for one in places if is_station(one.tags) and one.shape is not None]
    shapes = [one.shape for one in found if one.shape is not None]
    own = inside(np.array(shapes, dtype=object), outline)
    flat = in_metres(shapes, segments)
    at = np.where(shapely.get_dimensions(flat) > 0, roadside(flat, segments).place, flat)
    rows = [
        {
            "station_id": place.osm_id,
            "name": place.tags.get("name") or place.tags.get("ref", ""),
            "lat": lat,
            "lon": lon,
            "aid": "own" if is_own else "mutual",
        }
        for place, is_own, (lon, lat) in zip(found, own, in_degrees(at, segments), strict=True)
    ]
    return pd.DataFrame(rows, columns=csv_headers(STATIONS))


def stand_in_apparatus(stations: pd.DataFrame) -> pd.DataFrame:
    """Return one engine and one tanker a station, marked as nobody's figures."""
    rows = [
        _unit(letter, station_id, unit)
        for station_id in stations["station_id"]
        for letter, unit in (("E", ENGINE), ("T", TANKER))
    ]
    return pd.DataFrame(rows, columns=csv_headers(APPARATUS))


def _unit(letter: str, station_id: str, unit: Mapping[str, object]) -> dict[str, object]:
    name = {"unit_id": f"{letter}-{station_id}", "station_id": station_id}
    return {**name, **unit, "unit_source": str(Source.DEFAULT)}
