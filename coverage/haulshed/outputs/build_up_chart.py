"""One incident drawn from dispatch on: stages, gaps, water and flow, and the sources below."""

import textwrap
from collections.abc import Iterator, Sequence
from html import escape

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.build_up import BuildUp, SourceLevel
from haulshed.case import CAUTION
from haulshed.clock.story import Story, Supply
from haulshed.outputs.palette import INK, SLANTED
from haulshed.outputs.whole_file import MADE_BY
from haulshed.outputs.wording import Wording, minute
from haulshed.units import System

Floats = NDArray[np.float64]

#: The picture and the part of it that the axes span [px].
_WIDTH, _LEFT, _RIGHT = 900.0, 92.0, 720.0
#: Heights of the parts [px].
_STRIP, _WATER, _FLOW, _SOURCE, _SPACE = 20.0, 210.0, 90.0, 70.0, 34.0
#: Where the first strip begins [px].
_TOP = 58.0
#: Marks on the axis of time [min], and from how many minutes on the long ones.
_MARKS_MIN, _LONG_MARKS_MIN, _LONG_MIN = 15.0, 60.0, 240.0
#: A point this near to the line between its neighbours is left out [px].
_ON_LINE = 0.05
#: Least distance between two texts that stand one above the other [px].
_LINE = 15.0
#: About how wide a letter is [px].
_LETTER = 6.3
#: Characters of the caution on one line.
_CAUTION_CHARS = 132
#: Steps that an axis may be divided by.
_STEPS = (1, 2, 2.5, 5, 10)
#: Sources whose levels are drawn, at most.
_SOURCES_SHOWN = 3

_MUTED, _RULE = "#6d6168", "#d9d3d6"
_HATCH = (
    '<defs><pattern id="gap" width="8" height="8" patternUnits="userSpaceOnUse">'
    f'<path d="{SLANTED}" stroke="{INK}" stroke-width="1.2"/></pattern></defs>'
)
#: How each way of supply is drawn and called.
BANDS = {
    Supply.OWN_TANK: ("#ffffff", "own tank"),
    Supply.NURSE: ("#e4d3e2", "nurse"),
    Supply.DUMP_SITE: ("#b48ab5", "dump site"),
}


def build_up_svg(played: BuildUp, *, system: System) -> str:
    """Return the picture of an incident in one unit system."""
    title = escape(f"Parcel {played.parcel_id}: {played.verdict}")
    chart = _Chart(played.story, played.sources[:_SOURCES_SHOWN], Wording(system=system))
    height, parts = chart.parts() if played.story.supply else (_TOP, [])
    caution = textwrap.wrap(CAUTION, _CAUTION_CHARS)
    total = height + 26 + 13 * len(caution)
    size = f'width="{_WIDTH:.0f}" height="{total:.0f}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH:.0f} {total:.0f}" {size}'
    return "\n".join(
        (
            f'{head} font-family="sans-serif" fill="{INK}" role="img" aria-label="{title}">',
            f"<title>{title}</title>",
            f"<!-- {MADE_BY} -->",
            _HATCH,
            f'<rect {size} fill="#ffffff"/>',
            f'<text x="{_LEFT:.0f}" y="26" font-size="16" font-weight="bold">{title}</text>',
            _text(_LEFT, 44, _moments(played.story)),
            *parts,
            *(
                _text(_LEFT, height + 18 + 13 * at, line, size=10, fill=_MUTED)
                for at, line in enumerate(caution)
            ),
            "</svg>\n",
        )
    )


