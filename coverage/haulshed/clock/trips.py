"""A tanker on its way to a fill site: which one it goes to, and what it books there."""

import numpy as np

from haulshed.clock.state import (
    GOING,
    LEFT,
    NO_GAL,
    OF_TRIP,
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
def _water_min(play: Play, row: int, at: int) -> float:
    """Return when a tanker that leaves now is foreseen to begin to take water; inf: never."""
    site, now_min = play.sites[at], play.scene[0].now_min
    shut = not site.open or site.positions < 1 or site.closes_min <= now_min + SAME_MIN
    arrives_min = now_min + play.routes[row, at].empty_min
    if shut or max(site.gives_min, arrives_min) == np.inf:
        return np.inf
    source, booked_min = play.sources[site.source], play.booked_min[at]
    first_min = booked_min[_first_position(booked_min, site.positions)]
    begins_min = max(arrives_min, site.gives_min, first_min)
    return float(
        max(
            begins_min + site.handling_min,
            site.booked_min,
            source.booked_min,
            _holds_min(source, now_min, play.tankers[row].load_gal),
        )
    )


@merged
def _book(play: Play, row: int, at: int, water_min: float) -> None:
    """Book the tanker's position, its share of the flow and its load."""
    site, load_gal, booked_min = play.sites[at], play.tankers[row].load_gal, play.booked_min[at]
    source = play.sources[site.source]
    position = _first_position(booked_min, site.positions)
    booked_min[position] = water_min + play.routes[row, at].take_min
    site.booked_min = water_min + load_gal / site.flow_gpm
    source.booked_min = water_min + load_gal / source.gpm
    source.owed_gal += load_gal


@merged
def _best_site(play: Play, row: int) -> int:
    """Return the site that is foreseen to have the tanker back first; -1: none. Book it."""
    best, best_min, best_water_min = -1, np.inf, np.inf
    for at in range(play.sites.size):
        route, now_min = play.routes[row, at], play.scene[0].now_min
        after_min = route.take_min + route.loaded_min
        if now_min + route.empty_min + after_min >= best_min - SAME_MIN:
            continue
        water_min = _water_min(play, row, at)
        if water_min + after_min < best_min - SAME_MIN:
            best, best_min, best_water_min = at, water_min + after_min, water_min
    if best >= 0:
        _book(play, row, best, best_water_min)
    return best


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
    at = _best_site(play, row)
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
