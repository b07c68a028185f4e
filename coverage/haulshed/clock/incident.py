"""Tankers at the incident: queue, inlets and the line, dump positions."""

import numpy as np

from haulshed.clock.state import (
    BACK,
    CALLED,
    COUPLED,
    COUPLES,
    EMPTY,
    HANDLES,
    IN_USE,
    OF_UNLOAD_HANDLING,
    OUT,
    PUMPS_OFF,
    QUEUES,
    SAME_MIN,
    UNLOADING,
    UNLOADS,
    Play,
    Record,
    Records,
    factor_of,
)
from haulshed.clock.trips import leave
from haulshed.clock.water import pump_supplies
from haulshed.shuttle.kernel import merged

#: Inlets into the supply line.
_INLETS = 2


@merged
def join_queue(play: Play, row: int) -> None:
    """Let a tanker that has come queue."""
    tanker, now_min = play.tankers[row], play.scene[0].now_min
    tanker.does, tanker.due_min, tanker.since_min = QUEUES, np.inf, now_min
    play.stamps[row, BACK] = now_min


@merged
def free_place(scene: Record, does: int) -> None:
    """Free the inlet or dump position of a tanker by what it does."""
    if does in (COUPLES, COUPLED, PUMPS_OFF):
        scene.inlets -= 1
    if does == PUMPS_OFF:
        scene.pumping = -1
    if does in (HANDLES, UNLOADS):
        scene.positions -= 1
    if does == UNLOADS:
        scene.unloading -= 1


@merged
def send_back(play: Play, row: int) -> None:
    """Send a tanker that is handling back to the queue, at its time."""
    tanker = play.tankers[row]
    free_place(play.scene[0], tanker.does)
    tanker.does, tanker.due_min = QUEUES, np.inf
    play.stamps[row, CALLED] = np.nan


@merged
def coupled(play: Play, row: int) -> None:
    """Let a tanker wait for its turn to pump off."""
    tanker = play.tankers[row]
    tanker.does, tanker.due_min, tanker.ready_min = COUPLED, np.inf, play.scene[0].now_min


@merged
def begin_unloading(play: Play, row: int) -> None:
    """Open a tanker's valve."""
    tanker, scene = play.tankers[row], play.scene[0]
    tanker.does, tanker.due_min, tanker.ready_min = UNLOADS, np.inf, scene.now_min
    tanker.nursed = 0
    scene.unloading += 1
    play.stamps[row, UNLOADING] = scene.now_min


@merged
def emptied(play: Play, row: int) -> None:
    """Let a tanker that has run empty leave."""
    free_place(play.scene[0], play.tankers[row].does)
    play.stamps[row, EMPTY] = play.scene[0].now_min
    leave(play, row)


@merged
def _first_to_couple(tankers: Records, least_gpm: float) -> int:
    """Return the first in the queue that pumps off `least_gpm` or more, above 0; -1: nobody."""
    first = -1
    for row in range(tankers.size):
        off_gpm = tankers[row].off_gpm
        if tankers[row].does != QUEUES or off_gpm <= 0 or off_gpm < least_gpm:
            continue
        if first < 0 or tankers[row].since_min < tankers[first].since_min:
            first = row
    return first


@merged
def _first_to_unload(tankers: Records) -> int:
    """Return the first in the queue that can unload; -1: nobody."""
    first = -1
    for row in range(tankers.size):
        if tankers[row].does != QUEUES or tankers[row].unload_gpm <= 0:
            continue
        if first < 0 or tankers[row].since_min < tankers[first].since_min:
            first = row
    return first


@merged
def _able_gpm(tankers: Records, asked_gpm: float) -> float:
    """Return what a tanker must pump off to be called before others."""
    best_gpm = 0.0
    for tanker in tankers:
        if tanker.does != OUT:
            best_gpm = max(best_gpm, tanker.off_gpm)
    return min(best_gpm, asked_gpm)


@merged
def _call(play: Play, row: int, does: int, handling_min: float) -> None:
    """Call a tanker from the queue."""
    tanker, now_min = play.tankers[row], play.scene[0].now_min
    tanker.does = does
    tanker.due_min = now_min + handling_min * factor_of(play, row, OF_UNLOAD_HANDLING)
    play.stamps[row, CALLED] = now_min


@merged
def give_inlets(play: Play, handling_min: float) -> bool:
    """Call tankers to free inlets; return whether any was."""
    given, scene, tankers = False, play.scene[0], play.tankers
    while scene.dump_site != IN_USE and scene.inlets < _INLETS:
        row = _first_to_couple(tankers, _able_gpm(tankers, scene.asked_gpm))
        if row < 0 and scene.inlets == 0:
            row = _first_to_couple(tankers, 0.0)
        if row < 0:
            break
        given = True
        scene.inlets += 1
        _call(play, row, COUPLES, handling_min)
    return given


@merged
def give_dump_positions(play: Play, handling_min: float) -> bool:
    """Call tankers to free dump positions; return whether any was."""
    given, scene = False, play.scene[0]
    while scene.dump_site == IN_USE and scene.positions < scene.tanks:
        row = _first_to_unload(play.tankers)
        if row < 0:
            break
        given = True
        scene.positions += 1
        _call(play, row, HANDLES, handling_min)
    return given


@merged
def give_line(play: Play) -> bool:
    """Let the next tanker pump off if nobody does; return whether one begins."""
    scene, tankers, first = play.scene[0], play.tankers, -1
    waits = scene.now_min < scene.line_min - SAME_MIN
    if scene.pumping >= 0 or waits or pump_supplies(scene):
        return False
    for row in range(tankers.size):
        if tankers[row].does != COUPLED:
            continue
        if first < 0 or tankers[row].ready_min < tankers[first].ready_min:
            first = row
    if first < 0:
        return False
    scene.pumping = first
    tankers[first].does, tankers[first].nursed = PUMPS_OFF, 1
    play.stamps[first, UNLOADING] = scene.now_min
    if np.isnan(scene.nurse_min):
        scene.nurse_min = scene.now_min
    return True
