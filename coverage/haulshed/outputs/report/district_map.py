"""Maps of the report: areas as a picture, every word on them as text."""

from dataclasses import dataclass
from itertools import pairwise

import geopandas as gpd
import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from haulshed.case import Result
from haulshed.outputs.palette import (
    FLOW_BREAKS_GPM,
    FLOW_STROKES,
    INK,
    VERDICT_FILLS,
    site_sign,
)
from haulshed.outputs.report.charts import DRAWN, HATCHES, as_svg, styled, verdict_patch
from haulshed.outputs.wording import KIND_WORDS, Wording, sentence
from haulshed.tables.answers import Verdict
from haulshed.tables.fill_sites import SiteKind
from haulshed.units import M_PER_FT, M_PER_MI, System

_SIZE_IN = (7.0, 7.6)
#: The map's part of the picture: left, bottom, width, height.
_FRAME = (0.0, 0.13, 1.0, 0.87)
#: Markers of the kinds of fill sites.
_MARKERS = {
    SiteKind.HYDRANT: "o",
    SiteKind.DRY_HYDRANT: "s",
    SiteKind.POND: "p",
    SiteKind.STREAM: "D",
    SiteKind.CISTERN: "^",
}
_LETTER_PT, _NAME_PT = 6.0, 7.0
#: Width of a letter over its height; wide, so that no two names touch.
_LETTER_WIDTH = 0.68


@dataclass(slots=True)
class _Taken:
    """Boxes of what is on the map already, in parts of the axes' width and height."""

    boxes: list[tuple[float, float, float, float]]

    def free(self, box: tuple[float, float, float, float]) -> bool:
        """Return whether a box lies on the map and touches none of the others."""
        left, low, right, high = box
        if left < 0 or low < 0 or right > 1 or high > 1:
            return False
        return all(
            right < other[0] or other[2] < left or high < other[1] or other[3] < low
            for other in self.boxes
        )


def answers_map(result: Result, units: System, *, name: str) -> str:
    """Return the parcels by answer, with roads, fill sites and stations."""
    with styled(name):
        figure, axes = _canvas(result.parcels, result.roads)
        _draw_roads(axes, result.roads, plain=True)
        for verdict in Verdict:
            chosen = result.parcels[result.parcels["verdict"].astype(str) == verdict]
            _draw_parcels(axes, chosen, verdict)
        _draw_places(axes, result)
        _scale_bar(axes, units)
        handles = [verdict_patch(verdict) for verdict in DRAWN]
        figure.legend(
            handles=handles, loc="lower left", ncols=5, frameon=False, bbox_to_anchor=(0.0, 0.055)
        )
        _places_legend(figure, result)
        return as_svg(figure)


def flow_map(result: Result, units: System, *, name: str) -> str:
    """Return the roads by the flow that hauled water holds there."""
    wording = Wording(system=units)
    with styled(name):
        figure, axes = _canvas(result.parcels, result.roads)
        _draw_roads(axes, result.roads, plain=False)
        _draw_places(axes, result)
        _scale_bar(axes, units)
        labels = ["none", *_classes(wording)]
        handles = [
            Line2D(
                [],
                [],
                color=stroke.colour,
                linewidth=stroke.width_px,
                linestyle=(0, stroke.dash) if stroke.dash else "-",
                label=label,
            )
            for stroke, label in zip(FLOW_STROKES, labels, strict=False)
        ]
        figure.legend(
            handles=handles, loc="lower left", ncols=5, frameon=False, bbox_to_anchor=(0.0, 0.055)
        )
        _places_legend(figure, result)
        return as_svg(figure)


def _classes(wording: Wording) -> list[str]:
    ends = [wording.flow(gpm) for gpm in FLOW_BREAKS_GPM[1:]]
    return [
        f"under {ends[0]}",
        *(f"{low.split(' ')[0]} to {high}" for low, high in pairwise(ends)),
        f"{ends[-1]} and more",
    ]


