"""The minute of dispatch: who comes when, what work engines get, what is known from the start."""

import numpy as np

from haulshed.clock.order import expect, touch
from haulshed.clock.state import COMING, OUT, Play, Record, Times
from haulshed.shuttle.kernel import Floats, merged

#: The flow is judged over the last of so many minutes, at most half of the duration.
HOUR_MIN = 60.0
#: Water delivered is told for this minute.
TOLD_MIN = 120.0


@merged
def restore(play: Play, at: int) -> None:
    """Set a site and its source to the minute of dispatch; without a pumper some give nothing."""
    site = play.sites[at]
    source = play.sources[site.source]
    site.gives_min = np.inf if site.needs_pumper else 0.0
    site.draw_gpm, site.booked_min, site.credit_gal, site.taken = 0.0, 0.0, 0.0, 0
    site.first, site.touched, site.stirred = -1, 0, 0
    source.gal, source.since_min, source.first = source.stored_gal, 0.0, -1
    source.draw_gpm, source.booked_min, source.owed_gal = 0.0, 0.0, 0.0
    play.booked_min[at, :] = 0.0


@merged
def _restore_touched(play: Play) -> None:
    """Set what the incident before has touched to the minute of dispatch."""
    scene = play.scene[0]
    for rank in range(scene.touched):
        restore(play, play.touched[rank])
    scene.touched, scene.stirred, scene.due, scene.flowing = 0, 0, 0, 0


@merged
def _arrival(planned_min: float, turnout_min: float, factor: Floats) -> float:
    """Return when a unit arrives; inf where it stays away."""
    if factor[1] == np.inf or planned_min == np.inf:
        return np.inf
    return float(turnout_min * factor[0] + (planned_min - turnout_min) * factor[1])


@merged
def _engine_min(play: Play, row: int) -> float:
    """Return when an engine arrives; note its pace."""
    engine, scene = play.engines[row], play.scene[0]
    factor = play.draws.engines[scene.draw, row]
    engine.turnout_factor, engine.drive_factor = factor[0], factor[1]
    planned_min = play.many.engine_min[scene.place, row]
    engine.arrival_min = _arrival(planned_min, engine.turnout_min, factor)
    return float(engine.arrival_min)


@merged
def _tanker_min(play: Play, row: int) -> float:
    """Return when a tanker arrives that plays, and send it on its way; inf: it does not."""
    tanker, scene = play.tankers[row], play.scene[0]
    factor = play.draws.tankers[scene.draw, row]
    planned_min = play.many.tanker_min[scene.place, row]
    arrival_min = _arrival(planned_min, tanker.turnout_min, factor)
    useless = tanker.off_gpm <= 0 and tanker.unload_gpm <= 0
    if useless or arrival_min >= tanker.down_min:
        arrival_min = np.inf
    plays = arrival_min < np.inf
    tanker.arrival_min, tanker.pace = arrival_min, factor[1]
    tanker.does, tanker.left_gal = (COMING, tanker.load_gal) if plays else (OUT, 0.0)
    tanker.trip, tanker.site, tanker.nursed, tanker.rate_gpm = 0, -1, -1, 0.0
    if plays:
        expect(play, row, arrival_min)
    return float(arrival_min)


@merged
def _earlier(play: Play, who: int, other: int) -> bool:
    """Say whether a unit arrives before another: engines first, ties by row."""
    who_min, other_min = play.comes_min[who], play.comes_min[other]
    return bool(who_min < other_min or (who_min == other_min and who < other))


@merged
def _set_units(play: Play) -> None:
    """Send the units on their way, and bring the list of them into the order of arrival."""
    scene, units, engines = play.scene[0], play.units, play.engines.size
    for rank in range(scene.units):
        who = units[rank]
        at_min = _engine_min(play, who) if who < engines else _tanker_min(play, who - engines)
        play.comes_min[who] = at_min
        at = rank
        while at > 0 and _earlier(play, who, units[at - 1]):
            units[at] = units[at - 1]
            at -= 1
        units[at] = who


