"""The minute of dispatch: who comes when, what work engines get, what is known from the start."""

import numpy as np

from haulshed.clock.state import COMING, OUT, Play, Record, Records, Times
from haulshed.shuttle.kernel import Floats, Ints, inner

#: The flow is judged over the last of so many minutes, at most half of the duration.
HOUR_MIN = 60.0
#: Water delivered is told for this minute.
TOLD_MIN = 120.0


@inner
def _set_tankers(tankers: Records) -> None:
    """Send the tankers that play on their way; `arrival_min` is that of this incident."""
    for tanker in tankers:
        useless = tanker.off_gpm <= 0 and tanker.unload_gpm <= 0
        if useless or tanker.arrival_min >= tanker.down_min:
            tanker.arrival_min = np.inf
        plays = tanker.arrival_min < np.inf
        tanker.does = COMING if plays else OUT
        tanker.due_min = tanker.arrival_min
        tanker.left_gal = tanker.load_gal if plays else 0.0
        tanker.trip, tanker.site, tanker.nursed, tanker.rate_gpm = 0, -1, -1, 0.0


@inner
def _set_water(sites: Records, sources: Records) -> None:
    """Fill the sources; sites that need a pumper give nothing yet."""
    for site in sites:
        site.gives_min = np.inf if site.needs_pumper else 0.0
        site.draw_gpm, site.booked_min, site.credit_gal, site.taken = 0.0, 0.0, 0.0, 0
    for source in sources:
        source.gal, source.since_min = source.stored_gal, 0.0
        source.draw_gpm, source.booked_min, source.owed_gal = 0.0, 0.0, 0.0


@inner
def _line_min(engines: Records, order: Ints, lay_ft: float, setup_min: float) -> float:
    """Return when the hose of the engines there reaches and is ready."""
    there_ft = 0.0
    for row in order:
        there_ft += engines[row].hose_ft
        if there_ft >= lay_ft:
            return float(engines[row].arrival_min + setup_min)
    return np.inf


@inner
def _sent_min(play: Play, row: int, site: int) -> float:
    """Return when an engine arrives at a site, sent there from its station."""
    engine = play.engines[row]
    drive_min = play.engine_site_min[row, site] - engine.turnout_min
    return float(engine.turnout_min * engine.turnout_factor + drive_min * engine.drive_factor)


@inner
def _give_work(play: Play, order: Ints, setup_min: float, present_min: Floats) -> float:
    """
    Give each engine its work; return when the one that drafts at the dump site is there.

    Of those sent to fill sites the `present_min` becomes infinite.
    """
    scene, to_come, sent = play.scene[0], play.pumper_sites, 0
    builds, at_min = scene.builds == 1, np.inf
    for rank in range(1, order.size):
        row = order[rank]
        waits = sent < to_come.size and to_come[sent] >= 0
        if builds and not (scene.pumper_first and sent == 0 and waits):
            at_min, builds = present_min[row], False
        elif waits:
            site = to_come[sent]
            play.sites[site].gives_min = _sent_min(play, row, site) + setup_min
            present_min[row] = np.inf
            sent += 1
    return float(at_min)


@inner
def _people_min(play: Play, present_min: Floats, people: int) -> float:
    """Return when so many people are at the incident; `present_min`: engines, then tankers."""
    engines, there, last_min = play.engines.size, 0, 0.0
    for who in np.argsort(present_min, kind="mergesort"):
        if there >= people:
            break
        crew = play.engines[who].crew if who < engines else play.tankers[who - engines].crew - 1
        there += max(crew, 0)
        last_min = float(present_min[who])  # inf from the first that does not come
    return last_min if there >= people else np.inf


