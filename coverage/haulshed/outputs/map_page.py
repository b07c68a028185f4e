"""The map: one HTML file that opens with no network, drawn by folium and a script of ours."""

import base64
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import cast

import folium
import numpy as np
from folium.template import Template
from pyproj import CRS
from xstatic.pkg import leaflet

from haulshed.case import BASE_SCENARIO, CAUTION, Result
from haulshed.outputs.map_clock import clock_page, not_played
from haulshed.outputs.map_data import MapTables
from haulshed.outputs.map_geometry import Degrees
from haulshed.outputs.map_legend import panel
from haulshed.outputs.map_pack import json_of, packed, parted
from haulshed.outputs.map_states import State, state_columns
from haulshed.outputs.palette import FLOW_FILLS, FLOW_STROKES, GAIN_FILLS, INK, VERDICT_FILLS
from haulshed.outputs.phrases import Phrasebook
from haulshed.outputs.wording import Wording
from haulshed.tables.answers import Verdict
from haulshed.units import System

#: A table of more bytes is packed: a browser takes longer to read it than to unpack it.
MOST_OPEN = 4_000_000
#: The search box lists the parcels up to this many.
LISTED_IDS = 5000
#: Scale to which a search zooms in.
CLOSE_ZOOM = 15
#: Areas let an online base map shine through.
OPACITY_OVER_BASE_MAP = 0.7

#: Nothing but what the file itself holds; a browser refuses the rest.
OFFLINE = (
    '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; img-src data:;'
    " style-src 'unsafe-inline'; script-src 'unsafe-inline'\">"
)
_SCRIPTS = (
    "map_unpack.js",
    "map_plane.js",
    "map_plates.js",
    "map_build_up.js",
    "map_drawing.js",
    "map_page.js",
)
_ICON = '<link rel="icon" href="data:,">'
_VIEWPORT = re.compile(r'<meta name="viewport".*?/>', re.DOTALL)


class OfflineMap(folium.Map):
    """A map that asks for none of folium's files on the net."""

    default_js: list[tuple[str, str]] = []  # noqa: RUF012 — as folium declares it
    default_css: list[tuple[str, str]] = []  # noqa: RUF012 — as folium declares it


class Html(folium.Element):
    """HTML of ours, taken as it stands."""

    _template = Template("{{ this.html }}")

    def __init__(self, html: str) -> None:
        super().__init__()
        self._name = "Html"
        self.html = html


class AfterMap(folium.Element):
    """HTML of ours that stands after the map, taken as it stands."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self._name = "AfterMap"
        self.html = html

    def render(self, **_kwargs: object) -> str:
        """Add the HTML to the page; folium's own way would read it as a template, names and all."""
        cast("folium.Figure", self.get_root()).html.add_child(Html(self.html))
        return ""


def data(table: str, values: Mapping[str, object]) -> AfterMap:
    """Return a table as JSON for the script to read; packed, a column a script, where large."""
    columns = {name: parted(column) for name, column in values.items()}
    if sum(map(len, columns.values())) > MOST_OPEN:
        return AfterMap(
            "".join(
                _script(f"{table}.{name}", "application/gzip", packed(column))
                for name, column in columns.items()
            )
        )
    return AfterMap(_script(table, "application/json", json_in_html(values)))


def _script(name: str, kind: str, text: str) -> str:
    return f'<script type="{kind}" id="haulshed-{name}">{text}</script>'


class Drawing(folium.MacroElement):
    """The call of our script, after the map and the data."""

    _template = Template(
        "{% macro script(this, kwargs) %}"
        "{{ this.function }}({{ this._parent.get_name() }});"
        "{% endmacro %}"
    )

    def __init__(self, function: str) -> None:
        super().__init__()
        self._name = "Drawing"
        self.function = function


def map_html(
    result: Result,
    *,
    scenario_name: str,
    system: System,
    base_map: bool = False,
    states: Sequence[State] = (),
) -> str:
    """
    Return the map as one HTML file.

    Parameters
    ----------
    result
        What the model says of the district.
    scenario_name
        Name of the scenario; empty for the plain one.
    system
        Units of the figures shown.
    base_map
        Lay OpenStreetMap's online map under the data. Without it nothing asks for the net.
    states
        Several states of the district to switch between, the first of which is `result`.
    """
    wording = Wording(system=system)
    page = OfflineMap(tiles="OpenStreetMap" if base_map else None)
    figure = cast("folium.Figure", page.get_root())
    figure.title = escape(f"{result.inputs.name}: hauled water")
    figure.header.add_child(Html(("" if base_map else OFFLINE) + assets(_SCRIPTS)))
    figure.html.add_child(Html(_header(result, scenario_name)))
    for name, values in _tables(result, wording, states, base_map=base_map).items():
        page.add_child(data(name, values))
    page.add_child(AfterMap(panel(result, wording, states) + f"<footer>{escape(CAUTION)}</footer>"))
    page.add_child(Drawing("haulshedMap"))
    return finished(figure)


