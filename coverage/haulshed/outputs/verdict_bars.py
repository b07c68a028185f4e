"""Bars of the answers, before and after."""

from collections.abc import Mapping, Sequence

from haulshed.outputs.palette import VERDICT_FILLS
from haulshed.outputs.svg import box, hatch, page, text
from haulshed.outputs.wording import sentence
from haulshed.tables.answers import Verdict

_WIDTH_PX = 900
_BAR_PX, _ROW_PX = 26, 58
_LEFT_PX, _RIGHT_PX = 16, 16
#: A count is printed in its part of a bar where that is so wide.
_ROOM_PX = 30
#: Fills on which ink does not show.
_DARK = (Verdict.SHORT, Verdict.NONE)
_CHARACTERS = 110


def verdict_bars(title: str, bars: Sequence[tuple[str, Mapping[Verdict, int]]]) -> str:
    """Return bars, each a name and the parcels by verdict, as an SVG picture."""
    shown = [verdict for verdict in Verdict if any(counts.get(verdict) for _, counts in bars)]
    parts = ["<defs>", *(hatch(_key(one), VERDICT_FILLS[one]) for one in shown), "</defs>"]
    for number, (name, counts) in enumerate(bars):
        parts += _bar(_ROW_PX * number, name, counts, shown)
    top = _ROW_PX * len(bars) + 8
    parts += _legend(top, shown)
    return page(_WIDTH_PX, top + 24, title, parts)


def _key(verdict: Verdict) -> str:
    return f"v-{verdict.replace(' ', '-')}"


def _bar(
    top: float, name: str, counts: Mapping[Verdict, int], shown: Sequence[Verdict]
) -> list[str]:
    total = sum(counts.values()) or 1
    scale = (_WIDTH_PX - _LEFT_PX - _RIGHT_PX) / total
    named = name if len(name) <= _CHARACTERS else name[: _CHARACTERS - 1] + "…"
    parts, left = [text(_LEFT_PX, top + 14, named, size=13, weight=600)], float(_LEFT_PX)
    for verdict in shown:
        wide = counts.get(verdict, 0) * scale
        parts.append(box(left, top + 20, wide, _BAR_PX, f"url(#{_key(verdict)})"))
        if wide > _ROOM_PX:
            parts += _count(left + wide / 2, top + 37, counts[verdict], dark=verdict in _DARK)
        left += wide
    return parts


def _count(x: float, y: float, count: int, *, dark: bool) -> list[str]:
    words = f"{count:,}"
    if not dark:
        return [text(x, y, words, anchor="middle")]
    wide = 7.2 * len(words) + 4
    return [box(x - wide / 2, y - 12, wide, 16, "#ffffff"), text(x, y, words, anchor="middle")]


def _legend(top: float, shown: Sequence[Verdict]) -> list[str]:
    parts, left = [], float(_LEFT_PX)
    for verdict in shown:
        parts += [
            box(left, top, 22, 14, f"url(#{_key(verdict)})"),
            text(left + 28, top + 12, sentence(verdict)),
        ]
        left += 60 + 7.2 * len(verdict)
    return parts
