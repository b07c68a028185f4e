"""What happens because it is time: failures, the flow asked for, the dump site and its tanks."""

import numpy as np

from haulshed.clock.filling import stop_drawing, turn_back
from haulshed.clock.incident import free_place, send_back
from haulshed.clock.start import TOLD_MIN
from haulshed.clock.state import (
    COUPLED,
    COUPLES,
    GOING,
    HANDLES,
    IN_USE,
    NOT_YET,
    OUT,
    SAME_MIN,
    SITE_HANDLES,
    SITE_QUEUES,
    SITE_READY,
    TAKEN_OUT,
    TAKES,
    Play,
    Record,
    Times,
)
from haulshed.clock.trips import unbook_load
from haulshed.shuttle.kernel import merged


@merged
def _break_down(play: Play, row: int) -> None:
    """Take a tanker out of play, with the water in it."""
    tanker = play.tankers[row]
    does = tanker.does
    free_place(play.scene[0], does)
    if does == TAKES:
        stop_drawing(play, row)
    if does in (SITE_HANDLES, SITE_READY):
        play.sites[tanker.site].taken -= 1
    if does in (GOING, SITE_QUEUES, SITE_HANDLES, SITE_READY):
        unbook_load(play, row)
    tanker.does, tanker.due_min = OUT, np.inf


@merged
def _fail(play: Play, late_min: float) -> None:
    """Break tankers down and close sites, as is their time."""
    for row in range(play.tankers.size):
        tanker = play.tankers[row]
        if tanker.does != OUT and tanker.down_min <= late_min:
            _break_down(play, row)
        waits = tanker.does in (SITE_QUEUES, SITE_HANDLES, SITE_READY)
        if waits and play.sites[tanker.site].closes_min <= late_min:
            turn_back(play, row)


@merged
def _asked_gpm(scene: Record, late_min: float, times: Times) -> float:
    """Return the flow asked for now."""
    if late_min < scene.first_water_min:
        return 0.0
    if late_min < scene.attack_end_min:
        return float(min(times.attack_gpm, scene.needed_gpm))
    if late_min < scene.overhaul_min:
        return float(scene.needed_gpm)
    return float(min(times.overhaul_gpm, scene.needed_gpm))


@merged
def _open_dump_site(play: Play) -> None:
    """Let the dump site take over from the inlets."""
    play.scene[0].dump_site = IN_USE
    for row in range(play.tankers.size):
        if play.tankers[row].does in (COUPLES, COUPLED):
            send_back(play, row)


@merged
def _take_dump_site_out(play: Play) -> None:
    """Let the inlets take over from the dump site, if anybody can pump off."""
    nurses = False
    for tanker in play.tankers:
        nurses |= tanker.does != OUT and tanker.off_gpm > 0
    if not nurses:
        return
    play.scene[0].dump_site = TAKEN_OUT
    for row in range(play.tankers.size):
        if play.tankers[row].does == HANDLES:
            send_back(play, row)


@merged
def _set_up_tanks(play: Play, late_min: float) -> None:
    """Count the portable tanks that stand by now."""
    scene = play.scene[0]
    while scene.tanks < play.tanks.size and play.tanks[scene.tanks].stands_min <= late_min:
        scene.room_gal += play.tanks[scene.tanks].gal
        scene.tanks += 1


@merged
def _mark(scene: Record) -> None:
    """Note what has been delivered at the moments that are told."""
    if abs(scene.now_min - TOLD_MIN) <= SAME_MIN:
        scene.at_120_gal = scene.delivered_gal
    if abs(scene.now_min - scene.hour_min) <= SAME_MIN:
        scene.at_hour_gal = scene.delivered_gal
    if abs(scene.now_min - scene.overhaul_min) <= SAME_MIN:
        scene.at_overhaul_gal = scene.delivered_gal


@merged
def change(play: Play, times: Times) -> None:
    """Let happen what was known to happen now."""
    scene = play.scene[0]
    late_min = scene.now_min + SAME_MIN
    _mark(scene)
    _fail(play, late_min)
    scene.asked_gpm = _asked_gpm(scene, late_min, times)
    if scene.dump_site == NOT_YET and scene.dump_site_min <= late_min:
        _open_dump_site(play)
    if scene.dump_site == IN_USE and scene.overhaul_min <= late_min:
        _take_dump_site_out(play)
    elif scene.dump_site == IN_USE:
        _set_up_tanks(play, late_min)
