"""One incident, event by event, from dispatch to the end of overhaul."""

import numpy as np

from haulshed.clock.changes import change
from haulshed.clock.filling import end_at_site, give_at_sites
from haulshed.clock.incident import (
    begin_unloading,
    coupled,
    give_at_incident,
    join_queue,
    leave_incident,
)
from haulshed.clock.order import forget
from haulshed.clock.start import start
from haulshed.clock.state import (
    COMING,
    COUPLES,
    GOING,
    HANDLES,
    NOT_YET,
    OF_LEVELS,
    SAME_MIN,
    SITE_HANDLES,
    SITE_READY,
    TAKES,
    Play,
    Record,
)
from haulshed.clock.sure import TO_END, TO_FIGURES, TO_VERDICT, foresee, is_hopeless, is_sure
from haulshed.clock.trips import note_trip, source_gal
from haulshed.clock.water import catch_up, engine_gal, portable_gal, pump_supplies, set_flows
from haulshed.shuttle.kernel import merged

#: More events than any incident has; a play that does not end is a bug of ours.
_MOST_EVENTS = 10_000_000


@merged
def _end_one(play: Play, row: int) -> None:
    """End what a tanker has come to the end of."""
    does = play.tankers[row].does
    forget(play, row)
    if does in (GOING, SITE_HANDLES, SITE_READY, TAKES):
        end_at_site(play, row, does)
    elif does == COMING:
        join_queue(play, row)
    elif does == COUPLES:
        coupled(play, row)
    elif does == HANDLES:
        begin_unloading(play, row)
    else:
        leave_incident(play, row)


@merged
def _next_due(play: Play, after: int, late_min: float) -> int:
    """Return the next tanker by row that has come to the end of what it does; n: none."""
    scene, next_row = play.scene[0], play.tankers.size
    at = scene.due - 1
    while at >= 0 and play.agenda_min[at] <= late_min:
        if after < play.agenda[at] < next_row:
            next_row = play.agenda[at]
        at -= 1
    if not scene.emptied:
        return next_row
    for rank in range(scene.flowing):
        row = play.flowing[rank]
        if after < row < next_row and play.tankers[row].left_gal <= 0:
            next_row = row
    return next_row


@merged
def _end_all(play: Play, late_min: float) -> None:
    """End whatever tankers have come to the end of, by row."""
    row = _next_due(play, -1, late_min)
    while row < play.tankers.size:
        _end_one(play, row)
        row = _next_due(play, row, late_min)


@merged
def _is_any_due(play: Play, late_min: float) -> bool:
    """Say whether any tanker has come to the end of what it does."""
    scene = play.scene[0]
    return bool(scene.emptied or (scene.due > 0 and play.agenda_min[scene.due - 1] <= late_min))


@merged
def _settle(play: Play) -> None:
    """Let everything happen that happens at this moment."""
    scene = play.scene[0]
    late_min, again = scene.now_min + SAME_MIN, True
    known = play.calendar[scene.entry] <= late_min
    if known or scene.turn_min <= late_min:
        catch_up(play)
        scene.stale = 1
    if known:
        while play.calendar[scene.entry] <= late_min:
            scene.entry += 1
        change(play)
    while again:
        _end_all(play, late_min)
        if scene.stirred:
            give_at_sites(play)
        give_at_incident(play)
        again = _is_any_due(play, late_min)
    if scene.stale:
        catch_up(play)
        set_flows(play)


@merged
def _next_min(play: Play, stop_min: float) -> float:
    """Return the moment at which something happens next."""
    scene = play.scene[0]
    next_min = min(stop_min, scene.turn_min, play.calendar[scene.entry])
    if scene.due > 0:
        next_min = min(next_min, play.agenda_min[scene.due - 1])
    return float(next_min)


@merged
def _supply(scene: Record) -> int:
    """Return by what the fire is supplied: 0 its own tank, 1 nursing, 2 a dump site."""
    if scene.pumping >= 0:
        return 1
    if pump_supplies(scene) and scene.dump_site != NOT_YET:
        return 2
    return 1 if scene.now_min >= scene.nurse_min else 0


@merged
def _note_levels(play: Play) -> None:
    """Write down how the water stands."""
    row, scene = play.rows[1], play.scene[0]
    if not play.levels.shape[0]:
        return
    if row < play.levels.shape[0]:
        line, minutes = play.levels[row], scene.now_min - scene.level_min
        line[0] = scene.now_min
        line[1] = scene.delivered_gal + scene.given_gpm * minutes
        line[2] = scene.asked_gal + scene.asked_gpm * minutes
        line[3], line[4] = engine_gal(scene, minutes), portable_gal(scene, minutes)
        line[5], line[6] = scene.room_gal, _supply(scene)
        for source in range(play.sources.size):
            line[OF_LEVELS + source] = source_gal(play.sources[source], scene.now_min)
    play.rows[1] = row + 1


@merged
def play_out(play: Play, draw: int, until: int) -> bool:
    """Play an incident so far; return whether there was one. How it went stands in the scene."""
    if not start(play, draw):
        return False
    scene = play.scene[0]
    if until == TO_VERDICT and is_hopeless(play):
        scene.last_gap_min = scene.overhaul_min
        return True
    foresee(play)
    stop_min = scene.end_min if until in (TO_END, TO_FIGURES) else scene.overhaul_min
    for _ in range(_MOST_EVENTS):
        _note_levels(play)
        _settle(play)
        _note_levels(play)
        if scene.now_min >= stop_min - SAME_MIN or is_sure(play, until):
            break
        scene.now_min = _next_min(play, stop_min)
    else:
        msg = "the play of an incident did not end"
        raise ArithmeticError(msg)
    catch_up(play)
    if np.isnan(scene.at_120_gal):
        scene.at_120_gal = scene.delivered_gal
    for row in range(play.tankers.size):
        note_trip(play, row)
    return True
