"""A tanker on its way to a fill site: which one it goes to, and what it books there."""

import numpy as np

from haulshed.clock.state import (
    GOING,
    LEFT,
    NO_GAL,
    OF_TRIP,
    SAME_GAL,
    SAME_MIN,
    STAMPS,
    STAYS,
    Play,
    Record,
)
from haulshed.shuttle.kernel import Floats, merged


@merged
def source_gal(source: Record, now_min: float) -> float:
    """Return what a source holds now."""
    risen_gal = source.gal + source.recharge_gpm * (now_min - source.since_min)
    return float(min(source.stored_gal, risen_gal))


@merged
def _holds_min(source: Record, now_min: float, load_gal: float) -> float:
    """Return when a source is foreseen to hold a load beyond those booked; inf: never."""
    if load_gal > source.stored_gal + NO_GAL:
        return np.inf
    lacks_gal = load_gal + source.owed_gal - source_gal(source, now_min)
    if lacks_gal <= NO_GAL:
        return now_min
    return float(now_min + lacks_gal / source.recharge_gpm) if source.recharge_gpm > 0 else np.inf


@merged
def _first_position(booked_min: Floats, positions: int) -> int:
    """Return the position of a site that is booked least, of equal ones the first."""
    first = 0
    for position in range(1, positions):
        if booked_min[position] < booked_min[first]:
            first = position
    return first


@merged
def _shut(play: Play, row: int, at: int) -> bool:
    """Say whether a site is no use to a tanker, whatever is waited for."""
    site, route = play.sites[at], play.routes[row, at]
    closed = not site.open or site.closes_min <= play.scene[0].now_min + SAME_MIN
    farthest_min = max(site.gives_min, route.empty_min, route.loaded_min, route.take_min)
    return bool(closed or site.positions < 1 or farthest_min == np.inf)


@merged
def _free_min(play: Play, row: int, at: int) -> float:
    """Return when a tanker that leaves now is foreseen to have a position and its flow."""
    site, booked_min = play.sites[at], play.booked_min[at]
    arrives_min = play.scene[0].now_min + play.routes[row, at].empty_min
    first_min = booked_min[_first_position(booked_min, site.positions)]
    begins_min = max(arrives_min, site.gives_min, first_min)
    booked = max(site.booked_min, play.sources[site.source].booked_min)
    return float(max(begins_min + site.handling_min, booked))


@merged
def _water_min(play: Play, row: int, at: int) -> float:
    """Return when a tanker that leaves now is foreseen to begin to take water; inf: never."""
    if _shut(play, row, at):
        return np.inf
    source, load_gal = play.sources[play.sites[at].source], play.tankers[row].load_gal
    holds_min = _holds_min(source, play.scene[0].now_min, load_gal)
    return max(_free_min(play, row, at), holds_min)


@merged
def _book(play: Play, row: int, at: int) -> None:
    """Book the tanker's position, its share of the flow and its load."""
    water_min = _water_min(play, row, at)
    site, load_gal, booked_min = play.sites[at], play.tankers[row].load_gal, play.booked_min[at]
    source = play.sources[site.source]
    position = _first_position(booked_min, site.positions)
    booked_min[position] = water_min + play.routes[row, at].take_min
    site.booked_min = water_min + load_gal / site.flow_gpm
    source.booked_min = water_min + load_gal / source.gpm
    source.owed_gal += load_gal


@merged
def _is_planned(play: Play, row: int, at: int) -> bool:
    """Say whether the plan sends tankers to a site, which gives water as soon as it is reached."""
    site, now_min = play.sites[at], play.scene[0].now_min
    if site.plan_gpm <= 0 or _shut(play, row, at):
        return False
    if site.gives_min > now_min + play.routes[row, at].empty_min + SAME_MIN:
        return False
    holds_min = _holds_min(play.sources[site.source], now_min, play.tankers[row].load_gal)
    return bool(holds_min <= _free_min(play, row, at) + SAME_MIN)


@merged
def _planned_site(play: Play, row: int) -> int:
    """Return the site whose turn it is by the plan; -1: none. Keep the accounts."""
    sites, load_gal, planned_gpm = play.sites, play.tankers[row].load_gal, 0.0
    for at in range(sites.size):
        if _is_planned(play, row, at):
            planned_gpm += sites[at].plan_gpm
    if planned_gpm <= 0:
        return -1
    best = -1
    for at in range(sites.size):
        if _is_planned(play, row, at):
            sites[at].credit_gal += load_gal * sites[at].plan_gpm / planned_gpm
            if best < 0 or sites[at].credit_gal > sites[best].credit_gal + SAME_GAL:
                best = at
    sites[best].credit_gal -= load_gal
    return best


@merged
def _soonest_site(play: Play, row: int) -> int:
    """Return the site that is foreseen to have the tanker back first; -1: none."""
    best, best_min = -1, np.inf
    for at in range(play.sites.size):
        route = play.routes[row, at]
        after_min = route.take_min + route.loaded_min
        if play.scene[0].now_min + route.empty_min + after_min >= best_min - SAME_MIN:
            continue
        back_min = _water_min(play, row, at) + after_min
        if back_min < best_min - SAME_MIN:
            best, best_min = at, back_min
    return best


@merged
def _waits_nowhere(play: Play, row: int, at: int) -> bool:
    """Say whether a tanker that leaves now for a site is foreseen to wait for nothing there."""
    at_once_min = play.scene[0].now_min + play.routes[row, at].empty_min
    at_once_min += play.sites[at].handling_min
    return bool(_water_min(play, row, at) <= at_once_min + SAME_MIN)


@merged
def _choose(play: Play, row: int) -> int:
    """Return the site that a tanker goes to, and book it; -1: none."""
    at = _soonest_site(play, row)
    if at < 0:
        return -1
    if not _waits_nowhere(play, row, at):
        planned = _planned_site(play, row)
        at = planned if planned >= 0 else at
    _book(play, row, at)
    return at


@merged
def note_trip(play: Play, row: int) -> None:
    """Write the tanker's trip down."""
    line, tanker = play.rows[0], play.tankers[row]
    if line < play.trips.shape[0]:
        trip = play.trips[line]
        trip[0], trip[1], trip[2], trip[3] = row, tanker.trip, tanker.site, tanker.load_gal
        trip[4] = tanker.nursed
        for stamp in range(STAMPS):
            trip[OF_TRIP + stamp] = play.stamps[row, stamp]
    play.rows[0] = line + 1


@merged
def leave(play: Play, row: int) -> None:
    """Send an empty tanker from the incident for water."""
    tanker = play.tankers[row]
    note_trip(play, row)
    at = _choose(play, row)
    tanker.trip += 1
    tanker.site, tanker.nursed = at, -1
    play.stamps[row, :] = np.nan
    if at < 0:
        tanker.does, tanker.due_min = STAYS, np.inf
        return
    now_min = play.scene[0].now_min
    tanker.does, tanker.due_min = GOING, now_min + play.routes[row, at].empty_min
    play.stamps[row, LEFT] = now_min


@merged
def drive_back(play: Play, row: int, does: int) -> None:
    """Send a tanker from its site to the incident."""
    tanker = play.tankers[row]
    tanker.does = does
    tanker.due_min = play.scene[0].now_min + play.routes[row, tanker.site].loaded_min


@merged
def unbook_load(play: Play, row: int) -> None:
    """Strike a load that will not be taken, or is being taken."""
    tanker = play.tankers[row]
    play.sources[play.sites[tanker.site].source].owed_gal -= tanker.load_gal
