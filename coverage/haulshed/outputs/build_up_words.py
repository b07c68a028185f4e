"""One incident in words: what happens when, who hauled how much, where the water is."""

import math
import textwrap
from collections.abc import Iterator

import numpy as np

from haulshed.assess.build_up import BuildUp
from haulshed.case import CAUTION
from haulshed.clock.story import Gap, Supply
from haulshed.tables.answers import Verdict

_WIDTH = 98
#: Gaps listed, the longest ones.
_GAPS_SHOWN = 8
_NURSED = 1


def build_up_text(played: BuildUp) -> str:
    """Return the incident for a terminal."""
    if not played.story.supply:
        nothing = f"Parcel {played.parcel_id}: no engine comes in time; no water."
        return f"{nothing}\n\n{textwrap.fill(CAUTION, _WIDTH)}"
    parts = (
        _head(played),
        ["1. What happens [min from dispatch]", *_timeline(played)],
        ["2. Who hauls", *_tankers(played)],
        ["3. Where the water is [gal]", *_water(played)],
        textwrap.wrap(CAUTION, _WIDTH),
    )
    return "\n\n".join("\n".join(part) for part in parts)


def _head(played: BuildUp) -> list[str]:
    story = played.story
    asked_gpm = max(band.gpm for band in story.asked)
    what = "needed" if not math.isnan(played.needed_gpm) else "nothing is needed; sustained"
    held = story.held_from_min
    lines = [
        f"Parcel {played.parcel_id}: {played.verdict}; {what} flow {asked_gpm:,.0f} gpm",
        (
            "  not held"
            if math.isnan(held)
            else f"  held from minute {held:.1f} to the end of the needed flow"
        ),
        (
            f"  first water minute {story.first_water_min:.1f};"
            f" longest gap {story.longest_gap_min:.1f} min; {story.short_gal:,.0f} gal short"
        ),
        (
            f"  {story.delivered_120_gal:,.0f} gal on the fire by minute 120;"
            f" {story.last_hour_gpm:,.0f} gpm over the last hour of the needed flow"
        ),
    ]
    if played.verdict is Verdict.HOSE_LINE:
        lines.append("  (a hose line reaches this parcel; played is what hauling would do)")
    return lines


def _timeline(played: BuildUp) -> Iterator[str]:
    story = played.story
    events = [
        (band.from_min, f"asked for: {band.asked.value}, {band.gpm:,.0f} gpm")
        for band in story.asked
    ]
    events += [(band.from_min, f"supplied from: {band.supply.value}") for band in story.supply]
    if not math.isnan(story.dump_site_min):
        events.append((story.dump_site_min, f"{Supply.DUMP_SITE.value} is ready"))
    longest = sorted(story.gaps, key=_length_min, reverse=True)
    events += [
        (gap.from_min, f"gap of {_length_min(gap):.1f} min, {gap.short_gal:,.0f} gal short")
        for gap in longest[:_GAPS_SHOWN]
    ]
    events.append((story.end_min, "overhaul ends"))
    for at, what in sorted(events, key=lambda event: event[0]):
        yield f"   {at:7.1f}  {what}"
    if len(longest) > _GAPS_SHOWN:
        yield f"   and {len(longest) - _GAPS_SHOWN} shorter gaps"


def _length_min(gap: Gap) -> float:
    return gap.to_min - gap.from_min


def _tankers(played: BuildUp) -> Iterator[str]:
    trips = played.story.trips
    yield ("   unit        there  loads      gal   waits to fill   waits to unload   fills at")
    away = []
    for row, unit in enumerate(played.tankers):
        own = trips.tanker == row
        if np.isnan(trips.back_min[own]).all():
            away.append(unit)
            continue
        unloaded = own & ~np.isnan(trips.empty_min)
        sites = [played.sites[at] for at in np.unique(trips.site[own]) if at >= 0]
        yield (
            f"   {unit:<10}{np.nanmin(trips.back_min[own]):7.1f}"
            f"{np.count_nonzero(unloaded):7d}{trips.load_gal[unloaded].sum():9,.0f}"
            f"   {_mean(trips.position_min[own] - trips.at_site_min[own]):>9} min"
            f"   {_mean(trips.called_min[own] - trips.back_min[own]):>11} min"
            f"   {', '.join(sites) or 'nowhere'}"
        )
    if away:
        yield from _wrapped(f"not in it, as they come too late or not at all: {', '.join(away)}")
    nursed = np.count_nonzero(trips.nursed == _NURSED)
    yield f"   {nursed} loads pumped off into the line; waits are means of a trip"


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent="   ", subsequent_indent="     ")


def _mean(waits_min: np.ndarray) -> str:
    known = waits_min[~np.isnan(waits_min)]
    return f"{known.mean():.1f}" if known.size else "none"


def _water(played: BuildUp) -> Iterator[str]:
    ledger = played.story.ledger
    yield (
        f"   came along {ledger.brought_gal:,.0f} + taken at fill sites {ledger.taken_gal:,.0f}"
        f" = on the fire {ledger.delivered_gal:,.0f} + left {ledger.left_gal:,.0f}"
    )
    for source in played.sources:
        yield (
            f"   {source.name}: {source.level_gal[0]:,.0f} at dispatch,"
            f" {source.level_gal[-1]:,.0f} at the end, never under {source.level_gal.min():,.0f}"
        )
    if not played.sources:
        yield "   no source is drawn down"