class _Chart:
    """The axes and everything along them."""

    def __init__(self, story: Story, sources: Sequence[SourceLevel], wording: Wording) -> None:
        self._story, self._sources, self._wording = story, sources, wording
        self._end_min = story.end_min

    def parts(self) -> tuple[float, list[str]]:
        """Return how high all of it is, and its elements."""
        found: list[str] = []
        top = _TOP
        found += self._strips(top)
        top += 3 * _STRIP + 24
        found += self._water(top)
        top += _WATER + _SPACE
        found += self._flow(top)
        top += _FLOW
        if self._sources:
            top += _SPACE
            found += self._levels(top)
            top += _SOURCE
        return top + 36, [*found, *self._minutes(top)]

    def _x(self, minute_: float) -> float:
        return _LEFT + (_RIGHT - _LEFT) * minute_ / self._end_min

    def _strips(self, top: float) -> Iterator[str]:
        """Yield what is asked for, and by what it is supplied."""
        yield _text(_LEFT - 8, top + 14, "asked", anchor="end", fill=_MUTED)
        for band in self._story.asked:
            what = f"{band.asked.value.removesuffix(' flow')} {self._wording.need(band.gpm)}"
            yield from self._band(top, band.from_min, band.to_min, "#ffffff", what)
        top += _STRIP
        yield _text(_LEFT - 8, top + 14, "from", anchor="end", fill=_MUTED)
        for supplied in self._story.supply:
            fill, what = BANDS[supplied.supply]
            yield from self._band(top, supplied.from_min, supplied.to_min, fill, what)
        yield _text(_RIGHT + 8, top + 14, "(white: the engine's tank)", fill=_MUTED)
        yield from self._gaps(top + _STRIP)

    def _band(
        self, top: float, from_min: float, to_min: float, fill: str, what: str
    ) -> Iterator[str]:
        left, right = self._x(from_min), self._x(to_min)
        yield (
            f'<rect x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}" height="{_STRIP:.0f}"'
            f' fill="{fill}" stroke="{INK}" stroke-width="0.8"/>'
        )
        short = what.partition(" ")[0]
        for text in (what, short):
            if len(text) * _LETTER + 6 <= right - left:
                yield _text((left + right) / 2, top + 14, text, anchor="middle")
                return

    def _gaps(self, top: float) -> Iterator[str]:
        """Yield the gaps as a strip of their own, with how long they are in all."""
        yield _text(_LEFT - 8, top + 14, "gaps", anchor="end", fill=_MUTED)
        yield (
            f'<rect x="{_LEFT:.1f}" y="{top:.1f}" width="{_RIGHT - _LEFT:.1f}"'
            f' height="{_STRIP:.0f}" fill="none" stroke="{_RULE}"/>'
        )
        total_min = 0.0
        for gap in self._story.gaps:
            left = self._x(gap.from_min)
            total_min += gap.to_min - gap.from_min
            yield (
                f'<rect x="{left:.1f}" y="{top + 2:.1f}" height="{_STRIP - 4:.0f}"'
                f' width="{max(self._x(gap.to_min) - left, 1.5):.1f}" fill="url(#gap)"'
                f' stroke="{INK}" stroke-width="0.6"/>'
            )
        words = f"{len(self._story.gaps)}, {total_min:,.0f} min in all" if total_min else "none"
        yield _text(_RIGHT + 8, top + 14, words)

    def _water(self, top: float) -> Iterator[str]:
        levels = self._story.levels
        most = float(max(levels.asked_gal.max(), levels.delivered_gal.max()))
        scale = _Scale(most, top, _WATER)
        yield from scale.grid(self._wording, "gal", "water since dispatch")
        yield self._line(levels.asked_gal, scale, dash="7 4", width=1.6)
        yield self._line(levels.delivered_gal, scale, width=2.6)
        ends = (
            (levels.delivered_gal[-1], "on the fire:"),
            (levels.asked_gal[-1], "asked, dashed:"),
        )
        yield from self._ends(
            [(scale.y(gal), f"{what} {self._wording.whole(gal, 'gal')}") for gal, what in ends]
        )

    def _flow(self, top: float) -> Iterator[str]:
        """Yield the flow as it changes, and what is asked for."""
        minutes, gpm = self._story.levels.time_min, self._story.gpm
        asked = max((band.gpm for band in self._story.asked), default=0.0)
        scale = _Scale(float(max(gpm.max(initial=0.0), asked)), top, _FLOW)
        yield from scale.grid(self._wording, "gpm", "flow on the fire")
        points = [f"{self._x(minutes[0]):.1f},{scale.bottom:.1f}"]
        for at, flow in enumerate(gpm):
            edges = (minutes[at], minutes[at + 1])
            points += [f"{self._x(edge):.1f},{scale.y(flow):.1f}" for edge in edges]
        points.append(f"{self._x(minutes[-1]):.1f},{scale.bottom:.1f}")
        yield f'<polygon points="{" ".join(points)}" fill="#8d8378" fill-opacity="0.55"/>'
        for band in self._story.asked:
            y = scale.y(band.gpm)
            yield (
                f'<path d="M{self._x(band.from_min):.1f} {y:.1f}H{self._x(band.to_min):.1f}"'
                f' stroke="{INK}" stroke-width="1.6" stroke-dasharray="7 4"/>'
            )

    def _levels(self, top: float) -> Iterator[str]:
        """Yield the sources' levels, as a share of what they held at dispatch."""
        scale = _Scale(1.0, top, _SOURCE)
        yield from scale.shares("left in the source")
        ends = []
        for at, source in enumerate(self._sources):
            share = source.level_gal / source.level_gal[0]
            yield self._line(share, scale, dash=("", "2 3", "9 3 2 3")[at], width=1.8)
            left = self._wording.whole(float(source.level_gal[-1]), "gal")
            ends.append((scale.y(float(share[-1])), f"{source.name}: {left}"))
        yield from self._ends(ends)

    def _line(self, values: Floats, scale: "_Scale", *, dash: str = "", width: float) -> str:
        minutes = self._story.levels.time_min
        path = _thinned([(self._x(m), scale.y(v)) for m, v in zip(minutes, values, strict=True)])
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in path)
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        return (
            f'<polyline points="{points}" fill="none" stroke="{INK}"'
            f' stroke-width="{width}"{dashed}/>'
        )

    def _ends(self, ends: list[tuple[float, str]]) -> Iterator[str]:
        """Yield the names of lines where they end, one below the other."""
        below = -np.inf
        for y, what in sorted(ends):
            at = max(y + 4, below + _LINE)
            below = at
            lines = textwrap.wrap(what, int((_WIDTH - _RIGHT - 12) / _LETTER))
            for number, line in enumerate(lines):
                yield _text(_RIGHT + 8, at + number * 13, line)
            below = at + (len(lines) - 1) * 13

    def _minutes(self, bottom: float) -> Iterator[str]:
        """Yield the axis of time under the last part."""
        step = _MARKS_MIN if self._end_min <= _LONG_MIN else _LONG_MARKS_MIN
        for mark in np.arange(0, self._end_min + 1e-9, step):
            x = self._x(float(mark))
            yield f'<path d="M{x:.1f} {bottom:.1f}v5" stroke="{INK}"/>'
            yield _text(x, bottom + 18, f"{mark:.0f}", anchor="middle")
        yield _text(_RIGHT + 8, bottom + 18, "min from dispatch", fill=_MUTED)