@merged
def _line_min(play: Play) -> float:
    """Return when the hose of the engines there reaches and is ready."""
    there_ft, scene = 0.0, play.scene[0]
    for rank in range(scene.units):
        who = play.units[rank]
        if who >= play.engines.size or play.comes_min[who] == np.inf:
            continue
        there_ft += play.engines[who].hose_ft
        if there_ft >= scene.lay_ft:
            return float(play.comes_min[who] + play.fixed.times.supply_line_min)
    return np.inf


@merged
def _sent_min(play: Play, row: int, site: int) -> float:
    """Return when an engine arrives at a site, sent there from its station."""
    engine = play.engines[row]
    drive_min = play.fixed.engine_site_min[row, site] - engine.turnout_min
    return float(engine.turnout_min * engine.turnout_factor + drive_min * engine.drive_factor)


@merged
def _send(play: Play, row: int, site: int) -> None:
    """Send an engine to a fill site, which gives water once it is there and set up."""
    touch(play, site)
    sent_min = _sent_min(play, row, site)
    play.sites[site].gives_min = sent_min + play.fixed.times.draft_setup_min
    play.sent[row] = True
    _note_day(play, play.sites[site].gives_min)


@merged
def _give_work(play: Play) -> float:
    """Give each engine its work; return when the one that drafts at the dump site is there."""
    scene, sent = play.scene[0], 0
    to_come = play.many.pumper_sites[scene.place]
    builds, at_min, attacks = scene.builds == 1, np.inf, True
    for rank in range(scene.units):
        who = play.units[rank]
        if who >= play.engines.size or play.comes_min[who] == np.inf:
            continue
        play.sent[who] = False
        waits = sent < to_come.size and to_come[sent] >= 0
        if attacks:
            attacks = False
        elif builds and not (scene.pumper_first and sent == 0 and waits):
            at_min, builds = play.comes_min[who], False
        elif waits:
            _send(play, who, to_come[sent])
            sent += 1
    return float(at_min)


@merged
def _people_min(play: Play, people: int) -> float:
    """Return when so many people are at the incident."""
    engines, there, last_min = play.engines.size, 0, 0.0
    for rank in range(play.scene[0].units):
        if there >= people:
            break
        who = play.units[rank]
        if play.comes_min[who] == np.inf:
            break
        if who < engines and play.sent[who]:
            continue
        crew = play.engines[who].crew if who < engines else play.tankers[who - engines].crew - 1
        there += max(crew, 0)
        last_min = play.comes_min[who]
    return last_min if there >= people else np.inf


@merged
def _set_tanks(play: Play, ready_min: float, times: Times) -> None:
    """Note when each portable tank stands."""
    scene, engines, tanks = play.scene[0], play.engines.size, 0
    stands_min = ready_min
    for tank in play.tanks:
        tank.stands_min, tank.gal = np.inf, 0.0
    for rank in range(scene.units):
        who = play.units[rank]
        if tanks == times.dump_positions_max or play.comes_min[who] == np.inf:
            break
        gal = (
            play.engines[who].portable_gal
            if who < engines
            else play.tankers[who - engines].portable_gal
        )
        if gal <= 0:
            continue
        setup_min = times.next_tank_min if tanks else times.dump_site_build_min
        stands_min = max(stands_min, play.comes_min[who]) + setup_min
        if tanks == 0:
            stands_min = max(stands_min, scene.line_min)
        play.tanks[tanks].stands_min, play.tanks[tanks].gal = stands_min, gal
        _note_day(play, stands_min)
        tanks += 1
    scene.dump_site_min = play.tanks[0].stands_min


