"""The two small maps of a sheet as SVG: the ways to the fill sites, and the entrance."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import hypot

import numpy as np
import shapely
from numpy.typing import NDArray

from haulshed.assess.drives import SiteDrives
from haulshed.assess.sheets import Sheet
from haulshed.case import Inputs
from haulshed.outputs.palette import INK
from haulshed.outputs.sheet.turns import turned_back
from haulshed.outputs.svg import text
from haulshed.units import M_PER_FT, M_PER_MI, System

Line = NDArray[np.float64]

#: Width and height of the maps [px]; four to a millimetre.
OVERVIEW_PX = (440, 250)
ENTRANCE_PX = (280, 250)

_SOFT, _ROAD, _GROUND = "#6f675e", "#b3aca1", "#f3efe8"
#: The ways to the first and to the second fill site: solid and hollow, told apart in grey and where
#: both run on one road. Ink, width, width of the hollow.
_WAYS = ((INK, 4.4, 0.0), (INK, 4.4, 1.8))
_MARGIN_PX, _DISC_PX = 26, 18
#: Least width of ground on a map [m].
_LEAST_M = 500.0
#: Ground around a property without a way to water [m].
_AROUND_M = 2000.0
#: Wider than this [m] only the roads that lead somewhere are drawn.
_WIDE_M = 12_000.0
_MAJOR = ("motorway", "trunk", "primary", "secondary", "tertiary")
_LETTER_PX, _LETTER_WIDTH = 9.0, 0.62
#: A road is named where so much of it is on the map [px].
_NAMED_PX = 45.0
_NAMES = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """Where ground lies on a map, and what of it is taken by words and signs."""

    west: float
    north: float
    px_per_m: float
    size: tuple[int, int]
    taken: list[tuple[float, float, float, float]] = field(default_factory=list)

    def on_map(self, xy: Line) -> Line:
        """Return places [m] in pixels."""
        return np.column_stack(
            ((xy[:, 0] - self.west) * self.px_per_m, (self.north - xy[:, 1]) * self.px_per_m)
        )

    @property
    def ground(self) -> shapely.Polygon:
        """The ground on the map [m]."""
        width_m, height_m = (length / self.px_per_m for length in self.size)
        return shapely.box(self.west, self.north - height_m, self.west + width_m, self.north)

    def free(self, box: tuple[float, float, float, float]) -> bool:
        """Return whether a box [px] is on the map and touches nothing that is taken."""
        left, top, right, low = box
        if left < 2 or top < 2 or right > self.size[0] - 2 or low > self.size[1] - 2:  # noqa: PLR2004
            return False
        return all(
            right < other[0] or other[2] < left or low < other[1] or other[3] < top
            for other in self.taken
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Backdrop:
    """The district's roads, ready to be drawn in parts."""

    tree: shapely.STRtree
    lines: NDArray[np.object_]
    names: NDArray[np.object_]
    major: NDArray[np.bool_]
    public: NDArray[np.bool_]


def backdrop(inputs: Inputs) -> Backdrop:
    """Return the district's roads, ready to be drawn in parts."""
    segments = inputs.segments
    lines = np.asarray(segments.geometry, dtype=object)
    return Backdrop(
        tree=shapely.STRtree(lines),
        lines=lines,
        names=segments["name"].fillna("").to_numpy(dtype=object),
        major=segments["road_class"].isin(_MAJOR).to_numpy(),
        public=segments["public"].to_numpy(dtype=bool),
    )


def overview(sheet: Sheet, behind: Backdrop, units: System) -> str:
    """Return the map of the ways."""
    sites = [np.array([site.xy]) for site in sheet.sites]
    access = _xy(sheet.access or sheet.structure)
    drawn = [line for site in sheet.sites for line in (site.loaded.line, site.empty.line)]
    around = np.array([[-1.0, -1.0], [1.0, 1.0]]) * (0.0 if sites else _AROUND_M)
    frame = _frame([access + around, *sites, *drawn], OVERVIEW_PX)
    _take(frame, access, *sites)
    ways = [
        part
        for number in range(len(sheet.sites))
        for part in _way(frame, sheet.sites[number], number)
    ]
    signs = [
        *_discs(frame, access, sites),
        (_house if sheet.access is None else _entrance)(frame, access),
    ]
    return _svg(
        frame,
        [*_roads(frame, behind), *ways, *signs, *_way_names(frame, sheet.sites)],
        units,
        "The ways to the fill sites",
    )


