"""What a drill's log says, as text: what was measured, the flow explained, what to do."""

import math
import textwrap
from collections.abc import Iterator

from haulshed.case import CAUTION
from haulshed.crosscheck.calibrate import Drill
from haulshed.crosscheck.drill_flow import Flow
from haulshed.crosscheck.drill_rows import Row
from haulshed.crosscheck.interval import FEW, Mean
from haulshed.outputs.wording import MINUS

_WIDTH = 98
#: Marks a figure whose interval does not hold what was assumed.
_OFF = "*"
#: Columns of the table of figures that stand to the left.
_LEFT = {0, 1, 6}
#: From here on a figure shows no decimals.
_WHOLE = 100


def drill_text(drill: Drill) -> str:
    """Return the page for a terminal."""
    parts = (_head(drill), _measured(drill), _waits(drill), _flow(drill), _next(drill))
    texts = ["\n".join(part) for part in parts]
    return "\n\n".join((*texts, textwrap.fill(CAUTION, _WIDTH)))


def _head(drill: Drill) -> list[str]:
    who = ", ".join(drill.units)
    lines = [
        f"Drill: {_count(len(drill.units), 'tanker')} ({who})",
        f"  {drill.events:,} events in {drill.lasted_min:,.0f} min",
    ]
    if drill.loads:
        lines.append(f"  {drill.loads:,} loads unloaded, {drill.unloaded_gal:,.0f} gal")
    return [*lines, *(f"  {note}" for note in drill.notes)]


def _measured(drill: Drill) -> list[str]:
    heads = ("what", "of", "mean", "95 % interval", "count", "assumed", "")
    one_site = set(drill.sites) if len(drill.sites) == 1 else set()
    cells = [heads, *(_cells(row) for row in drill.rows if row.of not in one_site)]
    widths = [max(len(row[at]) for row in cells) for at in range(len(heads))]
    lines = [
        "   "
        + "  ".join(
            text.ljust(width) if at in _LEFT else text.rjust(width)
            for at, (text, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in cells
    ]
    return [
        "1. What was measured (handling is the stay without waiting and without flowing water)",
        *lines,
        f"   {_OFF} the interval does not hold what was assumed",
        *_too_few(drill),
    ]


def _cells(row: Row) -> tuple[str, ...]:
    measured = row.measured
    off = row.assumed < measured.low or row.assumed > measured.high
    interval = (
        "one value"
        if measured.count == 1
        else f"{_figure(measured.low)} to {_figure(measured.high)}"
    )
    return (
        row.what,
        row.of or "all",
        f"{_figure(measured.mean)} {row.unit}",
        interval,
        str(measured.count),
        "" if math.isnan(row.assumed) else _figure(row.assumed),
        _OFF if off else "",
    )


def _too_few(drill: Drill) -> Iterator[str]:
    few = sum(row.measured.few for row in drill.rows)
    if few:
        yield f"   {few} of these rest on fewer than {FEW} values, too few to build on: drill again"


def _waits(drill: Drill) -> list[str]:
    lines = ["2. Waiting behind others (first come, first served)"]
    for where, mean in (("to fill", drill.waiting_fill), ("to unload", drill.waiting_dump)):
        if mean.count:
            lines.append(f"   {where}: {mean.mean:.1f} min a visit, over {mean.count} visits")
    return lines


def _flow(drill: Drill) -> list[str]:
    flow = drill.flow
    if flow is None:
        return [
            "3. Flow: cannot be explained. It takes a log of both places, and a tanker that comes",
            "   to the dump site twice.",
        ]
    return [
        f"3. Flow of {_count(len(flow.units), 'tanker')} over {_count(flow.rounds, 'whole round')}",
        _line("predicted with what was assumed", flow.assumed_gpm),
        *(_line(f"  {term.what}", term.change_gpm, signed=True) for term in flow.terms[:-1]),
        _line("predicted with what was measured, at constant times", flow.measured_gpm),
        _line(f"  {flow.terms[-1].what}", flow.terms[-1].change_gpm, signed=True),
        _line("held (loads of whole rounds over their time)", flow.held_gpm),
        "   Each line puts one measured figure in the place of the assumed one, in this order, and",
        "   they add up; another order would share out the same difference a little differently.",
        f"   {_between(flow)}",
        *_left_out(drill, flow),
    ]


def _between(flow: Flow) -> str:
    return (
        f"Were every time as uneven as an exponential one, it would be {flow.uneven_gpm:,.0f} gpm"
        " (mean value analysis)."
    )


def _left_out(drill: Drill, flow: Flow) -> Iterator[str]:
    out = [unit for unit in drill.units if unit not in flow.units]
    if out:
        yield f"   Not in it, without a whole round: {', '.join(out)}."


def _next(drill: Drill) -> list[str]:
    lines = ["4. What to do with it"]
    if drill.flow is not None:
        worst = min(drill.flow.terms, key=lambda term: term.change_gpm)
        if round(worst.change_gpm) < 0:
            lines.append(f"   What cost most: {worst.what} ({_change(worst.change_gpm)} gpm).")
    return [
        *lines,
        "   Put the rates into the apparatus table, handling by site into the fill sites' table,",
        "   and the scenario fragment (--out FILE.toml) at the end of district.toml; then run",
        "   haulshed with --scenario drill and see what the map says.",
    ]


def _line(what: str, value_gpm: float, *, signed: bool = False) -> str:
    figure = _change(value_gpm) if signed else f"{value_gpm:,.0f}"
    return f"   {what:<58}{figure:>8} gpm"


def _change(value_gpm: float) -> str:
    whole = round(value_gpm)
    return f"{whole:+,}".replace("-", MINUS) if whole else "0"


def _count(number: int, what: str) -> str:
    return f"{number:,} {what}{'' if number == 1 else 's'}"


def _figure(value: float) -> str:
    """Return a figure with three digits or as many as its whole part has."""
    if math.isnan(value):
        return "?"
    return f"{value:,.0f}" if abs(value) >= _WHOLE else f"{value:.3g}"


def interval_text(mean: Mean) -> str:
    """Return the count and the interval of a mean, as a comment has them."""
    if mean.count == 1:
        return "one value, no interval"
    few = ", too few to build on" if mean.few else ""
    return f"{_figure(mean.low)} to {_figure(mean.high)}, {mean.count} values{few}"