def _tables(
    result: Result, wording: Wording, states: Sequence[State], *, base_map: bool
) -> dict[str, Mapping[str, object]]:
    every = [result, *(state.result for state in states[1:])]
    layers = [
        layer for one in every for layer in (one.parcels, one.roads, one.fill_sites, one.stations)
    ]
    book = Phrasebook()
    tables = MapTables(
        result=result,
        wording=wording,
        degrees=Degrees(layers, CRS(result.inputs.segments.crs)),
        book=book,
    )
    views = [state_columns(tables, state) for state in states]
    return {
        "parcels": tables.parcels(),
        "roads": tables.roads(),
        "fill_sites": tables.fill_sites(),
        "stations": tables.stations(),
        "page": {
            "boundary": tables.boundary(),
            "templates": list(book.templates),
            "words": book.words,
            "verdicts": [str(verdict) for verdict in Verdict],
            "verdictFills": [asdict(VERDICT_FILLS[verdict]) for verdict in Verdict],
            "flowFills": [asdict(fill) for fill in FLOW_FILLS],
            "flowStrokes": [asdict(stroke) for stroke in FLOW_STROKES],
            "ink": INK,
            "opacity": OPACITY_OVER_BASE_MAP if base_map else 1,
            "listedIds": LISTED_IDS,
            "closeZoom": CLOSE_ZOOM,
            "imperial": wording.system is System.US,
            "clock": clock_page(result, wording),
            "notPlayed": not_played(result),
            "credit": escape(str(result.summary.get("road_credit", ""))),
            **({"views": views, "gainFills": [asdict(one) for one in GAIN_FILLS]} if views else {}),
        },
    }


def _header(result: Result, scenario_name: str) -> str:
    named = scenario_name not in {"", BASE_SCENARIO}
    scenario = f", scenario {escape(scenario_name)}" if named else ""
    lasts_min = result.inputs.scenario.operation.duration_min
    return (
        f"<header><div><h1>{escape(result.inputs.name)}: hauled water{scenario}</h1>"
        f"<p>The flow that a tanker shuttle can keep up for {lasts_min:g} minutes at every parcel,"
        " on paper</p>"
        '</div><form id="search" role="search"><label for="wanted">Parcel</label>'
        '<input id="wanted" autocomplete="off" spellcheck="false"><button>Find</button></form>'
        '<button id="panel-button" type="button" aria-controls="panel">Legend</button>'
        '<p id="found" role="status"></p></header>'
    )


def assets(names: Sequence[str]) -> str:
    """Return Leaflet, our style and our scripts called `names` as elements, pictures within."""
    library = Path(leaflet.BASE_DIR)
    style = re.sub(
        r"url\((images/[^)]+)\)",
        lambda found: f"url({_picture(library / found[1])})",
        (library / "leaflet.css").read_text(encoding="utf-8"),
    )
    script = re.sub(
        r"//# sourceMappingURL=.*", "", (library / "leaflet.js").read_text(encoding="utf-8")
    )
    ours = files("haulshed.outputs")
    style += ours.joinpath("map.css").read_text(encoding="utf-8")
    scripts = (ours.joinpath(name).read_text(encoding="utf-8") for name in names)
    elements = (f"<script>{text}</script>" for text in (script, *scripts))
    return f"{_ICON}<style>{style}</style>{''.join(elements)}"


def _picture(file: Path) -> str:
    return f"data:image/png;base64,{base64.b64encode(file.read_bytes()).decode('ascii')}"


def finished(figure: folium.Figure) -> str:
    """Return the page with folium's random names numbered: the same data, the same bytes."""
    html: str = figure.render()
    for number, name in enumerate(_names(figure), start=1):
        html = html.replace(name, f"{name.rpartition('_')[0]}_{number}")
    html = _VIEWPORT.sub('<meta name="viewport" content="width=device-width">', html, count=1)
    return html.replace("<html>", '<html lang="en">', 1)


def _names(element: folium.Element) -> Iterator[str]:
    yield element.get_name()
    for child in element._children.values():  # noqa: SLF001 — branca offers no other way down
        yield from _names(child)


def json_in_html(values: object) -> str:
    r"""
    Return `values` as JSON that cannot end the script element around it.

    Examples
    --------
    >>> json_in_html({"name": "</script>"})
    '{"name":"\\u003c/script>"}'
    """
    return json_of(values, arrays=np.ndarray.tolist).replace("<", "\\u003c")