def entrance(sheet: Sheet, behind: Backdrop, units: System) -> str:
    """Return the map of the entrance, the parcel and its structure."""
    access, structure = _xy(sheet.access or sheet.structure), _xy(sheet.structure)
    around = np.array([[-1.0, -1.0], [1.0, 1.0]]) * _LEAST_M / 5
    frame = _frame([access + around, structure + around], ENTRANCE_PX)
    _take(frame, access, structure)
    parts = [*_parcel(frame, sheet.shape), *_roads(frame, behind)]
    if sheet.access is not None:
        parts.append(_line(frame, np.concatenate((access, structure)), INK, 1.4, "2 3"))
    parts.append(_house(frame, structure))
    if sheet.access is not None:
        parts.append(_entrance(frame, access))
    return _svg(
        frame, [*parts, *_road_names(frame, behind)], units, "The entrance and the structure"
    )


def _xy(point: shapely.Geometry) -> Line:
    return shapely.get_coordinates(point)


def _frame(lines: Sequence[Line], size: tuple[int, int]) -> _Frame:
    points = np.concatenate([line for line in lines if len(line)])
    low, high = points.min(axis=0), points.max(axis=0)
    room = np.array(size) - 2 * _MARGIN_PX
    spans_m = np.maximum(high - low, 1.0)
    px_per_m = min(float((room / spans_m).min()), size[0] / _LEAST_M)
    middle = (low + high) / 2
    return _Frame(
        west=float(middle[0] - size[0] / 2 / px_per_m),
        north=float(middle[1] + size[1] / 2 / px_per_m),
        px_per_m=px_per_m,
        size=size,
    )


def _take(frame: _Frame, *places: Line) -> None:
    for x, y in np.concatenate([frame.on_map(place) for place in places]).tolist():
        frame.taken.append((x - 10, y - 10, x + 10, y + 10))
    frame.taken.append((0, frame.size[1] - 22, 110, frame.size[1]))  # the scale


def _path(frame: _Frame, xy: Line) -> str:
    places = frame.on_map(xy)
    kept = np.ones(len(places), dtype=bool)
    # Points closer than the pen is wide add nothing.
    kept[1:-1] = np.abs(np.diff(places[:-1], axis=0)).max(axis=1, initial=0.0) > 0.4  # noqa: PLR2004
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in places[kept].tolist())


def _line(frame: _Frame, xy: Line, ink: str, width: float, dash: str = "") -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<path d="{_path(frame, xy)}" fill="none" stroke="{ink}" stroke-width="{width:g}"'
        f' stroke-linejoin="round" stroke-linecap="butt"{dashes}/>'
    )


def _roads(frame: _Frame, behind: Backdrop) -> Iterator[str]:
    wide = frame.size[0] / frame.px_per_m > _WIDE_M
    for row in np.sort(behind.tree.query(frame.ground)).tolist():
        if wide and not behind.major[row]:
            continue
        width = 1.6 if behind.major[row] else 0.9
        xy = shapely.get_coordinates(behind.lines[row])
        yield _line(frame, xy, _ROAD, width, "" if behind.public[row] else "2 2")


def _way(frame: _Frame, site: SiteDrives, number: int) -> Iterator[str]:
    ink, width, hollow = _WAYS[number]
    ways = [site.loaded.line]
    if not turned_back(site.empty, site.loaded):
        ways.append(site.empty.line)
    for line in ways:
        if len(line):
            yield _line(frame, line, ink, width)
            if hollow:
                yield _line(frame, line, "#ffffff", hollow)


def _parcel(frame: _Frame, shape: shapely.Geometry) -> Iterator[str]:
    for part in shapely.get_parts(shape):
        if shapely.get_type_id(part) == shapely.GeometryType.POLYGON:
            path = _path(frame, shapely.get_coordinates(part.exterior))
            yield f'<path d="{path}Z" fill="{_GROUND}" stroke="{_SOFT}" stroke-width="0.8"/>'


def _house(frame: _Frame, xy: Line) -> str:
    x, y = frame.on_map(xy)[0]
    outline = f"M{x - 6:.1f} {y + 6:.1f}v-7l6 -6l6 6v7z"
    return f'<path d="{outline}" fill="{INK}" stroke="#ffffff" stroke-width="1"/>'


def _entrance(frame: _Frame, xy: Line) -> str:
    x, y = frame.on_map(xy)[0]
    outline = f"M{x:.1f} {y - 8:.1f}l8 8l-8 8l-8 -8z"
    return f'<path d="{outline}" fill="#ffffff" stroke="{INK}" stroke-width="2.6"/>'


def _discs(frame: _Frame, access: Line, sites: Sequence[Line]) -> Iterator[str]:
    """Yield the numbers of the fill sites, beside what they would cover."""
    shown = [tuple(frame.on_map(access)[0].tolist())]
    for number, xy in enumerate(sites, start=1):
        x, y = frame.on_map(xy)[0].tolist()
        while any(hypot(x - other[0], y - other[1]) < _DISC_PX for other in shown):
            y -= _DISC_PX / 2
        shown.append((x, y))
        yield _numbered(x, y, str(number))


