"""A tanker on its way to a fill site: which one it goes to, and what it books there."""

import numpy as np

from haulshed.clock.order import expect, touch
from haulshed.clock.state import (
    GOING,
    LEFT,
    NO_GAL,
    OF_TRIP,
    SAME_GAL,
    SAME_MIN,
    STAMPS,
    STAYS,
    TAKES_MIN,
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
def _leg_min(play: Play, row: int, at: int) -> tuple[float, float]:
    """Return the tanker's legs to a site and back, at its own pace."""
    tanker, place = play.tankers[row], play.scene[0].place
    empty_min = play.many.empty_min[place, tanker.weight_class, at] * tanker.pace
    return empty_min, play.many.loaded_min[place, tanker.weight_class, at] * tanker.pace


@merged
def _shut(play: Play, row: int, at: int) -> bool:
    """Say whether a site is no use to a tanker, whatever is waited for."""
    site = play.sites[at]
    closed = not site.open or site.closes_min <= play.scene[0].now_min + SAME_MIN
    farthest_min = max(site.gives_min, *_leg_min(play, row, at), play.fixed.take_min[row, at])
    return bool(closed or site.positions < 1 or farthest_min == np.inf)


@merged
def _free_min(play: Play, at: int, empty_min: float) -> float:
    """Return when a tanker that leaves now is foreseen to have a position and its flow."""
    site, booked_min = play.sites[at], play.booked_min[at]
    arrives_min = play.scene[0].now_min + empty_min
    first_min = booked_min[_first_position(booked_min, site.positions)]
    begins_min = max(arrives_min, site.gives_min, first_min)
    booked = max(site.booked_min, play.sources[site.source].booked_min)
    return float(max(begins_min + site.handling_min, booked))


@merged
def _water_min(play: Play, row: int, at: int, empty_min: float) -> float:
    """Return when a tanker that leaves now is foreseen to begin to take water; inf: never."""
    source, load_gal = play.sources[play.sites[at].source], play.tankers[row].load_gal
    holds_min = _holds_min(source, play.scene[0].now_min, load_gal)
    return max(_free_min(play, at, empty_min), holds_min)


@merged
def _book(play: Play, row: int, at: int, water_min: float) -> None:
    """Book the tanker's position, its share of the flow and its load."""
    touch(play, at)
    site, tanker, booked_min = play.sites[at], play.tankers[row], play.booked_min[at]
    source = play.sources[site.source]
    position = _first_position(booked_min, site.positions)
    booked_min[position] = water_min + tanker.taking_min
    site.booked_min = water_min + tanker.load_gal / site.flow_gpm
    source.booked_min = water_min + tanker.load_gal / source.gpm
    source.owed_gal += tanker.load_gal


@merged
def _is_planned(play: Play, row: int, at: int) -> bool:
    """Say whether a site of the plan gives water, and holds it, as soon as it is reached."""
    if _shut(play, row, at):
        return False
    site, now_min = play.sites[at], play.scene[0].now_min
    empty_min = _leg_min(play, row, at)[0]
    if site.gives_min > now_min + empty_min + SAME_MIN:
        return False
    holds_min = _holds_min(play.sources[site.source], now_min, play.tankers[row].load_gal)
    return bool(holds_min <= _free_min(play, at, empty_min) + SAME_MIN)


@merged
def _planned_site(play: Play, row: int) -> int:
    """Return the site whose turn it is by the plan; -1: none. Keep the accounts."""
    sites, load_gal, planned_gpm = play.sites, play.tankers[row].load_gal, 0.0
    for rank in range(play.scene[0].planned):
        play.may_plan[rank] = _is_planned(play, row, play.planned[rank])
        if play.may_plan[rank]:
            planned_gpm += sites[play.planned[rank]].plan_gpm
    best = -1
    for rank in range(play.scene[0].planned):
        at = play.planned[rank]
        if play.may_plan[rank]:
            touch(play, at)
            sites[at].credit_gal += load_gal * sites[at].plan_gpm / planned_gpm
            if best < 0 or sites[at].credit_gal > sites[best].credit_gal + SAME_GAL:
                best = at
    if best >= 0:
        sites[best].credit_gal -= load_gal
    return best


@merged
def _soonest_in_order(play: Play, row: int) -> int:
    """Return the site that is foreseen to have the tanker back first; -1: none."""
    best, best_min = -1, np.inf
    for at in range(play.sites.size):
        if _shut(play, row, at):
            continue
        empty_min, loaded_min = _leg_min(play, row, at)
        after_min = play.fixed.take_min[row, at] + loaded_min
        back_min = _water_min(play, row, at, empty_min) + after_min
        if back_min < best_min - SAME_MIN:
            best, best_min = at, back_min
    return best


@merged
def _soonest_site(play: Play, row: int) -> int:
    """
    Return the same site, looked for from the shortest round on.

    Where no site that is left can be first, the others are not looked at. Where others are so near
    the first that the order of the rows may decide between them, all are looked at in that order.
    """
    tanker, sites, now_min = play.tankers[row], play.sites, play.scene[0].now_min
    close_min, least_min = (sites.size + 3) * SAME_MIN, now_min + tanker.least_min
    best, best_min, next_min = -1, np.inf, np.inf
    for rank in range(play.reached[tanker.weight_class]):
        route = play.routes[tanker.weight_class, rank]
        if least_min + (route.empty_min + route.loaded_min) * tanker.pace > best_min + close_min:
            break
        at, empty_min = route.site, route.empty_min * tanker.pace
        after_min = play.fixed.take_min[row, at] + route.loaded_min * tanker.pace
        at_once_min = now_min + empty_min + sites[at].handling_min + after_min
        closed = sites[at].closes_min <= now_min + SAME_MIN
        if closed or sites[at].gives_min == np.inf or at_once_min > best_min + close_min:
            continue
        back_min = _water_min(play, row, at, empty_min) + after_min
        if back_min < best_min:
            best, best_min, next_min = at, back_min, best_min
        else:
            next_min = min(next_min, back_min)
    _note_looked(play, row, best_min)
    alone = best < 0 or next_min > best_min + close_min
    return best if alone else _soonest_in_order(play, row)


@merged
def _note_looked(play: Play, row: int, best_min: float) -> None:
    """
    Note how far a tanker that leaves now has looked, as legs both ways at the planned pace.

    A site from which it would not be back by `best_min` though it waits for nothing is not in
    question. Noted is the farthest that any tanker of the play has looked, for sites at which
    handling and taking water are no matter of time, and for those at which they take 2, 4, 6 min.
    """
    scene, pace = play.scene[0], play.tankers[row].pace
    away_min = best_min - scene.now_min
    scene.looked_min = max(scene.looked_min, away_min / pace)
    scene.looked_2_min = max(scene.looked_2_min, (away_min - TAKES_MIN[1]) / pace)
    scene.looked_4_min = max(scene.looked_4_min, (away_min - TAKES_MIN[2]) / pace)
    scene.looked_6_min = max(scene.looked_6_min, (away_min - TAKES_MIN[3]) / pace)


@merged
def _choose(play: Play, row: int) -> int:
    """Return the site that a tanker goes to, and book it; -1: none."""
    at = _soonest_site(play, row)
    if at < 0:
        return -1
    empty_min = _leg_min(play, row, at)[0]
    water_min = _water_min(play, row, at, empty_min)
    at_once_min = play.scene[0].now_min + empty_min + play.sites[at].handling_min
    if water_min > at_once_min + SAME_MIN:
        planned = _planned_site(play, row)
        if planned >= 0:
            at = planned
            water_min = _water_min(play, row, at, _leg_min(play, row, at)[0])
    play.tankers[row].taking_min = play.fixed.take_min[row, at]
    _book(play, row, at, water_min)
    return at


@merged
def note_trip(play: Play, row: int) -> None:
    """Write the tanker's trip down."""
    line, tanker = play.rows[0], play.tankers[row]
    if not play.trips.shape[0]:
        return
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
        tanker.does = STAYS
        return
    now_min = play.scene[0].now_min
    empty_min, tanker.loaded_min = _leg_min(play, row, at)
    tanker.does = GOING
    expect(play, row, now_min + empty_min)
    play.stamps[row, LEFT] = now_min


@merged
def drive_back(play: Play, row: int, does: int) -> None:
    """Send a tanker from its site to the incident."""
    tanker = play.tankers[row]
    tanker.does = does
    expect(play, row, play.scene[0].now_min + tanker.loaded_min)


@merged
def unbook_load(play: Play, row: int) -> None:
    """Strike a load that will not be taken, or is being taken."""
    tanker = play.tankers[row]
    play.sources[play.sites[tanker.site].source].owed_gal -= tanker.load_gal