@inner
def _set_tanks(play: Play, arrival_min: Floats, ready_min: float, times: Times) -> None:
    """Note when each portable tank stands; `arrival_min`: engines, then tankers."""
    scene, engines, tanks = play.scene[0], play.engines.size, 0
    stands_min = ready_min
    for tank in play.tanks:
        tank.stands_min, tank.gal = np.inf, 0.0
    for who in np.argsort(arrival_min, kind="mergesort"):
        if tanks == times.dump_positions_max or arrival_min[who] == np.inf:
            break
        gal = (
            play.engines[who].portable_gal
            if who < engines
            else play.tankers[who - engines].portable_gal
        )
        if gal <= 0:
            continue
        setup_min = times.next_tank_min if tanks else times.dump_site_build_min
        stands_min = max(stands_min, arrival_min[who]) + setup_min
        if tanks == 0:
            stands_min = max(stands_min, scene.line_min)
        play.tanks[tanks].stands_min, play.tanks[tanks].gal = stands_min, gal
        tanks += 1
    scene.dump_site_min = play.tanks[0].stands_min


@inner
def _set_scene(scene: Record, first_min: float, times: Times) -> None:
    """Set every level to that of dispatch, and note when which flow is asked for."""
    scene.pumping, scene.inlets, scene.positions, scene.unloading = -1, 0, 0, 0
    scene.tanks, scene.dump_site, scene.entry = 0, 0, 0
    scene.now_min, scene.wake_min = 0.0, np.inf
    scene.portable_gal, scene.room_gal, scene.delivered_gal, scene.asked_gal = 0.0, 0.0, 0.0, 0.0
    scene.asked_gpm, scene.gap_min, scene.longest_gap_min = 0.0, 0.0, 0.0
    scene.short_gal, scene.last_gap_min = 0.0, 0.0
    scene.at_120_gal, scene.nurse_min = np.nan, np.nan
    scene.first_water_min = first_min + times.attack_setup_min
    scene.attack_end_min = scene.first_water_min + times.attack_min
    scene.overhaul_min = scene.attack_end_min + times.duration_min
    scene.hour_min = scene.overhaul_min - min(HOUR_MIN, times.duration_min / 2)
    scene.end_min = scene.overhaul_min + times.overhaul_min


@inner
def _set_calendar(play: Play) -> None:
    """Write down, in order, what is known from the start."""
    days, scene, at = play.calendar, play.scene[0], 0
    days[:] = np.inf
    for known_min in (
        TOLD_MIN,
        scene.first_water_min,
        scene.attack_end_min,
        scene.hour_min,
        scene.overhaul_min,
        scene.line_min,
    ):
        days[at] = known_min
        at += 1
    for tank in play.tanks:
        days[at] = tank.stands_min
        at += 1
    for site in play.sites:
        days[at], days[at + 1] = site.gives_min, site.closes_min
        at += 2
    for tanker in play.tankers:
        days[at] = tanker.down_min
        at += 1
    days.sort()


@inner
def start(play: Play, times: Times) -> bool:
    """Set all to the minute of dispatch; return whether there is an engine and so a play."""
    engines, scene = play.engines, play.scene[0]
    _set_tankers(play.tankers)
    _set_water(play.sites, play.sources)
    play.booked_min[:, :] = 0.0
    play.stamps[:, :] = np.nan
    play.rows[:] = 0
    arrival_min = np.empty(engines.size + play.tankers.size)
    playing = 0
    for row in range(engines.size):
        arrival_min[row] = engines[row].arrival_min
        playing += engines[row].arrival_min < np.inf
    for row in range(play.tankers.size):
        arrival_min[engines.size + row] = play.tankers[row].arrival_min
    if playing == 0:
        return False
    order = np.argsort(arrival_min[: engines.size], kind="mergesort")[:playing]
    _set_scene(scene, arrival_min[order[0]], times)
    scene.engine_gal = scene.engine_full_gal = engines[order[0]].tank_gal
    scene.line_min = _line_min(engines, order, scene.lay_ft, times.supply_line_min)
    present_min = arrival_min.copy()
    ready_min = _give_work(play, order, times.draft_setup_min, present_min)
    ready_min = max(ready_min, _people_min(play, present_min, times.dump_site_people))
    _set_tanks(play, arrival_min, ready_min, times)
    if scene.dump_site_min >= scene.overhaul_min:
        scene.dump_site_min = np.inf
    _set_calendar(play)
    return True