def _canvas(parcels: gpd.GeoDataFrame, roads: gpd.GeoDataFrame) -> tuple[Figure, Axes]:
    figure = Figure(figsize=_SIZE_IN)
    axes = figure.add_axes(_FRAME)
    west, south, east, north = (parcels if len(parcels) else roads).total_bounds
    width_m, height_m = max(east - west, 200.0) * 1.06, max(north - south, 200.0) * 1.06
    shape = _SIZE_IN[0] * _FRAME[2] / (_SIZE_IN[1] * _FRAME[3])
    width_m, height_m = max(width_m, height_m * shape), max(height_m, width_m / shape)
    middle_x, middle_y = (west + east) / 2, (south + north) / 2
    axes.set(
        xlim=(middle_x - width_m / 2, middle_x + width_m / 2),
        ylim=(middle_y - height_m / 2, middle_y + height_m / 2),
    )
    axes.tick_params(left=False, bottom=False, labelleft=False, labelbottom=False)
    for spine in axes.spines.values():
        spine.set(visible=True, linewidth=0.6)
    return figure, axes


def _draw_parcels(axes: Axes, parcels: gpd.GeoDataFrame, verdict: Verdict) -> None:
    fill = VERDICT_FILLS[verdict]
    parts = shapely.get_parts(parcels.geometry.to_numpy())
    areas = parts[shapely.get_type_id(parts) == shapely.GeometryType.POLYGON]
    rings = [shapely.get_coordinates(ring) for ring in shapely.get_exterior_ring(areas)]
    if rings:
        axes.add_collection(
            PolyCollection(
                rings,
                facecolor=fill.colour,
                edgecolor=fill.hatch_colour or "#8d8378",
                hatch=HATCHES[fill.hatch],
                linewidth=0.15,
                rasterized=True,
                zorder=2,
            )
        )
    points = shapely.get_coordinates(
        parts[shapely.get_type_id(parts) == shapely.GeometryType.POINT]
    )
    if len(points):
        axes.scatter(
            points[:, 0],
            points[:, 1],
            s=5,
            marker="X" if fill.hatch else "o",
            color=fill.colour,
            edgecolor=INK,
            linewidth=0.2,
            rasterized=True,
            zorder=4,
        )


def _draw_roads(axes: Axes, roads: gpd.GeoDataFrame, *, plain: bool) -> None:
    """Draw the roads: all alike under the parcels, or by the flow held there."""
    lines = [shapely.get_coordinates(line) for line in roads.geometry]
    if plain:
        axes.add_collection(
            LineCollection(lines, color="#8d8378", linewidth=0.4, rasterized=True, zorder=3)
        )
        return
    classes = _flow_classes(roads["sustained_gpm"].to_numpy(dtype=np.float64))
    for number, stroke in enumerate(FLOW_STROKES):
        chosen = [lines[row] for row in np.flatnonzero(classes == number)]
        axes.add_collection(
            LineCollection(
                chosen,
                color=stroke.colour,
                linewidth=stroke.width_px * 0.5,
                linestyle=(0, stroke.dash) if stroke.dash else "-",
                rasterized=True,
                zorder=2 + number,
            )
        )


