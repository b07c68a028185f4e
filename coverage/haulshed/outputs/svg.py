"""Pictures as SVG: text stays text, colours carry a hatch where a grey print needs it."""

from collections.abc import Iterable
from html import escape

from haulshed.case import CAUTION
from haulshed.outputs.palette import INK, Fill

_FONT = "system-ui, 'Segoe UI', Roboto, Helvetica, Arial, sans-serif"
_CAUTION_PX = 14


def page(width: int, height: int, title: str, parts: Iterable[str]) -> str:
    """
    Return a picture with its title above and the caution below.

    `parts` are drawn in a box `width` by `height` [px] that starts at 0, 0 below the title.
    """
    lines = _wrapped(CAUTION, max(40, width // 6))
    top, foot = 44, 12 + _CAUTION_PX * len(lines)
    whole = top + height + foot
    caution = "".join(
        text(16, top + height + 18 + _CAUTION_PX * n, line, size=10, ink="#5d535a")
        for n, line in enumerate(lines)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {whole}" width="{width}"'
        f' height="{whole}" font-family="{_FONT}" role="img" aria-label="{escape(title)}">'
        f'<rect width="{width}" height="{whole}" fill="#ffffff"/>'
        f"{text(16, 28, title, size=17, weight=700)}"
        f'<g transform="translate(0 {top})">{"".join(parts)}</g>{caution}</svg>\n'
    )


def text(  # noqa: PLR0913 — one argument an attribute
    x: float,
    y: float,
    words: str,
    *,
    size: float = 12,
    anchor: str = "start",
    weight: int = 400,
    ink: str = INK,
) -> str:
    """Return a line of text whose base line is at `x`, `y`."""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" font-weight="{weight}"'
        f' text-anchor="{anchor}" fill="{ink}">{escape(words)}</text>'
    )


def box(x: float, y: float, width: float, height: float, fill: str) -> str:
    """Return a rectangle with a thin edge; `fill` is a colour or a reference to a pattern."""
    return (
        f'<rect x="{x:.2f}" y="{y:.2f}" width="{max(width, 0):.2f}" height="{height:.2f}"'
        f' fill="{fill}" stroke="{INK}" stroke-width=".6"/>'
    )


def line(points: Iterable[tuple[float, float]], *, ink: str = INK, width: float = 1) -> str:
    """Return an open line through points."""
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return f'<polyline points="{path}" fill="none" stroke="{ink}" stroke-width="{width:g}"/>'


def hatch(key: str, fill: Fill) -> str:
    """Return a pattern for `fill` that `url(#key)` refers to."""
    strokes = (
        f'<path d="{fill.hatch}" stroke="{fill.hatch_colour}" stroke-width="1.1"/>'
        if fill.hatch
        else ""
    )
    return (
        f'<pattern id="{key}" width="8" height="8" patternUnits="userSpaceOnUse">'
        f'<rect width="8" height="8" fill="{fill.colour}"/>{strokes}</pattern>'
    )


def _wrapped(words: str, limit: int) -> list[str]:
    lines, here = [], ""
    for word in words.split():
        if here and len(here) + 1 + len(word) > limit:
            lines.append(here)
            here = word
        else:
            here = f"{here} {word}".strip()
    return [*lines, here]
