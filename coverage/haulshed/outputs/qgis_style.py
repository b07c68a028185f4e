"""Styles for QGIS, so that the GeoPackage opens coloured as the map is."""

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from haulshed.outputs.palette import FLOW_BREAKS_GPM, FLOW_STROKES, INK, VERDICT_FILLS
from haulshed.tables.answers import Verdict
from haulshed.tables.fill_sites import SiteKind

#: Version of QGIS whose style format this is.
_QGIS = "3.22"

#: Marker of each kind of fill site; QGIS's own names.
_KIND_MARKERS = {
    SiteKind.HYDRANT: "circle",
    SiteKind.DRY_HYDRANT: "square",
    SiteKind.POND: "pentagon",
    SiteKind.STREAM: "diamond",
    SiteKind.CISTERN: "octagon",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Class:
    """One entry of a style's legend."""

    label: str
    value: str = ""  #: of a categorised style
    lower: float = 0.0  #: of a graduated style
    upper: float = 0.0
    layer: str  #: kind of symbol layer
    options: tuple[tuple[str, str], ...]


def parcels_style(*, areas: bool) -> str:
    """Return the style of the parcels, by answer; `areas`: polygons, else points."""
    return _style("verdict", "parcel_id", "fill" if areas else "marker", _verdicts(areas=areas))


def roads_style(flow_header: str, factor: float) -> str:
    """Return the style of the roads by sustained flow; `factor`: the file's unit over gpm."""
    ends = (*FLOW_BREAKS_GPM, 1e9)
    classes = [
        _Class(
            label=f"{low * factor:,.0f} and more" if low else "under the next class",
            lower=low * factor,
            upper=high * factor,
            layer="SimpleLine",
            options=(
                ("line_color", _rgba(stroke.colour)),
                ("line_width", f"{stroke.width_px / 4:.2f}"),
            ),
        )
        for low, high, stroke in zip(ends, ends[1:], FLOW_STROKES[1:], strict=False)
    ]
    return _style(flow_header, "name", "line", classes, graduated=True)


def fill_sites_style() -> str:
    """Return the style of the fill sites, by kind."""
    classes = [
        _Class(
            label=kind.replace("_", " "),
            value=kind,
            layer="SimpleMarker",
            options=(
                ("name", _KIND_MARKERS[kind]),
                ("color", _rgba("#ffffff")),
                ("outline_color", _rgba(INK)),
                ("size", "4"),
            ),
        )
        for kind in SiteKind
    ]
    return _style("kind", "site_id", "marker", classes)


def stations_style() -> str:
    """Return the style of the stations, by aid."""
    classes = [
        _Class(
            label=aid,
            value=aid,
            layer="SimpleMarker",
            options=(("name", "star"), ("color", _rgba(INK)), ("size", size)),
        )
        for aid, size in (("own", "6"), ("automatic", "5"), ("mutual", "4"))
    ]
    return _style("aid", "station_id", "marker", classes)


def _verdicts(*, areas: bool) -> list[_Class]:
    classes = []
    for verdict in Verdict:
        colour = ("color", _rgba(VERDICT_FILLS[verdict].colour))
        edge = ("outline_color", _rgba(INK))
        options = (
            (colour, edge, ("outline_width", "0.1"))
            if areas
            else (colour, edge, ("name", "circle"), ("size", "2"))
        )
        layer = "SimpleFill" if areas else "SimpleMarker"
        classes.append(_Class(label=verdict, value=verdict, layer=layer, options=options))
    return classes


def _style(
    attribute: str,
    label: str,
    symbol_type: str,
    classes: Sequence[_Class],
    *,
    graduated: bool = False,
) -> str:
    root = ET.Element("qgis", version=_QGIS, styleCategories="Symbology|Labeling")
    renderer = ET.SubElement(
        root,
        "renderer-v2",
        type="graduatedSymbol" if graduated else "categorizedSymbol",
        attr=attribute,
        enableorderby="0",
        forceraster="0",
    )
    entries = ET.SubElement(renderer, "ranges" if graduated else "categories")
    symbols = ET.SubElement(renderer, "symbols")
    for number, one in enumerate(classes):
        _entry(entries, one, number, graduated=graduated)
        symbol = ET.SubElement(
            symbols, "symbol", name=str(number), type=symbol_type, alpha="1", clip_to_extent="1"
        )
        layer = ET.SubElement(symbol, "layer", {"class": one.layer, "enabled": "1", "locked": "0"})
        options = ET.SubElement(layer, "Option", type="Map")
        for name, value in one.options:
            ET.SubElement(options, "Option", name=name, type="QString", value=value)
    _labels(root, label)
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


def _labels(root: ET.Element, attribute: str) -> None:
    """Label by `attribute`, from the scale on at which single places can be told apart."""
    labeling = ET.SubElement(root, "labeling", type="simple")
    settings = ET.SubElement(labeling, "settings", calloutType="simple")
    ET.SubElement(settings, "text-style", fieldName=attribute, fontSize="8", isExpression="0")
    ET.SubElement(settings, "rendering", scaleVisibility="1", scaleMax="1", scaleMin="20000")


def _rgba(colour: str) -> str:
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return f"{red},{green},{blue},255"