def _numbered(x: float, y: float, number: str) -> str:
    disc = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="8.5" fill="{INK}" stroke="#ffffff"/>'
    return disc + text(x, y + 3.8, number, size=11, anchor="middle", weight=700, ink="#ffffff")


def _way_names(frame: _Frame, sites: Sequence[SiteDrives]) -> Iterator[str]:
    """Yield the names of the roads of the ways, the longest stretches first."""
    stretches: dict[str, tuple[float, float, float]] = {}
    for site in sites:
        at_m = 0.0
        line = shapely.LineString(site.loaded.line) if len(site.loaded.line) > 1 else None
        for step in site.loaded.steps:
            length_m = step.miles * M_PER_MI
            if step.name and line is not None:
                middle = line.interpolate(at_m + length_m / 2)
                known = stretches.get(step.name, (0.0, 0.0, 0.0))
                stretches[step.name] = max(known, (length_m, middle.x, middle.y))
            at_m += length_m
    yield from _names(frame, stretches)


def _road_names(frame: _Frame, behind: Backdrop) -> Iterator[str]:
    stretches: dict[str, tuple[float, float, float]] = {}
    for row in np.sort(behind.tree.query(frame.ground)).tolist():
        seen = shapely.intersection(behind.lines[row], frame.ground)
        name = str(behind.names[row])
        if name and seen.length:
            middle = shapely.line_interpolate_point(
                max(shapely.get_parts(seen), key=shapely.length), 0.5, normalized=True
            )
            known = stretches.get(name, (0.0, 0.0, 0.0))
            stretches[name] = max(known, (seen.length, middle.x, middle.y))
    yield from _names(frame, stretches)


def _names(frame: _Frame, stretches: dict[str, tuple[float, float, float]]) -> Iterator[str]:
    longest = sorted(stretches.items(), key=lambda one: (-one[1][0], one[0]))
    for name, (length_m, east, north) in longest[:_NAMES]:
        if length_m * frame.px_per_m >= _NAMED_PX:
            x, y = frame.on_map(np.array([[east, north]]))[0]
            yield from _named(frame, name, float(x), float(y))


def _named(frame: _Frame, name: str, x: float, y: float) -> Iterator[str]:
    """Yield a name beside a place, where it touches nothing; nothing if there is no room."""
    wide, high = len(name) * _LETTER_PX * _LETTER_WIDTH + 4, _LETTER_PX * 1.3
    for left, top in (
        (x - wide / 2, y - high - 4),
        (x - wide / 2, y + 4),
        (x + 5, y - high / 2),
        (x - wide - 5, y - high / 2),
    ):
        box = (left, top, left + wide, top + high)
        if frame.free(box):
            frame.taken.append(box)
            yield (
                f'<rect x="{left:.1f}" y="{top:.1f}" width="{wide:.1f}" height="{high:.1f}"'
                ' fill="#ffffff" fill-opacity="0.85"/>'
            )
            yield text(left + wide / 2, top + high - 3.2, name, size=_LETTER_PX, anchor="middle")
            return


def _scale(frame: _Frame, units: System) -> Iterator[str]:
    steps = (
        [(feet * M_PER_FT, f"{feet:,} ft") for feet in (100, 200, 500, 1000)]
        + [(miles * M_PER_MI, f"{miles:g} mi") for miles in (0.5, 1, 2, 5, 10, 20)]
        if units is System.US
        else [(metres, f"{metres} m") for metres in (50, 100, 200, 500)]
        + [(km * 1000, f"{km} km") for km in (1, 2, 5, 10, 20, 50)]
    )
    fitting = [step for step in steps if step[0] * frame.px_per_m <= 90] or steps[:1]  # noqa: PLR2004
    long_m, words = fitting[-1]
    y = frame.size[1] - 7
    yield f'<rect x="0" y="{y - 14}" width="{long_m * frame.px_per_m + 14:.1f}" height="21"'
    yield ' fill="#ffffff" fill-opacity="0.85"/>'
    yield f'<path d="M7 {y - 4}v4h{long_m * frame.px_per_m:.1f}v-4" fill="none" stroke="{INK}"/>'
    yield text(10, y - 4, words, size=8.5)


def _svg(frame: _Frame, parts: Sequence[str], units: System, title: str) -> str:
    width, height = frame.size
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}"'
        f' height="{height}" font-family="DejaVu Sans"><title>{title}</title>'
        f'<rect width="{width}" height="{height}" fill="#ffffff"/>{"".join(parts)}'
        f"{''.join(_scale(frame, units))}"
        f'<rect x="0.5" y="0.5" width="{width - 1}" height="{height - 1}" fill="none"'
        f' stroke="{_SOFT}"/></svg>\n'
    )