@merged
def _set_scene(scene: Record, first_min: float, times: Times) -> None:
    """Set every level to that of dispatch, and note when which flow is asked for."""
    scene.pumping, scene.inlets, scene.coupled = -1, 0, 0
    scene.positions, scene.unloading, scene.emptied = 0, 0, 0
    scene.first, scene.last = -1, -1
    scene.tanks, scene.dump_site, scene.entry, scene.days = 0, 0, 0, 0
    scene.now_min, scene.level_min, scene.turn_min, scene.stale = 0.0, 0.0, np.inf, 1
    scene.looked_min, scene.looked_2_min = 0.0, 0.0
    scene.looked_4_min, scene.looked_6_min = 0.0, 0.0
    scene.portable_gal, scene.room_gal, scene.delivered_gal, scene.asked_gal = 0.0, 0.0, 0.0, 0.0
    scene.asked_gpm, scene.gap_min, scene.longest_gap_min = 0.0, 0.0, 0.0
    scene.given_gpm, scene.supply_gpm, scene.rising_gpm = 0.0, 0.0, 0.0
    scene.short_gal, scene.last_gap_min = 0.0, 0.0
    scene.at_120_gal, scene.nurse_min = np.nan, np.nan
    scene.first_water_min = first_min + times.attack_setup_min
    scene.attack_end_min = scene.first_water_min + times.attack_min
    scene.overhaul_min = scene.attack_end_min + times.duration_min
    scene.hour_min = scene.overhaul_min - min(HOUR_MIN, times.duration_min / 2)
    scene.end_min = scene.overhaul_min + times.overhaul_min


@merged
def _note_day(play: Play, known_min: float) -> None:
    """Write a moment that is known from the start into the calendar."""
    if known_min == np.inf:
        return
    at, scene = play.scene[0].days, play.scene[0]
    while at > 0 and play.calendar[at - 1] > known_min:
        play.calendar[at] = play.calendar[at - 1]
        at -= 1
    play.calendar[at] = known_min
    scene.days += 1


@merged
def _note_days(play: Play) -> None:
    """Write down what is known besides the work of the engines."""
    scene = play.scene[0]
    for known_min in (
        TOLD_MIN,
        scene.first_water_min,
        scene.attack_end_min,
        scene.hour_min,
        scene.overhaul_min,
        scene.line_min,
    ):
        _note_day(play, known_min)
    for closes_min in play.fixed.closes_min:
        _note_day(play, closes_min)
    if scene.fails:
        for tanker in play.tankers:
            _note_day(play, tanker.down_min)


@merged
def most_off_gpm(play: Play) -> float:
    """Return the most that any tanker that plays pumps off."""
    most_gpm = 0.0
    for tanker in play.tankers:
        if tanker.does != OUT:
            most_gpm = max(most_gpm, tanker.off_gpm)
    return most_gpm


@merged
def _first_engine(play: Play) -> int:
    """Return the engine that arrives first; -1: none comes."""
    for rank in range(play.scene[0].units):
        who = play.units[rank]
        if who < play.engines.size and play.comes_min[who] < np.inf:
            return int(who)
    return -1


@merged
def start(play: Play, draw: int) -> bool:
    """Set all to the minute of dispatch; return whether there is an engine and so a play."""
    scene, times = play.scene[0], play.fixed.times
    scene.draw = draw
    _restore_touched(play)
    play.rows[:] = 0
    play.stamps[:, :] = np.nan
    _set_units(play)
    first = _first_engine(play)
    if first < 0:
        return False
    _set_scene(scene, play.comes_min[first], times)
    scene.engine_gal = scene.engine_full_gal = play.engines[first].tank_gal
    scene.most_off_gpm = most_off_gpm(play)
    scene.line_min = _line_min(play)
    ready_min = _give_work(play)
    ready_min = max(ready_min, _people_min(play, times.dump_site_people))
    _set_tanks(play, ready_min, times)
    if scene.dump_site_min >= scene.overhaul_min:
        scene.dump_site_min = np.inf
    _note_days(play)
    play.calendar[scene.days] = np.inf
    return True
