"""The map of doubtful places: each with the letters of what is doubtful there, one HTML file."""

import re
from collections.abc import Mapping, Sequence
from html import escape
from typing import cast

import folium
import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS

from haulshed.assess.findings import Finding, Findings, Weight
from haulshed.case import CAUTION, Inputs
from haulshed.outputs.map_geometry import Degrees
from haulshed.outputs.map_page import (
    OFFLINE,
    AfterMap,
    Drawing,
    Html,
    OfflineMap,
    assets,
    data,
    finished,
)
from haulshed.outputs.palette import INK
from haulshed.outputs.whole_file import MADE_BY

_SCRIPTS = ("map_unpack.js", "doubts_map.js")
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def doubts_html(findings: Findings, inputs: Inputs) -> str:
    """
    Return the map as one HTML file that opens with no network.

    Parameters
    ----------
    findings
        What a look at the district found; those that are doubtful are drawn.
    inputs
        The same district.
    """
    doubtful = findings.of_weight(Weight.DOUBTFUL)
    page = OfflineMap(tiles=None)
    figure = cast("folium.Figure", page.get_root())
    figure.title = escape(f"{inputs.name}: doubtful places")
    figure.header.add_child(Html(f"<!-- {MADE_BY} -->{OFFLINE}{assets(_SCRIPTS)}"))
    figure.html.add_child(Html(_header(inputs, doubtful)))
    page.add_child(data("doubts", _drawn(doubtful, inputs)))
    page.add_child(AfterMap(_panel(doubtful) + f"<footer>{escape(CAUTION)}</footer>"))
    page.add_child(Drawing("haulshedDoubts"))
    return finished(figure)


def _drawn(doubtful: Sequence[Finding], inputs: Inputs) -> dict[str, object]:
    """Return the roads, the outline, and each place with the numbers of its findings."""
    layers = [inputs.segments, inputs.parcels, inputs.fill_sites, inputs.stations]
    degrees = Degrees(layers, CRS(inputs.segments.crs))
    found = _by_place(doubtful, inputs)
    at = degrees.points(gpd.GeoSeries([place for _, place, _ in found.values()], dtype=object))
    edge = [inputs.boundary] if inputs.boundary is not None else []
    return {
        "roads": degrees.shapes(gpd.GeoSeries(inputs.segments.geometry)),
        "outline": degrees.shapes(gpd.GeoSeries(edge)),
        "places": [
            {"name": name, "at": point, "findings": numbers}
            for (name, _, numbers), point in zip(found.values(), at, strict=True)
        ],
        "letters": [_LETTERS[number % len(_LETTERS)] for number in range(len(doubtful))],
        "ink": INK,
        "credit": escape(inputs.road_credit),
    }


_Found = dict[tuple[str, str], tuple[str, shapely.Geometry, list[int]]]


def _by_place(doubtful: Sequence[Finding], inputs: Inputs) -> _Found:
    """Return each doubtful place: what it is called, where it is, the numbers of its findings."""
    where = _places(inputs)
    station_of = {
        str(unit): str(station)
        for unit, station in zip(
            inputs.apparatus["unit_id"], inputs.apparatus["station_id"], strict=True
        )
    }
    found: _Found = {}
    for number, finding in enumerate(doubtful):
        for one in finding.ids:
            at_station = finding.table == "apparatus"
            key = (
                ("stations", station_of[one])
                if at_station
                else (finding.table, _key(one) if finding.table == "roads" else one)
            )
            if key in where:
                name = f"{_KINDS[key[0]]} {station_of[one] if at_station else one}"
                numbers = found.setdefault(key, (name, where[key], []))[2]
                numbers.extend([number] * (number not in numbers))
    return found


_KINDS = {"fill_sites": "Fill site", "stations": "Station", "parcels": "Parcel", "roads": "Road"}
_WAY = re.compile(r"way (\d+)\)?$")


def _places(inputs: Inputs) -> Mapping[tuple[str, str], shapely.Geometry]:
    tables = {
        "fill_sites": (inputs.fill_sites, "site_id"),
        "stations": (inputs.stations, "station_id"),
        "parcels": (inputs.parcels, "parcel_id"),
        "roads": (inputs.segments, "way_id"),
    }
    return {
        (name, str(one)): shape
        for name, (table, ids) in tables.items()
        for one, shape in zip(table[ids], np.asarray(table.geometry, dtype=object), strict=True)
    }


def _key(one: str) -> str:
    """Return the id by which a place is found: of a way with a name, its number."""
    way = _WAY.search(one)
    return way[1] if way else one


def _header(inputs: Inputs, doubtful: Sequence[Finding]) -> str:
    told = "What to look at before a run is believed" if doubtful else "Nothing is doubtful"
    return (
        f"<header><div><h1>{escape(inputs.name)}: doubtful places</h1><p>{told}</p></div>"
        '<button id="panel-button" type="button" aria-controls="panel">Legend</button>'
        '<p id="found" role="status"></p></header>'
    )


def _panel(doubtful: Sequence[Finding]) -> str:
    rows = "".join(_row(number, finding) for number, finding in enumerate(doubtful))
    nothing = "" if doubtful else '<p class="note">Nothing doubtful was found.</p>'
    return f'<div id="panel"><fieldset>{rows}</fieldset>{nothing}</div>'


def _row(number: int, finding: Finding) -> str:
    letter = _LETTERS[number % len(_LETTERS)]
    return (
        f'<label class="switch"><input type="checkbox" name="{number}" checked>'
        f"<span>{letter}</span><span>{finding.count:,} of {finding.of:,}</span></label>"
        f"<p>{escape(finding.what)}. {escape(finding.cure)}</p>"
    )
