"""Tankers at the fill sites: queue, position, handling, water."""

import numpy as np

from haulshed.clock.state import (
    AT_SITE,
    COMING,
    FULL,
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
def turn_back(play: Play, row: int) -> None:
    """Send a tanker back empty from a site that has closed."""
    tanker = play.tankers[row]
    if tanker.does in (SITE_HANDLES, SITE_READY):
        play.sites[tanker.site].taken -= 1
    unbook_load(play, row)
    drive_back(play, row, TURNED_BACK)


@merged
def at_site(play: Play, row: int) -> None:
    """Let a tanker join the queue at its site, or turn back."""
    tanker, now_min = play.tankers[row], play.scene[0].now_min
    play.stamps[row, AT_SITE] = now_min
    if play.sites[tanker.site].closes_min <= now_min + SAME_MIN:
        turn_back(play, row)
    else:
        tanker.does, tanker.due_min, tanker.since_min = SITE_QUEUES, np.inf, now_min


@merged
def site_handled(play: Play, row: int) -> None:
    """Let a tanker wait for water."""
    tanker = play.tankers[row]
    tanker.does, tanker.due_min, tanker.ready_min = SITE_READY, np.inf, play.scene[0].now_min


@merged
def stop_drawing(play: Play, row: int) -> None:
    """Give back the position and the flow of a tanker that takes water."""
    tanker = play.tankers[row]
    site = play.sites[tanker.site]
    site.taken -= 1
    site.draw_gpm -= tanker.rate_gpm
    play.sources[site.source].draw_gpm -= tanker.rate_gpm


@merged
def full(play: Play, row: int) -> None:
    """Send a full tanker to the incident."""
    stop_drawing(play, row)
    play.stamps[row, FULL] = play.scene[0].now_min
    drive_back(play, row, COMING)


@merged
def _first_to_fill(play: Play) -> int:
    """Return the first in the queues for whom a fill position is free; -1: nobody."""
    first, tankers, late_min = -1, play.tankers, play.scene[0].now_min + SAME_MIN
    for row in range(tankers.size):
        if tankers[row].does != SITE_QUEUES:
            continue
        site = play.sites[tankers[row].site]
        if site.taken >= site.positions or site.gives_min > late_min:
            continue
        if first < 0 or tankers[row].since_min < tankers[first].since_min:
            first = row
    return first


@merged
def give_positions(play: Play) -> bool:
    """Give free fill positions to those who wait, the first first; return whether any was."""
    given, now_min = False, play.scene[0].now_min
    while True:
        row = _first_to_fill(play)
        if row < 0:
            return given
        given, tanker = True, play.tankers[row]
        site = play.sites[tanker.site]
        site.taken += 1
        tanker.does = SITE_HANDLES
        tanker.due_min = now_min + site.handling_min * factor_of(play, row, OF_SITE_HANDLING)
        play.stamps[row, POSITION] = now_min


@merged
def _is_first(play: Play, row: int) -> bool:
    """Say whether a tanker is the first of those that wait for water of its source."""
    tankers, sites = play.tankers, play.sites
    source, ready_min = sites[tankers[row].site].source, tankers[row].ready_min
    for other in range(tankers.size):
        if tankers[other].does != SITE_READY or sites[tankers[other].site].source != source:
            continue
        other_min = tankers[other].ready_min
        if other_min < ready_min or (other_min == ready_min and other < row):
            return False
    return True


@merged
def _free_gpm(play: Play, row: int) -> float:
    """Return what a tanker may draw now; 0 where that is too little to begin with."""
    tanker = play.tankers[row]
    site, nominal_gpm = play.sites[tanker.site], _nominal_gpm(play, row)
    source = play.sources[site.source]
    free_gpm = min(site.flow_gpm - site.draw_gpm, source.gpm - source.draw_gpm)
    return min(free_gpm, nominal_gpm) if free_gpm >= nominal_gpm * LEAST_DRAW else 0.0


@merged
def _nominal_gpm(play: Play, row: int) -> float:
    """Return what a tanker draws where nobody else does."""
    tanker = play.tankers[row]
    return float(tanker.load_gal / play.routes[row, tanker.site].take_min)


@merged
def _take(play: Play, row: int, draw_gpm: float) -> None:
    """Let a tanker begin to take water."""
    tanker, now_min = play.tankers[row], play.scene[0].now_min
    site = play.sites[tanker.site]
    source = play.sources[site.source]
    source.gal = max(source_gal(source, now_min) - tanker.load_gal, 0.0)
    source.since_min = now_min
    unbook_load(play, row)
    site.draw_gpm += draw_gpm
    source.draw_gpm += draw_gpm
    taking_min = tanker.load_gal / draw_gpm * factor_of(play, row, OF_TAKING)
    tanker.does, tanker.due_min, tanker.left_gal = TAKES, now_min + taking_min, tanker.load_gal
    tanker.rate_gpm = draw_gpm
    play.stamps[row, TAKING] = now_min


@merged
def give_water(play: Play) -> bool:
    """Let those begin to take water who can; note when a source will hold what it lacks now."""
    given, scene = False, play.scene[0]
    for row in range(play.tankers.size):
        tanker = play.tankers[row]
        if tanker.does != SITE_READY or not _is_first(play, row):
            continue
        draw_gpm = _free_gpm(play, row)
        if draw_gpm <= 0:
            continue
        source = play.sources[play.sites[tanker.site].source]
        lacks_gal = tanker.load_gal - source_gal(source, scene.now_min)
        if lacks_gal <= NO_GAL:
            _take(play, row, draw_gpm)
            given = True
        elif source.recharge_gpm > 0:
            wake_min = scene.now_min + lacks_gal / source.recharge_gpm
            scene.wake_min = min(scene.wake_min, wake_min)
    return given
