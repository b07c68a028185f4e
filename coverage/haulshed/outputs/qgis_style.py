"""Styles for QGIS, so that the GeoPackage opens coloured as the map is."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from xml.etree import ElementTree as ET

from haulshed.outputs.palette import (
    FLOW_BREAKS_GPM,
    FLOW_STROKES,
    HYDRANT_SIGNS,
    INK,
    SLANTED,
    VERDICT_FILLS,
    Fill,
    Stroke,
)
from haulshed.outputs.wording import KIND_WORDS, sentence
from haulshed.tables.answers import Verdict
from haulshed.tables.fill_sites import SiteKind

#: Version of QGIS whose style format this is.
_QGIS = "3.22"
#: Millimetres on paper of a pixel of the map.
_MM_PER_PX = 0.26
#: Labels show from this scale on.
_LABEL_SCALE = 50_000
#: Upper end of the last flow class.
_NO_END = 1e9

#: Marker of each kind of fill site; QGIS's own names.
_KIND_MARKERS = {
    SiteKind.DRY_HYDRANT: "square",
    SiteKind.POND: "pentagon",
    SiteKind.STREAM: "diamond",
    SiteKind.CISTERN: "octagon",
}

_HALO = "#ffffff"
_TEXT = {"fontSize": "8", "fontWeight": "75", "isExpression": "1", "textColor": "42,34,40,255"}
#: Where a label stands, by kind of symbol, and which label wins: QGIS's own numbers.
_PLACEMENTS = {
    "marker": {"placement": "0", "dist": "2", "distUnits": "MM", "priority": "10"},
    "line": {"placement": "2", "placementFlags": "10", "priority": "3"},
    "fill": {"placement": "1", "priority": "1"},
}

#: A symbol layer: its class in QGIS and its options.
_Layer = tuple[str, tuple[tuple[str, str], ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Class:
    """One entry of a style's legend."""

    label: str
    layers: tuple[_Layer, ...]
    value: str = ""  #: of a categorised style
    lower: float = 0.0  #: of a graduated style
    upper: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Style:
    """A layer's style: what the classes are told apart by, what labels say, the classes."""

    attribute: str  #: column or expression
    label: str  #: expression
    symbol: str  #: fill, line or marker
    classes: Sequence[_Class]
    graduated: bool = False


def parcels_style(*, areas: bool, attribute: str = "verdict") -> str:
    """Return the style of the parcels by the answer in a column; `areas`: polygons, else points."""
    classes = [
        _Class(
            label=sentence(verdict),
            value=verdict,
            layers=_area(VERDICT_FILLS[verdict]) if areas else (_spot(VERDICT_FILLS[verdict]),),
        )
        for verdict in Verdict
    ]
    symbol = "fill" if areas else "marker"
    return _xml(_Style(attribute=attribute, label='"parcel_id"', symbol=symbol, classes=classes))


def roads_style(flow_header: str, factor: float) -> str:
    """Return the style of the roads by sustained flow; `factor`: gpm in the file's unit."""
    ends = [low * factor for low in FLOW_BREAKS_GPM]
    classes = [
        _Class(label="none", lower=0.0, upper=0.0, layers=(_line(FLOW_STROKES[0]),)),
        *(
            _Class(
                label=f"under {high:,.0f}" if low == 0 else f"{low:,.0f} to {high:,.0f}",
                lower=low,
                upper=high,
                layers=(_line(stroke),),
            )
            for (low, high), stroke in zip(pairwise(ends), FLOW_STROKES[1:], strict=False)
        ),
        _Class(
            label=f"{ends[-1]:,.0f} and more",
            lower=ends[-1],
            upper=_NO_END,
            layers=(_line(FLOW_STROKES[len(ends)]),),
        ),
    ]
    style = _Style(
        attribute=flow_header, label='"name"', symbol="line", classes=classes, graduated=True
    )
    return _xml(style)


def fill_sites_style(rate_header: str, factor: float) -> str:
    """Return the style of the fill sites by kind, hydrants by class; `factor`: as for roads."""
    cases = " ".join(
        f"WHEN \"{rate_header}\" >= {least * factor:g} THEN ' {sign.letter}'"
        for least, sign in reversed(HYDRANT_SIGNS[1:])
    )
    weakest = HYDRANT_SIGNS[0][1].letter
    attribute = f"\"kind\" || CASE WHEN \"kind\" <> 'hydrant' THEN '' {cases} ELSE ' {weakest}' END"
    hydrants = [
        _Class(
            label=f"Hydrant {sign.letter}",
            value=f"{SiteKind.HYDRANT} {sign.letter}",
            layers=(_marker("circle", sign.fill, "4"),),
        )
        for _, sign in reversed(HYDRANT_SIGNS)
    ]
    others = [
        _Class(
            label=sentence(KIND_WORDS[kind]), value=kind, layers=(_marker(name, "#ffffff", "4"),)
        )
        for kind, name in _KIND_MARKERS.items()
    ]
    label = f'"name" || \'\\n\' || round("{rate_header}")'
    style = _Style(attribute=attribute, label=label, symbol="marker", classes=[*hydrants, *others])
    return _xml(style)


