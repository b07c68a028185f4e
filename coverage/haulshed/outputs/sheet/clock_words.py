"""The clock at one property in words: what happens when, and what runs out first."""

from collections.abc import Iterator, Sequence

from haulshed.assess.call_order import TankerCalled
from haulshed.assess.sheets import Sheet
from haulshed.clock.story import Gap
from haulshed.outputs.sheet.names import named
from haulshed.outputs.wording import LIMIT_MEANS, Wording, minute
from haulshed.tables.answers import LimitedBy

#: Gaps that are listed.
_GAPS = 3


def timeline(sheet: Sheet, wording: Wording) -> Iterator[tuple[str, str]]:
    """Yield the moments of the incident in order: minutes from dispatch, and what happens."""
    played = sheet.played
    engine = next((one for one in sheet.engines if one.counts), None)
    if engine is None or played.first_water_min is None:
        yield "", "No engine is there in time: nothing is played."
        return
    moments = [
        (engine.arrival_min, f"{named(engine.unit_id)}, the first engine, is there"),
        (played.first_water_min, "first water, from its own tank"),
        *(
            (one.arrival_min, f"{named(one.unit_id)}, the first tanker, is there")
            for one in _first(sheet)
        ),
        (played.nurse_min, "the first tanker pumps off"),
        (played.dump_site_min, "the dump site is ready"),
        (played.held_from_min, f"{wording.need(played.asked_gpm)} is held from here on"),
        *(
            (
                gap.from_min,
                f"GAP to min {minute(gap.to_min)}: {wording.whole(gap.short_gal, 'gal')} missing",
            )
            for gap in played.gaps[:_GAPS]
        ),
        *_more_gaps(played.gaps[_GAPS:]),
        (played.overhaul_min, "the planned duration is over: overhaul"),
    ]
    happening = [(when, what) for when, what in moments if when is not None]
    for when, what in sorted(happening, key=lambda one: one[0]):
        yield minute(when), what


def _more_gaps(gaps: Sequence[Gap]) -> Iterator[tuple[float, str]]:
    if gaps:
        yield gaps[0].from_min, f"more GAPS, {len(gaps)} of them, to min {minute(gaps[-1].to_min)}"


def _first(sheet: Sheet) -> list[TankerCalled]:
    counting = [one for one in sheet.tankers if one.counts]
    return counting[:1]


def runs_out(sheet: Sheet, wording: Wording) -> str:
    """Return what runs out first by the clock, or what holds the flow down where nothing does."""
    played = sheet.played
    if played.first_water_min is None:
        return "Nothing comes that could run out."
    ends = [
        (one.from_min, f"{', '.join(map(named, one.site_ids))} no longer holds a tanker's load")
        for one in played.dry
    ]
    if played.own_tank_empty_min is not None:
        ends.append((played.own_tank_empty_min, "the attack engine's own tank is empty"))
    limit = LimitedBy(str(sheet.answer["limited_by"]))
    if not ends:
        return f"Nothing by the clock. The flow is held down by {limit}: {LIMIT_MEANS[limit]}."
    told = [f"minute {minute(when)}, {what}" for when, what in sorted(ends)]
    short = f" {wording.whole(played.short_gal, 'gal')} are missing by the end of the planned"
    missing = f"{short} duration." if played.short_gal > 1 else ""
    first, *others = told
    later = f" Then: {'; '.join(others)}." if others else ""
    return f"{first[0].upper()}{first[1:]}.{later}{missing}"
