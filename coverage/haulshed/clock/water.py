"""The water at the incident: tanks with a level, and flows that are constant between two events."""

import numpy as np

from haulshed.clock.state import (
    IN_USE,
    NO_GAL,
    NO_GAP_GPM,
    PUMPS_OFF,
    SAME_MIN,
    UNLOADS,
    Record,
    Records,
)
from haulshed.shuttle.kernel import merged


@merged
def pump_supplies(scene: Record) -> bool:
    """Say whether the dump site's pump is the supply as long as nobody pumps off."""
    return bool(scene.dump_site == IN_USE or scene.portable_gal > 0 or scene.unloading > 0)


@merged
def _unloading_gpm(tankers: Records) -> float:
    """Let every tanker that unloads do so at its own rate; return the sum."""
    inflow_gpm = 0.0
    for row in range(tankers.size):
        tanker = tankers[row]
        if tanker.does == UNLOADS:
            tanker.rate_gpm = tanker.unload_gpm
            inflow_gpm += tanker.rate_gpm
    return inflow_gpm


@merged
def _hold_back(tankers: Records, unloading: int, taken_gpm: float) -> None:
    """Hold the inflow to what the pump takes: who began first goes first, ties by row."""
    free_gpm, after_min, after = taken_gpm, -1.0, -1
    for _ in range(unloading):
        first = -1
        for row in range(tankers.size):
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
def set_flows(tankers: Records, scene: Record) -> None:
    """Work out what flows from now on."""
    inflow_gpm = _unloading_gpm(tankers) if scene.unloading else 0.0
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
        _hold_back(tankers, scene.unloading, taken_gpm)
        inflow_gpm = taken_gpm
    scene.rising_gpm = inflow_gpm - taken_gpm


@merged
def _bound_min(level_gal: float, full_gal: float, rising_gpm: float) -> float:
    """Return the minutes until a tank is full or empty."""
    if rising_gpm > 0 and level_gal < full_gal:
        return (full_gal - level_gal) / rising_gpm
    return level_gal / -rising_gpm if rising_gpm < 0 else np.inf


@merged
def minutes_to_next(tankers: Records, scene: Record) -> float:
    """Return the minutes until a tank is full or empty."""
    engine_gpm = scene.supply_gpm - scene.given_gpm
    soonest = min(
        _bound_min(scene.engine_gal, scene.engine_full_gal, engine_gpm),
        _bound_min(scene.portable_gal, scene.room_gal, scene.rising_gpm),
    )
    for row in range(tankers.size):
        tanker = tankers[row]
        if tanker.does in (UNLOADS, PUMPS_OFF) and tanker.rate_gpm > 0:
            soonest = min(soonest, tanker.left_gal / tanker.rate_gpm)
    return float(soonest)


@merged
def _bounded(level_gal: float, full_gal: float) -> float:
    """Return a level without the last bits that it is above empty or below full."""
    if level_gal < NO_GAL:
        return 0.0
    return full_gal if level_gal > full_gal - NO_GAL else level_gal


@merged
def run_on(tankers: Records, scene: Record, minutes: float, shortest_gap_min: float) -> None:
    """Let the water flow for some minutes."""
    given_gal, supplied_gal = scene.given_gpm * minutes, scene.supply_gpm * minutes
    scene.delivered_gal += given_gal
    scene.asked_gal += scene.asked_gpm * minutes
    engine_gal = scene.engine_gal + supplied_gal - given_gal
    scene.engine_gal = _bounded(engine_gal, scene.engine_full_gal)
    portable_gal = scene.portable_gal + scene.rising_gpm * minutes
    scene.portable_gal = _bounded(portable_gal, scene.room_gal)
    for row in range(tankers.size):
        tanker = tankers[row]
        if tanker.does in (UNLOADS, PUMPS_OFF):
            left_gal = tanker.left_gal - tanker.rate_gpm * minutes
            tanker.left_gal = left_gal if left_gal > NO_GAL else 0.0
    _note_gap(scene, minutes, shortest_gap_min)


@merged
def _note_gap(scene: Record, minutes: float, shortest_gap_min: float) -> None:
    """Note the gap that a span of the play is part of; after overhaul begins none counts."""
    if scene.now_min >= scene.overhaul_min - SAME_MIN or minutes <= 0:
        return
    lacks_gpm = scene.asked_gpm - scene.given_gpm
    if lacks_gpm <= NO_GAP_GPM:
        scene.gap_min = 0.0
        return
    scene.gap_min += minutes
    scene.short_gal += lacks_gpm * minutes
    if scene.gap_min >= shortest_gap_min - SAME_MIN:
        scene.longest_gap_min = max(scene.longest_gap_min, scene.gap_min)
        scene.last_gap_min = scene.now_min + minutes