def stations_style() -> str:
    """Return the style of the stations, by aid."""
    classes = [
        _Class(label=f"Station, {aid} aid", value=aid, layers=(_marker("star", INK, size),))
        for aid, size in (("own", "6"), ("automatic", "5"), ("mutual", "4"))
    ]
    return _xml(_Style(attribute="aid", label='"name"', symbol="marker", classes=classes))


def _area(fill: Fill) -> tuple[_Layer, ...]:
    edge = (("outline_color", _rgba(INK)), ("outline_width", "0.1"))
    ground: _Layer = ("SimpleFill", (("color", _rgba(fill.colour)), ("style", "solid"), *edge))
    if not fill.hatch:
        return (ground,)
    brush = "b_diagonal" if fill.hatch == SLANTED else "diagonal_x"
    hatch: _Layer = (
        "SimpleFill",
        (("color", _rgba(fill.hatch_colour)), ("style", brush), ("outline_style", "no")),
    )
    return (ground, hatch)


def _spot(fill: Fill) -> _Layer:
    return _marker("cross_fill" if fill.hatch else "circle", fill.colour, "2.4")


def _marker(name: str, colour: str, size_mm: str) -> _Layer:
    return (
        "SimpleMarker",
        (
            ("name", name),
            ("color", _rgba(colour)),
            ("outline_color", _rgba(INK)),
            ("size", size_mm),
        ),
    )


def _line(stroke: Stroke) -> _Layer:
    width = f"{stroke.width_px * _MM_PER_PX:.2f}"
    options = (("line_color", _rgba(stroke.colour)), ("line_width", width))
    return ("SimpleLine", (*options, ("line_style", "dot" if stroke.dash else "solid")))


def _xml(style: _Style) -> str:
    root = ET.Element(
        "qgis", version=_QGIS, styleCategories="Symbology|Labeling", labelsEnabled="1"
    )
    renderer = ET.SubElement(
        root,
        "renderer-v2",
        type="graduatedSymbol" if style.graduated else "categorizedSymbol",
        attr=style.attribute,
        enableorderby="0",
        forceraster="0",
    )
    if style.graduated:
        renderer.set("graduatedMethod", "GraduatedColor")
    entries = ET.SubElement(renderer, "ranges" if style.graduated else "categories")
    symbols = ET.SubElement(renderer, "symbols")
    for number, one in enumerate(style.classes):
        _entry(entries, one, number, graduated=style.graduated)
        symbol = ET.SubElement(
            symbols, "symbol", name=str(number), type=style.symbol, alpha="1", clip_to_extent="1"
        )
        for kind, values in one.layers:
            layer = ET.SubElement(symbol, "layer", {"class": kind, "enabled": "1", "locked": "0"})
            options = ET.SubElement(layer, "Option", type="Map")
            for name, value in values:
                ET.SubElement(options, "Option", name=name, type="QString", value=value)
    _labels(root, style)
    return "<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>\n" + ET.tostring(
        root, encoding="unicode"
    )


def _entry(entries: ET.Element, one: _Class, number: int, *, graduated: bool) -> None:
    shared = {"symbol": str(number), "label": one.label, "render": "true"}
    if graduated:
        bounds = {"lower": f"{one.lower:.6f}", "upper": f"{one.upper:.6f}"}
        ET.SubElement(entries, "range", shared | bounds)
    else:
        ET.SubElement(entries, "category", shared | {"value": one.value, "type": "string"})


def _labels(root: ET.Element, style: _Style) -> None:
    """Label from the scale on at which single places can be told apart, on a halo of white."""
    labeling = ET.SubElement(root, "labeling", type="simple")
    settings = ET.SubElement(labeling, "settings", calloutType="simple")
    text = ET.SubElement(settings, "text-style", _TEXT | {"fieldName": style.label})
    halo = {"bufferDraw": "1", "bufferSize": "0.5", "bufferColor": _rgba(_HALO)}
    ET.SubElement(text, "text-buffer", halo)
    ET.SubElement(settings, "placement", _PLACEMENTS[style.symbol])
    # QGIS calls the larger number of a scale, from far off, the greatest one.
    scales = {"scaleVisibility": "1", "scaleMin": "1", "scaleMax": str(_LABEL_SCALE)}
    # Parcels cover the ground: were they in the way of labels, roads would get none.
    ET.SubElement(settings, "rendering", scales | {"obstacle": "0"})


def _rgba(colour: str) -> str:
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return f"{red},{green},{blue},255"
