"""A map of the plan on paper: each rung numbered where it stands, with what it lifts."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from haulshed.case import Result
from haulshed.options.choose import Choice, Step
from haulshed.outputs.svg import page, text

Floats = NDArray[np.float64]

_WIDTH_PX, _SIDE_PX = 900, 300
_MAP_PX = _WIDTH_PX - _SIDE_PX - 32
_ROW_PX = 34
_CHARACTERS = 40
#: How the parcels of a rung are drawn: fill and outline, told apart without colour by their signs.
_FILLS = ("#2a2228", "#ab76ad", "#ffffff", "#8f9a7b", "#f0e096", "#d6aed1", "#46523a", "#cfd3c1")
#: Signs in a box of 8 by 8 around 0, 0.
_SIGNS = (
    "M0 -4A4 4 0 1 0 .01 -4Z",
    "M-3.6 -3.6H3.6V3.6H-3.6Z",
    "M0 -4.6L4.2 3.2H-4.2Z",
    "M0 -5L5 0L0 5L-5 0Z",
    "M0 4.6L4.2 -3.2H-4.2Z",
    "M-1.5 -4.5H1.5V-1.5H4.5V1.5H1.5V4.5H-1.5V1.5H-4.5V-1.5H-1.5Z",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sheet:
    """The ground on paper: north up, one scale."""

    low: Floats
    high: Floats

    @property
    def scale(self) -> float:
        """Pixels a metre."""
        return _MAP_PX / float(max(self.high - self.low))

    @property
    def height_px(self) -> int:
        """Height of the map."""
        return int((self.high - self.low)[1] * self.scale) + 24

    def at(self, xy: Floats) -> Floats:
        """Return places of the ground [m] on the sheet [px], (n, 2)."""
        east, south = xy[:, 0] - self.low[0], self.high[1] - xy[:, 1]
        return np.column_stack((16 + east * self.scale, 8 + south * self.scale))


def plan_picture(choice: Choice, base: Result, planned: Result) -> str:
    """Return the map: roads, the parcels that each rung lifts, the new sites by their numbers."""
    lines = base.roads.geometry.to_numpy()
    xy = shapely.get_coordinates(lines)
    sheet = _Sheet(low=xy.min(axis=0), high=xy.max(axis=0))
    parts = [_roads(lines, sheet.at(xy)), *_lifted(choice, base.parcels, sheet)]
    parts += [*_numbers(choice, planned, sheet), *_legend(choice)]
    tall = max(sheet.height_px, 20 + _ROW_PX * (len(choice.ladder) + 1))
    return page(_WIDTH_PX, tall, f"{base.inputs.name}: the plan, and what each part lifts", parts)


def _roads(lines: NDArray[np.object_], places: Floats) -> str:
    starts = np.cumsum(shapely.get_num_coordinates(lines))[:-1]
    paths = []
    for points in np.split(places, starts):
        kept = points[[0, *range(1, len(points) - 1, 3), -1]]
        paths.append("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in kept))
    return f'<path d="{"".join(paths)}" fill="none" stroke="#b9b2a8" stroke-width=".7"/>'


def _sign(number: int, x: float, y: float) -> str:
    return (
        f'<path d="{_SIGNS[number % len(_SIGNS)]}" transform="translate({x:.1f} {y:.1f})"'
        f' fill="{_FILLS[number % len(_FILLS)]}" stroke="#2a2228" stroke-width=".8"/>'
    )


def _lifted(choice: Choice, parcels: gpd.GeoDataFrame, sheet: _Sheet) -> list[str]:
    rows = np.flatnonzero(choice.rung >= 0)
    homes = shapely.get_coordinates(shapely.centroid(parcels.geometry.to_numpy()[rows]))
    return [
        _sign(int(rung), x, y)
        for rung, (x, y) in zip(choice.rung[rows], sheet.at(homes).tolist(), strict=True)
    ]


def _numbers(choice: Choice, planned: Result, sheet: _Sheet) -> list[str]:
    """Return the number of each rung that adds or changes a fill site, where that site is."""
    where = {
        option.name: touch[1]
        for option in choice.plans[0].options
        for change in option.changes
        for touch in change.touches
        if touch[0] == "fill_sites"
    }
    sites = planned.fill_sites
    xy = sheet.at(shapely.get_coordinates(sites.geometry.to_numpy()))
    place = dict(zip(sites["site_id"], xy.tolist(), strict=True))
    return [
        part
        for number, step in enumerate(choice.ladder, start=1)
        if step.option in where
        for part in _badge(number, *place[where[step.option]])
    ]


def _badge(number: int, x: float, y: float) -> list[str]:
    return [
        (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="10" fill="#ffffff" stroke="#2a2228"'
            ' stroke-width="2.4"/>'
        ),
        text(x, y + 4, str(number), size=12, anchor="middle", weight=700),
    ]


def _legend(choice: Choice) -> list[str]:
    left = _WIDTH_PX - _SIDE_PX
    parts = [text(left, 16, "Parcels lifted, by the rung that lifts them", size=12, weight=700)]
    for number, step in enumerate(choice.ladder):
        top = 22 + _ROW_PX * number
        count = int((choice.rung == number).sum())
        parts += [
            *_badge(number + 1, left + 10, top + 16),
            _sign(number, left + 32, top + 16),
            text(left + 44, top + 14, _short(step), size=11.5),
            text(left + 44, top + 27, f"parcels: {count:,}", size=11, ink="#5d535a"),
        ]
    return parts


def _short(step: Step) -> str:
    title = step.title
    return title if len(title) <= _CHARACTERS else title[: _CHARACTERS - 1] + "…"
