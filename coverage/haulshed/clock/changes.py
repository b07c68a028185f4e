"""What happens because it is time: failures, the flow asked for, the dump site and its tanks."""

from haulshed.clock.filling import leave_site, turn_back
from haulshed.clock.incident import free_place, send_back
from haulshed.clock.order import forget, stir
from haulshed.clock.start import TOLD_MIN, most_off_gpm
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
from haulshed.shuttle.kernel import merged


@merged
def _break_down(play: Play, row: int) -> None:
    """Take a tanker out of play, with the water in it."""
    tanker = play.tankers[row]
    if tanker.does in (GOING, SITE_QUEUES, SITE_HANDLES, SITE_READY, TAKES):
        leave_site(play, row)
    else:
        free_place(play, row)
    forget(play, row)
    tanker.does = OUT
    play.scene[0].most_off_gpm = most_off_gpm(play)


@merged
def _fail(play: Play, late_min: float) -> None:
    """Break tankers down and close sites, as is their time."""
    for row in range(play.tankers.size):
        tanker = play.tankers[row]
        if tanker.does != OUT and tanker.down_min <= late_min:
            _break_down(play, row)
        waits = tanker.does in (SITE_QUEUES, SITE_HANDLES, SITE_READY)
        if waits and play.sites[tanker.site].closes_min <= late_min:
            forget(play, row)
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
def _send_all_back(play: Play, does: int, or_does: int) -> None:
    """Send back to the queue whoever does one or the other, by row."""
    for row in range(play.tankers.size):
        if play.tankers[row].does in (does, or_does):
            send_back(play, row)


@merged
def _change_dump_site(play: Play, late_min: float) -> None:
    """Let the dump site take over from the inlets, and the inlets again if anybody can pump off."""
    scene = play.scene[0]
    if scene.dump_site == NOT_YET and scene.dump_site_min <= late_min:
        scene.dump_site = IN_USE
        _send_all_back(play, COUPLES, COUPLED)
    if scene.dump_site != IN_USE:
        return
    if scene.overhaul_min > late_min:
        _set_up_tanks(play, late_min)
    elif scene.most_off_gpm > 0:
        scene.dump_site = TAKEN_OUT
        _send_all_back(play, HANDLES, HANDLES)


@merged
def _set_up_tanks(play: Play, late_min: float) -> None:
    """Count the portable tanks that stand by now."""
    scene = play.scene[0]
    while scene.tanks < play.tanks.size and play.tanks[scene.tanks].stands_min <= late_min:
        scene.room_gal += play.tanks[scene.tanks].gal
        scene.tanks += 1


@merged
def _stir_pumped(play: Play) -> None:
    """Let those at the sites with a pumper look whether it gives water by now."""
    pumped = play.many.pumper_sites[play.scene[0].place]
    for rank in range(pumped.size):
        if pumped[rank] >= 0:
            stir(play, pumped[rank])


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
def change(play: Play) -> None:
    """Let happen what was known to happen now."""
    scene = play.scene[0]
    late_min = scene.now_min + SAME_MIN
    _mark(scene)
    if scene.fails:
        _fail(play, late_min)
    scene.asked_gpm, scene.stale = _asked_gpm(scene, late_min, play.fixed.times), 1
    _change_dump_site(play, late_min)
    _stir_pumped(play)
