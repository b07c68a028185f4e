"""A district's first tables, from what a map holds."""

from collections.abc import Iterator
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from haulshed.scenario import Operation
from haulshed.survey.lots import Lots, find_lots
from haulshed.survey.outline import Outline, area_names, find_outline
from haulshed.survey.place import Box, MapExtract, is_station, is_water_point
from haulshed.survey.roadside import WGS84
from haulshed.survey.stations import find_stations, stand_in_apparatus
from haulshed.survey.water import Waters, find_waters
from haulshed.tables.segments import Segments
from haulshed.units import M_PER_FT

#: Areas and amounts that one sentence names.
_NAMED = 6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draft:
    """The tables of a new district, ready to be written."""

    name: str
    outline: Outline
    lots: Lots | None  #: None: the parcels come from a file
    waters: Waters
    stations: pd.DataFrame  #: columns of stations, with lon and lat
    apparatus: pd.DataFrame
    notes: tuple[str, ...]  #: what a person should know of the making, a sentence each


def draft_district(
    extract: MapExtract,
    segments: Segments,
    *,
    name: str,
    outline: Outline | None = None,
    parcels_given: bool = False,
) -> Draft:
    """
    Return a district's first tables.

    Parameters
    ----------
    extract
        What the map holds beside the roads.
    segments
        The roads.
    name
        Of the district; an administrative area of that name is its outline. Empty: the name of
        the outline, if it has one.
    outline
        The outline, where the user has one.
    parcels_given
        The parcels come from a file: none are made of buildings.
    """
    edge = outline or find_outline(extract, name, _road_box(segments))
    lots = None if parcels_given else find_lots(extract.places, edge, segments)
    waters = find_waters(extract.places, segments)
    stations = find_stations(extract.places, edge, segments)
    return Draft(
        name=name or edge.name,
        outline=edge,
        lots=lots,
        waters=waters,
        stations=stations,
        apparatus=stand_in_apparatus(stations),
        notes=(
            *_of_outline(extract, edge),
            *(_of_lots(lots) if lots else ()),
            *_of_water(waters),
            *_of_stations(stations),
            *_of_broken(extract),
        ),
    )


def _road_box(segments: Segments) -> Box:
    """Return the box around the public roads, as much wider as a parcel may lie off the road."""
    roads = np.asarray(segments.geometry, dtype=object)[segments["public"].to_numpy()]
    box = shapely.box(*_ends(roads))
    wider = box.buffer(Operation().parcel_snap_ft * M_PER_FT, join_style="mitre")
    return _ends(np.asarray(gpd.GeoSeries([wider], crs=segments.crs).to_crs(WGS84), dtype=object))


def _ends(shapes: NDArray[np.object_]) -> Box:
    ends = [float(one) for one in shapely.total_bounds(shapes)]
    return ends[0], ends[1], ends[2], ends[3]


def _of_outline(extract: MapExtract, edge: Outline) -> Iterator[str]:
    yield f"Outline: {edge.name + ', ' if edge.name else ''}{edge.says}."
    names = area_names(extract)
    if not edge.name and names and edge.says.startswith("box"):
        more = " …" if len(names) > _NAMED else ""
        yield f"Areas that --name would take instead: {', '.join(names[:_NAMED])}{more}."


def _of_lots(found: Lots) -> Iterator[str]:
    yield (
        f"Parcels: {found.buildings:,} buildings and {found.addresses:,} addresses without one;"
        f" left out {found.outbuildings:,} garages, sheds and the like, {found.outside:,} buildings"
        " beyond the outline. Where the county has parcels, use them: --parcels."
    )


def _of_water(found: Waters) -> Iterator[str]:
    kinds = found.fill_sites["kind"].value_counts()
    listed = ", ".join(f"{count:,} {str(kind).replace('_', ' ')}" for kind, count in kinds.items())
    yield f"Fill sites: {listed or 'none is mapped; fill in fill_sites.csv'}."
    yield (
        f"Pond candidates: {len(found.candidates):,}, for you to look at; {found.small_or_far:,}"
        " more waters are small, foul or off the road."
    )
    if found.not_understood:
        listed = "; ".join(found.not_understood[:_NAMED])
        yield f"Amounts not understood, {len(found.not_understood):,}: {listed}."


def _of_stations(stations: pd.DataFrame) -> Iterator[str]:
    beyond = int((stations["aid"] == "mutual").sum())
    if not len(stations):
        yield (
            "Stations: none is mapped, so nobody comes: fill in stations.csv and apparatus.csv;"
            " nothing is made up."
        )
    else:
        yield (
            f"Stations: {len(stations):,}, {beyond:,} of them beyond the outline (mutual aid, not"
            " called by default). One engine and one tanker stand in at each: put in yours."
        )


def _of_broken(extract: MapExtract) -> Iterator[str]:
    broken = [
        one.osm_id
        for one in extract.places
        if one.shape is None and (is_station(one.tags) or is_water_point(one.tags))
    ]
    if broken:
        yield f"Left out, cut off or broken in the extract: {', '.join(broken[:_NAMED])}."