class _Scale:
    """An upright axis from 0 to a round figure."""

    def __init__(self, most: float, top: float, height: float) -> None:
        self.top, self.bottom = top, top + height
        self.step = _round_step(most / 4) if most > 0 else 1.0
        self.most = max(np.ceil(most / self.step - 1e-9), 1) * self.step

    def y(self, value: float) -> float:
        """Return the height of a value on the page."""
        return float(self.bottom - (self.bottom - self.top) * value / self.most)

    def grid(self, wording: Wording, unit: str, what: str) -> Iterator[str]:
        """Yield rules with their figures and what they measure."""
        marks = np.arange(0, self.most + self.step / 2, self.step)
        yield from self._rules([(float(mark), wording.whole(float(mark), unit)) for mark in marks])
        yield _text(_LEFT + 4, self.top - 6, what, fill=_MUTED)

    def shares(self, what: str) -> Iterator[str]:
        """Yield rules of an axis of shares."""
        yield from self._rules([(0.0, "0 %"), (0.5, "50 %"), (1.0, "100 %")])
        yield _text(_LEFT + 4, self.top - 6, what, fill=_MUTED)

    def _rules(self, marks: list[tuple[float, str]]) -> Iterator[str]:
        for mark, figure in marks:
            y = self.y(mark)
            yield f'<path d="M{_LEFT:.0f} {y:.1f}H{_RIGHT:.0f}" stroke="{_RULE}"/>'
            yield _text(_LEFT - 8, y + 4, figure, anchor="end")


def _round_step(least: float) -> float:
    """
    Return the next round figure.

    Examples
    --------
    >>> _round_step(13000.0), _round_step(130.0)
    (20000.0, 200.0)
    """
    power = 10.0 ** np.floor(np.log10(least))
    return float(next(step * power for step in _STEPS if step * power >= least * (1 - 1e-9)))


def _moments(story: Story) -> str:
    """Return what happens when, in one sentence."""
    known = [
        (what, at)
        for what, at in (
            ("first water", story.first_water_min),
            ("nurse stage", story.nurse_min),
            ("dump site ready", story.dump_site_min),
        )
        if not np.isnan(at)
    ]
    if not known:
        return "No engine comes: no water."
    held = story.held_from_min
    last = "the flow is not held" if np.isnan(held) else f"held from minute {minute(held)}"
    return ", ".join(f"{what} minute {minute(at)}" for what, at in known).capitalize() + f"; {last}"


def _thinned(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return a line without the points that lie on it to within a tenth of a pixel."""
    kept = points[:1]
    for at in range(1, len(points) - 1):
        (x0, y0), (x1, y1), (x2, y2) = kept[-1], points[at], points[at + 1]
        on_line = y0 if x2 == x0 else y0 + (y2 - y0) * (x1 - x0) / (x2 - x0)
        if abs(y1 - on_line) > _ON_LINE or x2 == x0:
            kept.append(points[at])
    return [*kept, *points[-1:]] if len(points) > 1 else kept


def _text(
    x: float, y: float, text: str, *, size: int = 11, anchor: str = "start", fill: str = INK
) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" text-anchor="{anchor}"'
        f' fill="{fill}">{escape(text)}</text>'
    )