def _flow_classes(flow_gpm: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return the row of :data:`FLOW_STROKES` of each road; the last where tankers do not go."""
    classes = np.searchsorted(FLOW_BREAKS_GPM, flow_gpm, side="right")
    classes = np.where(flow_gpm == 0, 0, classes)
    return np.where(np.isnan(flow_gpm), len(FLOW_STROKES) - 1, classes)


def _draw_places(axes: Axes, result: Result) -> None:
    """Draw fill sites and stations, and name those for which there is room."""
    taken = _Taken(boxes=[])
    for _, site in result.fill_sites.iterrows():
        sign = site_sign(str(site["kind"]), float(site["rate_gpm"]))
        axes.plot(
            site.geometry.x,
            site.geometry.y,
            marker=_MARKERS[SiteKind(site["kind"])],
            color=sign.fill,
            markeredgecolor=INK,
            markeredgewidth=0.7,
            markersize=6.5,
            zorder=9,
        )
    for _, station in result.stations.iterrows():
        axes.plot(
            station.geometry.x,
            station.geometry.y,
            marker="*",
            color=INK,
            markeredgecolor="white",
            markeredgewidth=0.5,
            markersize=12,
            zorder=10,
        )
    for frame in (result.stations, result.fill_sites):
        for _, place in frame.iterrows():
            x, y = axes.transAxes.inverted().transform(
                axes.transData.transform((place.geometry.x, place.geometry.y))
            )
            taken.boxes.append((x - 0.008, y - 0.008, x + 0.008, y + 0.008))
    stations = [
        (s.geometry, str(s["name"] or s["station_id"])) for _, s in result.stations.iterrows()
    ]
    sites = [(s.geometry, str(s["site_id"])) for _, s in result.fill_sites.iterrows()]
    for point, text in stations:
        _name(axes, taken, point, text, size_pt=_NAME_PT)
    for point, text in sites:
        _name(axes, taken, point, text, size_pt=_LETTER_PT)


def _name(axes: Axes, taken: _Taken, point: shapely.Point, text: str, *, size_pt: float) -> None:
    """Write a name beside its place where it touches nothing else; nowhere if there is no room."""
    width_in, height_in = _SIZE_IN[0] * _FRAME[2], _SIZE_IN[1] * _FRAME[3]
    wide = len(text) * size_pt * _LETTER_WIDTH / 72 / width_in
    high = size_pt * 1.25 / 72 / height_in
    x, y = axes.transAxes.inverted().transform(axes.transData.transform((point.x, point.y)))
    gap = 0.012
    for left, low in (
        (x + gap, y - high / 2),
        (x - gap - wide, y - high / 2),
        (x - wide / 2, y + gap),
        (x - wide / 2, y - gap - high),
    ):
        box = (left, low, left + wide, low + high)
        if taken.free(box):
            taken.boxes.append(box)
            axes.text(
                left + wide / 2,
                low + high / 2,
                text,
                fontsize=size_pt,
                ha="center",
                va="center",
                transform=axes.transAxes,
                zorder=12,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.85},
            )
            return


def _places_legend(figure: Figure, result: Result) -> None:
    kinds = [kind for kind in SiteKind if (result.fill_sites["kind"] == kind).any()]
    handles = [
        Line2D(
            [],
            [],
            marker=_MARKERS[kind],
            color="white",
            markeredgecolor=INK,
            markersize=6,
            linestyle="none",
            label=sentence(KIND_WORDS[kind]),
        )
        for kind in kinds
    ]
    handles.append(
        Line2D([], [], marker="*", color=INK, markersize=10, linestyle="none", label="Station")
    )
    figure.legend(
        handles=handles, loc="lower left", ncols=6, frameon=False, bbox_to_anchor=(0.0, 0.02)
    )
    credit = str(result.inputs.road_credit)
    figure.text(0.998, 0.006, f"{credit}. North is up.", ha="right", va="bottom", fontsize=6)


def _scale_bar(axes: Axes, units: System) -> None:
    low, high = axes.get_xlim()
    step_m = M_PER_MI if units is System.US else 1000.0
    small, unit = (1000 * M_PER_FT, "1,000 ft") if units is System.US else (500.0, "500 m")
    long_m, text = step_m, "1 mi" if units is System.US else "1 km"
    for number in (2, 5, 10, 20, 50):
        if number * step_m < 0.25 * (high - low):
            long_m = number * step_m
            text = f"{number} {'mi' if units is System.US else 'km'}"
    if long_m > 0.4 * (high - low):
        long_m, text = small, unit
    share = long_m / (high - low)
    axes.plot(
        (0.02, 0.02 + share),
        (0.02, 0.02),
        transform=axes.transAxes,
        color=INK,
        linewidth=2.5,
        solid_capstyle="butt",
        zorder=12,
    )
    axes.text(
        0.02 + share / 2,
        0.028,
        text,
        transform=axes.transAxes,
        ha="center",
        va="bottom",
        fontsize=7,
        zorder=12,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8},
    )
