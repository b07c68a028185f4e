"""The panel beside the map: what each colour and sign means, how many, and what is shown."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from html import escape

import numpy as np
import pandas as pd

from haulshed.case import Result
from haulshed.outputs.map_clock import not_played
from haulshed.outputs.map_data import flow_classes, not_supplied
from haulshed.outputs.map_states import State, by_state, state_choice
from haulshed.outputs.palette import (
    FLOW_BREAKS_GPM,
    FLOW_FILLS,
    FLOW_STROKES,
    GAIN_BREAKS_GPM,
    GAIN_FILLS,
    HYDRANT_SIGNS,
    INK,
    KIND_SIGNS,
    NO_STOP,
    STATION_SIGN,
    VERDICT_FILLS,
    Fill,
    Sign,
    Stroke,
    site_sign,
)
from haulshed.outputs.popups import known
from haulshed.outputs.wording import KIND_WORDS, VERDICT_MEANS, Wording, sentence
from haulshed.tables.answers import Verdict

#: From as many rows on, some share a pixel when the whole district is in view.
CROWDED = 20_000

_CROSS = f'<path d="M7 3L15 11M7 11L15 3" stroke="{INK}" stroke-width="2"/>'
_UNUSED = (
    f'<rect x="5" y="1.5" width="12" height="12" fill="#fff" stroke="{INK}" stroke-width="1.5"'
    ' stroke-dasharray="3 2.5"/>'
)
_PLUS = f'<path d="M11 2V12M6 7H16" stroke="{INK}" stroke-width="2.6"/>'
_DOT = f'<circle cx="11" cy="7" r="4" fill="{INK}"/>'


def panel(result: Result, wording: Wording, states: Sequence[State] = ()) -> str:
    """Return the panel as HTML; with several `states` of the district, a choice among them."""
    return "".join(
        (
            '<aside id="panel" aria-label="Legend and layers">',
            state_choice(states),
            _parcels(result, wording, states),
            _marks(result, states),
            _roads(result, wording),
            _fill_sites(result, wording),
            _stations(result),
            '<p class="note">Flows are planning bounds, rounded down to',
            f" {wording.flow_step}. Click a parcel, road or sign for its figures.</p>",
            f'<p class="note popups">{not_played(result)}</p>' if result.build_ups is None else "",
            "</aside>",
        )
    )


def shares(counts: Sequence[int]) -> list[str]:
    """
    Return each count with its share of all.

    Examples
    --------
    >>> shares([1, 3])
    ['1 (25 %)', '3 (75 %)']
    >>> shares([0])
    ['0 (0 %)']
    """
    total = sum(counts) or 1
    return [f"{count:,} ({100 * count / total:.0f} %)" for count in counts]


def flow_labels(wording: Wording) -> list[str]:
    """
    Return the label of each flow class, none first.

    Examples
    --------
    >>> from haulshed.units import System
    >>> flow_labels(Wording(system=System.US))
    ['none', 'under 250 gpm', '250 to 500 gpm', '500 to 1,000 gpm', '1,000 gpm and more']
    """
    ends = [*FLOW_BREAKS_GPM[1:], None]
    return [
        "none",
        *(range_label(*ends, wording) for ends in zip(FLOW_BREAKS_GPM, ends, strict=True)),
    ]


def range_label(low_gpm: float, high_gpm: float | None, wording: Wording) -> str:
    """
    Return a range of flows [gpm], the lower end within it, in words.

    Examples
    --------
    >>> from haulshed.units import System
    >>> range_label(250, 500, Wording(system=System.SI))
    '946 to 1,893 L/min'
    """
    if high_gpm is None:
        return f"{wording.whole(low_gpm, 'gpm')} and more"
    high = wording.whole(high_gpm, "gpm")
    return f"{wording.whole(low_gpm, 'gpm').split()[0]} to {high}" if low_gpm else f"under {high}"


def _parcels(result: Result, wording: Wording, states: Sequence[State]) -> str:
    drawn = result.parcels["held_90_gpm"].notna().any()
    ways = (
        ("verdict", "by answer", " checked"),
        ("flow", "by flow", ""),
        *([("held90", "held 9 times in 10", "")] if drawn else []),
        *([("gain", "by gain", "")] if states else []),
        ("", "hidden", ""),
    )
    choices = "".join(
        f'<label><input type="radio" name="parcels" value="{value}"{checked}> {word}</label>'
        for value, word, checked in ways
    )
    every: Sequence[Result | State] = states or (result,)
    tables = [_counts(one, wording, number) for number, one in enumerate(every)]
    return (
        f"<fieldset><legend><span>Parcels</span><span>{len(result.parcels):,}</span></legend>"
        f'<div class="choices">{choices}</div>{by_state(tables)}{_drawn_as_one(result)}</fieldset>'
    )


def _drawn_as_one(result: Result) -> str:
    """Return what a map does with more than the eye can tell apart, if it has as much."""
    if max(len(result.parcels), len(result.roads)) < CROWDED:
        return ""
    return (
        '<p class="note">From afar, parcels or roads of one colour that fall on one pixel are drawn'
        " as one. Zoom in to tell them apart; all are there, and all are counted here.</p>"
    )


def _counts(of: Result | State, wording: Wording, state: int) -> str:
    """Return the parcels' legends, with the counts of one `state` of the district."""
    frame = of.parcels
    counts = [int((frame["verdict"] == verdict).sum()) for verdict in Verdict]
    by_verdict = [
        _row(_area(VERDICT_FILLS[v], f"v{state}-{n}"), sentence(v), share, VERDICT_MEANS[v])
        for n, (v, share) in enumerate(zip(Verdict, shares(counts), strict=True))
    ]
    return "".join(
        (
            _table("parcels:verdict", by_verdict),
            _table("parcels:flow", _flows(frame["sustained_gpm"], wording, f"f{state}")),
            _held_90(frame, wording, state),
            _gains(of, wording, state) if isinstance(of, State) else "",
        )
    )


