"""Tankers at the fill sites: queue, position, handling, water."""

from haulshed.clock.order import expect, forget, queued, stir, unqueued
from haulshed.clock.state import (
    AT_SITE,
    COMING,
    FULL,
    GOING,
    NO_GAL,
    OF_SITE_HANDLING,
    OF_TAKING,
    POSITION,
    SAME_MIN,
    SITE_HANDLES,
    SITE_QUEUES,
    SITE_READY,
    TAKES,
    TAKING,
    TURNED_BACK,
    Play,
    factor_of,
)
from haulshed.clock.trips import drive_back, source_gal, unbook_load
from haulshed.shuttle.kernel import merged

#: A tanker begins to take water where this share of what it takes is free. Assumption of this
#: project; fill one at a time unless each can get its rate is what crews are taught (Fill Site
#: Operations #14, a training item of 2023). The last bits of a sum do not count against it.
LEAST_DRAW = 0.5 - 1e-9


@merged
def leave_site(play: Play, row: int) -> None:
    """Free what a tanker holds at its site, or has booked on its way there."""
    tanker = play.tankers[row]
    site, does = play.sites[tanker.site], tanker.does
    source = play.sources[site.source]
    stir(play, tanker.site)
    if does == SITE_QUEUES:
        site.first = unqueued(play.tankers, site.first, row)
    if does == SITE_READY:
        source.first = unqueued(play.tankers, source.first, row)
    if does in (SITE_HANDLES, SITE_READY, TAKES):
        site.taken -= 1
    if does == TAKES:
        site.draw_gpm -= tanker.rate_gpm
        source.draw_gpm -= tanker.rate_gpm
    else:
        unbook_load(play, row)


@merged
def turn_back(play: Play, row: int) -> None:
    """Send a tanker back empty from a site that has closed."""
    leave_site(play, row)
    drive_back(play, row, TURNED_BACK)


@merged
def _at_site(play: Play, row: int) -> None:
    """Let a tanker join the queue at its site, or turn back."""
    tanker, now_min = play.tankers[row], play.scene[0].now_min
    site = play.sites[tanker.site]
    play.stamps[row, AT_SITE] = now_min
    if site.closes_min <= now_min + SAME_MIN:
        turn_back(play, row)
        return
    tanker.does, tanker.since_min = SITE_QUEUES, now_min
    site.first = queued(play.tankers, site.first, row)
    stir(play, tanker.site)


@merged
def _site_handled(play: Play, row: int) -> None:
    """Let a tanker wait for water."""
    tanker = play.tankers[row]
    source = play.sources[play.sites[tanker.site].source]
    tanker.does, tanker.since_min = SITE_READY, play.scene[0].now_min
    source.first = queued(play.tankers, source.first, row)
    stir(play, tanker.site)


@merged
def _full(play: Play, row: int) -> None:
    """Send a full tanker to the incident."""
    leave_site(play, row)
    play.stamps[row, FULL] = play.scene[0].now_min
    drive_back(play, row, COMING)


@merged
def _give_positions(play: Play, at: int) -> None:
    """Give the free positions of a site to those who wait, the first first."""
    site, now_min = play.sites[at], play.scene[0].now_min
    if site.gives_min > now_min + SAME_MIN:
        return
    while site.first >= 0 and site.taken < site.positions:
        row = site.first
        tanker = play.tankers[row]
        site.first = tanker.after
        site.taken += 1
        tanker.does = SITE_HANDLES
        expect(play, row, now_min + site.handling_min * factor_of(play, row, OF_SITE_HANDLING))
        play.stamps[row, POSITION] = now_min


@merged
def _free_gpm(play: Play, row: int) -> float:
    """Return what a tanker may draw now; 0 where that is too little to begin with."""
    tanker = play.tankers[row]
    site, nominal_gpm = play.sites[tanker.site], tanker.load_gal / tanker.taking_min
    source = play.sources[site.source]
    free_gpm = min(site.flow_gpm - site.draw_gpm, source.gpm - source.draw_gpm)
    return float(min(free_gpm, nominal_gpm)) if free_gpm >= nominal_gpm * LEAST_DRAW else 0.0


@merged
def _take(play: Play, row: int, draw_gpm: float) -> None:
    """Let a tanker begin to take water."""
    tanker, now_min = play.tankers[row], play.scene[0].now_min
    site = play.sites[tanker.site]
    source = play.sources[site.source]
    source.first = tanker.after
    source.gal = max(source_gal(source, now_min) - tanker.load_gal, 0.0)
    source.since_min = now_min
    unbook_load(play, row)
    site.draw_gpm += draw_gpm
    source.draw_gpm += draw_gpm
    taking_min = tanker.load_gal / draw_gpm * factor_of(play, row, OF_TAKING)
    tanker.does, tanker.left_gal, tanker.rate_gpm = TAKES, tanker.load_gal, draw_gpm
    expect(play, row, now_min + taking_min)
    play.stamps[row, TAKING] = now_min


@merged
def _give_water(play: Play, at: int) -> None:
    """Let those begin to take water of a source who can; the first is to look again when it can."""
    source, now_min = play.sources[at], play.scene[0].now_min
    while source.first >= 0:
        row = source.first
        if source.recharge_gpm > 0:
            forget(play, row)
        draw_gpm = _free_gpm(play, row)
        if draw_gpm <= 0:
            return
        lacks_gal = play.tankers[row].load_gal - source_gal(source, now_min)
        if lacks_gal > NO_GAL:
            if source.recharge_gpm > 0:
                expect(play, row, now_min + lacks_gal / source.recharge_gpm)
            return
        _take(play, row, draw_gpm)


@merged
def end_at_site(play: Play, row: int, does: int) -> None:
    """End what a tanker does on its way to a site or there."""
    if does == GOING:
        _at_site(play, row)
    elif does == SITE_HANDLES:
        _site_handled(play, row)
    elif does == TAKES:
        _full(play, row)
    else:  # its source may hold the load by now
        stir(play, play.tankers[row].site)


@merged
def give_at_sites(play: Play) -> None:
    """Give out positions, then water, at the sites where something has changed."""
    scene = play.scene[0]
    for rank in range(scene.stirred):
        _give_positions(play, play.stirred[rank])
    for rank in range(scene.stirred):
        site = play.sites[play.stirred[rank]]
        site.stirred = 0
        _give_water(play, site.source)
    scene.stirred = 0
