"""The water at the incident: tanks with a level, and flows that are constant between two events."""

import numpy as np

from haulshed.clock.state import (
    IN_USE,
    NO_GAL,
    NO_GAP_GPM,
    SAME_MIN,
    UNLOADS,
    Play,
    Record,
)
from haulshed.shuttle.kernel import merged


@merged
def pump_supplies(scene: Record) -> bool:
    """Say whether the dump site's pump is the supply as long as nobody pumps off."""
    return bool(scene.dump_site == IN_USE or scene.portable_gal > 0 or scene.unloading > 0)


@merged
def _unloading_gpm(play: Play) -> float:
    """Let every tanker that unloads do so at its own rate; return the sum."""
    inflow_gpm = 0.0
    for rank in range(play.scene[0].flowing):
        tanker = play.tankers[play.flowing[rank]]
        if tanker.does == UNLOADS:
            tanker.rate_gpm = tanker.unload_gpm
            inflow_gpm += tanker.rate_gpm
    return inflow_gpm


@merged
def _hold_back(play: Play, taken_gpm: float) -> None:
    """Hold the inflow to what the pump takes: who began first goes first, ties by row."""
    tankers, scene = play.tankers, play.scene[0]
    free_gpm, after_min, after = taken_gpm, -1.0, -1
    for _ in range(scene.unloading):
        first = -1
        for rank in range(scene.flowing):
            row = play.flowing[rank]
            begun_min = tankers[row].ready_min
            later = begun_min > after_min or (begun_min == after_min and row > after)
            if tankers[row].does != UNLOADS or not later:
                continue
            if first < 0 or begun_min < tankers[first].ready_min:
                first = row
        tankers[first].rate_gpm = min(tankers[first].unload_gpm, free_gpm)
        free_gpm -= tankers[first].rate_gpm
        after_min, after = tankers[first].ready_min, first


@merged
def set_flows(play: Play) -> None:
    """Work out what flows from now on, and when a tank next is full or empty."""
    tankers, scene = play.tankers, play.scene[0]
    inflow_gpm = _unloading_gpm(play) if scene.unloading else 0.0
    nursing, able_gpm = scene.pumping >= 0, 0.0
    if nursing:
        able_gpm = tankers[scene.pumping].off_gpm
    elif pump_supplies(scene):
        able_gpm = scene.line_gpm if scene.portable_gal > 0 else min(scene.line_gpm, inflow_gpm)
    full = scene.engine_gal >= scene.engine_full_gal
    supply_gpm = min(able_gpm, scene.asked_gpm) if full else able_gpm
    scene.supply_gpm = supply_gpm
    scene.given_gpm = scene.asked_gpm if scene.engine_gal > 0 else min(supply_gpm, scene.asked_gpm)
    if nursing:
        tankers[scene.pumping].rate_gpm = supply_gpm
    taken_gpm = 0.0 if nursing else supply_gpm
    if scene.portable_gal >= scene.room_gal and inflow_gpm > taken_gpm:
        _hold_back(play, taken_gpm)
        inflow_gpm = taken_gpm
    scene.rising_gpm = inflow_gpm - taken_gpm
    scene.turn_min, scene.stale = scene.now_min + _minutes_to_turn(play), 0


@merged
def _bound_min(level_gal: float, full_gal: float, rising_gpm: float) -> float:
    """Return the minutes until a tank is full or empty."""
    if rising_gpm > 0 and level_gal < full_gal:
        return (full_gal - level_gal) / rising_gpm
    return level_gal / -rising_gpm if rising_gpm < 0 else np.inf


@merged
def _minutes_to_turn(play: Play) -> float:
    """Return the minutes until a tank is full or empty."""
    scene = play.scene[0]
    engine_gpm = scene.supply_gpm - scene.given_gpm
    soonest = min(
        _bound_min(scene.engine_gal, scene.engine_full_gal, engine_gpm),
        _bound_min(scene.portable_gal, scene.room_gal, scene.rising_gpm),
    )
    for rank in range(scene.flowing):
        tanker = play.tankers[play.flowing[rank]]
        if tanker.rate_gpm > 0:
            soonest = min(soonest, tanker.left_gal / tanker.rate_gpm)
    return float(soonest)


@merged
def _bounded(level_gal: float, full_gal: float) -> float:
    """Return a level without the last bits that it is above empty or below full."""
    if level_gal < NO_GAL:
        return 0.0
    return full_gal if level_gal > full_gal - NO_GAL else level_gal


@merged
def engine_gal(scene: Record, minutes: float) -> float:
    """Return what the attack engine's tank holds so long after the levels were written."""
    level_gal = scene.engine_gal + scene.supply_gpm * minutes - scene.given_gpm * minutes
    return _bounded(level_gal, scene.engine_full_gal)


@merged
def portable_gal(scene: Record, minutes: float) -> float:
    """Return what the portable tanks hold so long after the levels were written."""
    return _bounded(scene.portable_gal + scene.rising_gpm * minutes, scene.room_gal)


@merged
def catch_up(play: Play) -> None:
    """
    Write down the levels of now.

    Between two events at the incident its flows are constant, whatever happens elsewhere, so that
    levels are written only where they, or flows, are to change.
    """
    scene = play.scene[0]
    minutes = scene.now_min - scene.level_min
    if minutes <= 0:
        return
    scene.delivered_gal += scene.given_gpm * minutes
    scene.asked_gal += scene.asked_gpm * minutes
    scene.engine_gal, scene.portable_gal = engine_gal(scene, minutes), portable_gal(scene, minutes)
    for rank in range(scene.flowing):
        tanker = play.tankers[play.flowing[rank]]
        left_gal = tanker.left_gal - tanker.rate_gpm * minutes
        tanker.left_gal = left_gal if left_gal > NO_GAL else 0.0
        scene.emptied += left_gal <= NO_GAL
    _note_gap(scene, minutes, play.fixed.times.shortest_gap_min)
    scene.level_min = scene.now_min


@merged
def _note_gap(scene: Record, minutes: float, shortest_gap_min: float) -> None:
    """Note the gap that the minutes until now are part of; after overhaul begins none counts."""
    if scene.level_min >= scene.overhaul_min - SAME_MIN:
        return
    lacks_gpm = scene.asked_gpm - scene.given_gpm
    if lacks_gpm <= NO_GAP_GPM:
        scene.gap_min = 0.0
        return
    scene.gap_min += minutes
    scene.short_gal += lacks_gpm * minutes
    if scene.gap_min >= shortest_gap_min - SAME_MIN:
        scene.longest_gap_min = max(scene.longest_gap_min, scene.gap_min)
        scene.last_gap_min = scene.now_min