def _flows(flow_gpm: "pd.Series[float]", wording: Wording, name: str) -> list[str]:
    """Return the legend of parcels by a flow, each class with its count."""
    classes = flow_classes(flow_gpm.fillna(0.0))
    in_class = np.bincount(classes, minlength=len(FLOW_FILLS)).tolist()
    return [
        _row(_area(fill, f"{name}-{n}"), sentence(label), share)
        for n, (fill, label, share) in enumerate(
            zip(FLOW_FILLS, flow_labels(wording), shares(in_class), strict=True)
        )
    ]


def _held_90(frame: pd.DataFrame, wording: Wording, state: int) -> str:
    """Return the legend of parcels by the flow held 9 times in 10, if incidents were drawn."""
    if not frame["held_90_gpm"].notna().any():
        return ""
    return (
        _table("parcels:held90", _flows(frame["held_90_gpm"], wording, f"h{state}"))
        + '<p data-for="parcels:held90">Flow of the last hour in nine incidents of ten: times vary,'
        " and units stay away as the apparatus table says.</p>"
    )


def _gains(state: State, wording: Wording, number: int) -> str:
    in_class = np.bincount(state.gain, minlength=len(GAIN_FILLS)).tolist()
    lines = [
        _row(_area(fill, f"g{number}-{n}"), sentence(label), share)
        for n, (fill, label, share) in enumerate(
            zip(GAIN_FILLS, gain_labels(wording), shares(in_class), strict=True)
        )
    ]
    return _table("parcels:gain", lines)


def gain_labels(wording: Wording) -> list[str]:
    """
    Return the label of each class of gain: less, none, then one a break.

    Examples
    --------
    >>> from haulshed.units import System
    >>> gain_labels(Wording(system=System.US))
    ['less flow', 'no change', 'under 100 gpm more', '100 to 250 gpm more', '250 gpm and more']
    """
    ends = zip(GAIN_BREAKS_GPM, (*GAIN_BREAKS_GPM[1:], None), strict=True)
    labels = [range_label(low, high, wording) for low, high in ends]
    return ["less flow", "no change", *(f"{one} more" for one in labels[:-1]), labels[-1]]


def _marks(result: Result, states: Sequence[State]) -> str:
    every = states or (result,)
    crosses = by_state([f"{int(not_supplied(one.parcels).sum()):,}" for one in every])
    dots = by_state([f"{int(one.parcels['tight'].sum()):,}" for one in every])
    lifted = by_state([f"{sum(one.lifted):,}" for one in states])
    plus = _switch("lifted", "Lifted to its needed flow", _small(_PLUS), lifted) if states else ""
    return "".join(
        (
            plus,
            _switch("cross", "A dump site cannot be supplied", _small(_CROSS), crosses),
            '<p data-for="cross">From afar one mark stands for several.</p>',
            _switch("tight", "Tight: little to spare", _small(_DOT), dots),
            '<p data-for="tight">The need is held on paper, but not with the largest tanker out,',
            " or with a margin under 15 %.</p>",
        )
    )


