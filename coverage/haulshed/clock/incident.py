"""Tankers at the incident: queue, inlets and the line, dump positions."""

import numpy as np

from haulshed.clock.order import expect, forget, listed, queued, unlisted, unqueued
from haulshed.clock.state import (
    BACK,
    CALLED,
    COUPLED,
    COUPLES,
    EMPTY,
    HANDLES,
    IN_USE,
    OF_UNLOAD_HANDLING,
    PUMPS_OFF,
    QUEUES,
    SAME_MIN,
    TURNED_BACK,
    UNLOADING,
    UNLOADS,
    Play,
    Records,
    factor_of,
)
from haulshed.clock.trips import leave
from haulshed.clock.water import pump_supplies
from haulshed.shuttle.kernel import merged

#: Inlets into the supply line.
_INLETS = 2


@merged
def _stand(play: Play, row: int) -> None:
    """Let a tanker stand in the queue, at its time: mostly after who joined it last."""
    scene, tankers, last = play.scene[0], play.tankers, play.scene[0].last
    joins_last = last >= 0 and tankers[last].does == QUEUES and tankers[last].after < 0
    tankers[row].does = QUEUES
    if joins_last and tankers[last].since_min < tankers[row].since_min:
        tankers[last].after, tankers[row].after = row, -1
    else:
        scene.first = queued(tankers, scene.first, row)
    if tankers[row].after < 0:
        scene.last = row


@merged
def join_queue(play: Play, row: int) -> None:
    """Let a tanker that has come queue."""
    now_min = play.scene[0].now_min
    play.tankers[row].since_min = now_min
    _stand(play, row)
    play.stamps[row, BACK] = now_min


@merged
def free_place(play: Play, row: int) -> None:
    """Free the place of a tanker at the incident: in the queue, at an inlet, at a dump position."""
    scene, does = play.scene[0], play.tankers[row].does
    if does == QUEUES:
        scene.first = unqueued(play.tankers, scene.first, row)
    if does in (COUPLES, COUPLED, PUMPS_OFF):
        scene.inlets -= 1
    if does == COUPLED:
        scene.coupled -= 1
    if does == PUMPS_OFF:
        scene.pumping = -1
    if does in (HANDLES, UNLOADS):
        scene.positions -= 1
    if does == UNLOADS:
        scene.unloading -= 1
    if does in (PUMPS_OFF, UNLOADS):
        scene.flowing, scene.stale = unlisted(play.flowing, scene.flowing, row), 1
        scene.emptied -= play.tankers[row].left_gal <= 0


@merged
def send_back(play: Play, row: int) -> None:
    """Send a tanker that is handling back to the queue, at its time."""
    free_place(play, row)
    forget(play, row)
    _stand(play, row)
    play.stamps[row, CALLED] = np.nan


@merged
def coupled(play: Play, row: int) -> None:
    """Let a tanker wait for its turn to pump off."""
    tanker, scene = play.tankers[row], play.scene[0]
    tanker.does, tanker.ready_min = COUPLED, scene.now_min
    scene.coupled += 1


@merged
def _begin(play: Play, row: int, does: int) -> None:
    """Let a tanker's water flow."""
    scene, tanker = play.scene[0], play.tankers[row]
    tanker.does, tanker.rate_gpm = does, 0.0  # until the flows are set
    scene.flowing, scene.stale = listed(play.flowing, scene.flowing, row), 1
    scene.emptied += tanker.left_gal <= 0
    play.stamps[row, UNLOADING] = scene.now_min


@merged
def begin_unloading(play: Play, row: int) -> None:
    """Open a tanker's valve."""
    tanker, scene = play.tankers[row], play.scene[0]
    tanker.ready_min, tanker.nursed = scene.now_min, 0
    scene.unloading += 1
    _begin(play, row, UNLOADS)


@merged
def leave_incident(play: Play, row: int) -> None:
    """Let a tanker leave that has run empty, or that has come back empty from a closed site."""
    if play.tankers[row].does != TURNED_BACK:
        free_place(play, row)
        play.stamps[row, EMPTY] = play.scene[0].now_min
    leave(play, row)


@merged
def _first_to_couple(tankers: Records, first: int, least_gpm: float) -> int:
    """Return the first in the queue that pumps off `least_gpm` or more, above 0; -1: nobody."""
    row = first
    while row >= 0 and (tankers[row].off_gpm <= 0 or tankers[row].off_gpm < least_gpm):
        row = tankers[row].after
    return row


@merged
def _first_to_unload(tankers: Records, first: int) -> int:
    """Return the first in the queue that can unload; -1: nobody."""
    row = first
    while row >= 0 and tankers[row].unload_gpm <= 0:
        row = tankers[row].after
    return row


@merged
def _call(play: Play, row: int, does: int, handling_min: float) -> None:
    """Call a tanker from the queue."""
    now_min = play.scene[0].now_min
    free_place(play, row)
    play.tankers[row].does = does
    expect(play, row, now_min + handling_min * factor_of(play, row, OF_UNLOAD_HANDLING))
    play.stamps[row, CALLED] = now_min


@merged
def _give_inlets(play: Play) -> None:
    """Call tankers to free inlets."""
    scene, tankers = play.scene[0], play.tankers
    while scene.first >= 0 and scene.inlets < _INLETS:
        row = _first_to_couple(tankers, scene.first, min(scene.most_off_gpm, scene.asked_gpm))
        if row < 0 and scene.inlets == 0:
            row = _first_to_couple(tankers, scene.first, 0.0)
        if row < 0:
            break
        scene.inlets += 1
        _call(play, row, COUPLES, play.fixed.times.nurse_handling_min)


@merged
def _give_dump_positions(play: Play) -> None:
    """Call tankers to free dump positions."""
    scene = play.scene[0]
    while scene.first >= 0 and scene.positions < scene.tanks:
        row = _first_to_unload(play.tankers, scene.first)
        if row < 0:
            break
        scene.positions += 1
        _call(play, row, HANDLES, play.fixed.times.dump_handling_min)


@merged
def _give_line(play: Play) -> None:
    """Let the next tanker pump off if nobody does."""
    scene, tankers, first = play.scene[0], play.tankers, -1
    waits = scene.now_min < scene.line_min - SAME_MIN
    if scene.pumping >= 0 or waits or pump_supplies(scene):
        return
    for row in range(tankers.size):
        if tankers[row].does != COUPLED:
            continue
        if first < 0 or tankers[row].ready_min < tankers[first].ready_min:
            first = row
    scene.pumping, tankers[first].nursed = first, 1
    scene.coupled -= 1
    _begin(play, first, PUMPS_OFF)
    if np.isnan(scene.nurse_min):
        scene.nurse_min = scene.now_min


@merged
def give_at_incident(play: Play) -> None:
    """Give out inlets, dump positions and the line."""
    scene = play.scene[0]
    if scene.first >= 0 and scene.dump_site == IN_USE:
        _give_dump_positions(play)
    elif scene.first >= 0:
        _give_inlets(play)
    if scene.coupled > 0:
        _give_line(play)
