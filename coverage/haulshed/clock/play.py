"""One incident, event by event, from dispatch to the end of overhaul."""

import numpy as np

from haulshed.clock.changes import change
from haulshed.clock.filling import at_site, full, give_positions, give_water, site_handled
from haulshed.clock.incident import (
    begin_unloading,
    coupled,
    emptied,
    give_dump_positions,
    give_inlets,
    give_line,
    join_queue,
)
from haulshed.clock.start import start
from haulshed.clock.state import (
    COMING,
    COUPLED,
    COUPLES,
    GOING,
    HANDLES,
    IN_USE,
    NOT_YET,
    OF_LEVELS,
    PUMPS_OFF,
    QUEUES,
    SAME_MIN,
    SITE_HANDLES,
    SITE_QUEUES,
    SITE_READY,
    TAKES,
    TURNED_BACK,
    UNLOADS,
    Play,
    Record,
    Records,
    Times,
)
from haulshed.clock.trips import leave, note_trip, source_gal
from haulshed.clock.water import minutes_to_next, pump_supplies, run_on, set_flows
from haulshed.shuttle.kernel import Floats, inner, merged

#: More events than any incident has; a play that does not end is a bug of ours.
_MOST_EVENTS = 10_000_000


@merged
def _end_one(play: Play, row: int, does: int) -> None:
    """End what a tanker has come to the end of."""
    if does == COMING:
        join_queue(play, row)
    elif does == GOING:
        at_site(play, row)
    elif does == TURNED_BACK:
        leave(play, row)
    elif does == COUPLES:
        coupled(play, row)
    elif does == HANDLES:
        begin_unloading(play, row)
    elif does == SITE_HANDLES:
        site_handled(play, row)
    elif does == TAKES:
        full(play, row)
    else:
        emptied(play, row)


@merged
def _is_due(tanker: Record, late_min: float) -> bool:
    """Say whether a tanker has come to the end of what it does."""
    flows = tanker.does in (PUMPS_OFF, UNLOADS)
    return bool(tanker.due_min <= late_min or (flows and tanker.left_gal <= 0))


@merged
def _end_all(play: Play, tankers: Records, late_min: float) -> bool:
    """End whatever tankers have come to the end of, by row; return whether anything did."""
    ended = False
    for row in range(tankers.size):
        if _is_due(tankers[row], late_min):
            _end_one(play, row, tankers[row].does)
            ended = True
    return ended


@merged
def _done_now(tankers: Records) -> int:
    """Return what is done by any tanker, a bit for each."""
    done = 0
    for row in range(tankers.size):
        done |= 1 << tankers[row].does
    return done


@merged
def _give_out(play: Play, tankers: Records, scene: Record, times: Times) -> bool:
    """Give out positions, water, inlets and the line; return whether anything was given."""
    done, given = _done_now(tankers), False
    if done & (1 << SITE_QUEUES):
        given = give_positions(play)
    if done & (1 << SITE_READY):
        given = give_water(play) or given
    if done & (1 << QUEUES) and scene.dump_site == IN_USE:
        given = give_dump_positions(play, times.dump_handling_min) or given
    elif done & (1 << QUEUES):
        given = give_inlets(play, times.nurse_handling_min) or given
    if done & (1 << COUPLED):
        given = give_line(play) or given
    return given


@merged
def _settle(play: Play, tankers: Records, scene: Record, days: Floats, times: Times) -> None:
    """Let everything happen that happens at this moment."""
    late_min, again = scene.now_min + SAME_MIN, True
    scene.wake_min = np.inf
    while again:
        again = False
        while scene.entry < days.size and days[scene.entry] <= late_min:
            scene.entry += 1
            again = True
        if again:
            change(play, times)
        again = _end_all(play, tankers, late_min) or again
        again = _give_out(play, tankers, scene, times) or again


@merged
def _next_min(tankers: Records, scene: Record, days: Floats) -> float:
    """Return the moment at which something happens next."""
    next_min = min(scene.end_min, scene.wake_min)
    if scene.entry < days.size:
        next_min = min(next_min, days[scene.entry])
    for row in range(tankers.size):
        next_min = min(next_min, tankers[row].due_min)
    return float(min(next_min, scene.now_min + minutes_to_next(tankers, scene)))


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
    if row < play.levels.shape[0]:
        line = play.levels[row]
        line[0], line[1], line[2] = scene.now_min, scene.delivered_gal, scene.asked_gal
        line[3], line[4], line[5] = scene.engine_gal, scene.portable_gal, scene.room_gal
        line[6] = _supply(scene)
        for source in range(play.sources.size):
            line[OF_LEVELS + source] = source_gal(play.sources[source], scene.now_min)
    play.rows[1] = row + 1


@inner
def play_out(play: Play, times: Times) -> bool:
    """Play an incident; return whether there was one. How it went stands in the scene."""
    if not start(play, times):
        return False
    scene, tankers, days = play.scene[0], play.tankers, play.calendar
    logs = play.levels.shape[0] > 0
    for _ in range(_MOST_EVENTS):
        if logs:
            _note_levels(play)
        _settle(play, tankers, scene, days, times)
        if logs:
            _note_levels(play)
        if scene.now_min >= scene.end_min - SAME_MIN:
            break
        set_flows(tankers, scene)
        next_min = _next_min(tankers, scene, days)
        run_on(tankers, scene, max(next_min - scene.now_min, 0.0), times.shortest_gap_min)
        scene.now_min = next_min
    else:
        msg = "the play of an incident did not end"
        raise ArithmeticError(msg)
    if np.isnan(scene.at_120_gal):
        scene.at_120_gal = scene.delivered_gal
    for row in range(tankers.size):
        note_trip(play, row)
    return True