def _roads(result: Result, wording: Wording) -> str:
    there = set(flow_classes(result.roads["sustained_gpm"]).tolist())
    labels = [*flow_labels(wording), "no stop, or not for tankers"]
    lines = [
        _row(_line(stroke), sentence(label), "")
        for number, (stroke, label) in enumerate(zip(FLOW_STROKES, labels, strict=True))
        if number != NO_STOP or number in there
    ]
    return _switch("roads", "Roads, by the flow held there") + _table("roads", lines)


def _fill_sites(result: Result, wording: Wording) -> str:
    frame = result.fill_sites
    drawn = Counter(map(site_sign, frame["kind"], frame["rate_gpm"]))
    named = [
        *((sign, f"Hydrant, {label}") for sign, label in _hydrants(wording)),
        *((sign, sentence(KIND_WORDS[kind])) for kind, sign in KIND_SIGNS.items()),
    ]
    lines = [_row(_sign(sign), label, f"{drawn[sign]:,}") for sign, label in named if drawn[sign]]
    unused = sum(map(known, frame["why_not"]))
    if unused:
        lines.append(_row(_small(_UNUSED), "Of no use now", f"{unused:,}"))
    return _switch("sites", "Fill sites", "", f"{len(frame):,}") + _table("sites", lines)


def _hydrants(wording: Wording) -> Iterator[tuple[Sign, str]]:
    """Return each hydrant sign with the range of its class, most flow first."""
    ends = [*(least for least, _ in HYDRANT_SIGNS[1:]), None]
    for (least, sign), end in reversed(list(zip(HYDRANT_SIGNS, ends, strict=True))):
        yield sign, range_label(least, end, wording)


def _stations(result: Result) -> str:
    return _switch("stations", "Stations", _sign(STATION_SIGN), f"{len(result.stations):,}")


def _switch(name: str, title: str, swatch: str = "", count: str = "") -> str:
    return (
        f'<label class="switch" data-for="{name}"><input type="checkbox" name="{name}" checked>'
        f"{swatch}<span>{escape(title)}</span><span>{count}</span></label>"
    )


def _table(shown_with: str, lines: Iterable[str]) -> str:
    return f'<table data-for="{shown_with}">{"".join(lines)}</table>'


def _row(swatch: str, label: str, count: str, means: str = "") -> str:
    line = f"<tr><td>{swatch}</td><td>{escape(label)}</td><td>{escape(count)}</td></tr>"
    if not means:
        return line
    return f'{line}<tr><td></td><td colspan="2"><small>{escape(means)}</small></td></tr>'


def _small(drawing: str) -> str:
    return f'<svg width="22" height="15" viewBox="0 0 22 15" aria-hidden="true">{drawing}</svg>'


def _area(fill: Fill, key: str) -> str:
    box = f'<rect x=".5" y=".5" width="21" height="14" fill="{{}}" stroke="{INK}"/>'
    if not fill.hatch:
        return _small(box.format(fill.colour))
    return _small(
        f'<pattern id="{key}" width="8" height="8" patternUnits="userSpaceOnUse">'
        f'<path d="{fill.hatch}" stroke="{fill.hatch_colour}" stroke-width="1.1"/></pattern>'
        f"{box.format(fill.colour)}{box.format(f'url(#{key})')}"
    )


def _line(stroke: Stroke) -> str:
    dashes = f' stroke-dasharray="{" ".join(f"{d:g}" for d in stroke.dash)}"' if stroke.dash else ""
    return _small(
        f'<path d="M0 7.5H22" stroke="{stroke.colour}" stroke-width="{stroke.width_px:g}"{dashes}/>'
    )


def _sign(sign: Sign) -> str:
    return (
        '<svg width="18" height="18" viewBox="-2 -2 24 24" aria-hidden="true">'
        f'<path d="{sign.outline}" fill="{sign.fill}" stroke="{INK}" stroke-width="1.8"/>'
        f'<text x="10" y="14" text-anchor="middle" font-size="11" font-weight="700"'
        f' fill="{sign.ink}">{escape(sign.letter)}</text></svg>'
    )
