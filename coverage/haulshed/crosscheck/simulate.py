"""A discrete-event simulation of one incident, by the clock's rules of play and none of its code.

SimPy keeps the time: everything that takes minutes is a process of its own, which may be
interrupted. Whenever one ends, the bell rings; what is due within the same moment is let end too,
and then the moment is settled by the rules, in their order.
"""

from collections.abc import Callable, Generator
from functools import partial
from math import inf, nan
from typing import Any

import simpy

from haulshed.crosscheck.incident import MOMENT_MIN, Incident, Played
from haulshed.crosscheck.sim_fill import FillGround
from haulshed.crosscheck.sim_start import Start
from haulshed.crosscheck.sim_supply import Supply
from haulshed.crosscheck.sim_tanker import Crew, Doing

Wait = Generator[simpy.Event, Any, None]


def simulate(incident: Incident) -> Played:
    """
    Play an incident to the end of overhaul.

    Without an engine there is no water: nothing is asked for and nobody goes round.
    """
    start = Start(incident)
    if start.first_water_min == inf:
        return _nothing(incident)
    play = _Play(incident, start)
    play.environment.run(until=play.over)
    return play.told()


def _nothing(incident: Incident) -> Played:
    return Played(
        trips=(),
        stretches=(),
        first_water_min=nan,
        dump_site_min=nan,
        brought_gal=0.0,
        taken_gal=0.0,
        left_gal=0.0,
        source_gal=tuple(one.stored_gal for one in incident.sources),
        rules=incident.rules,
        duration_min=incident.operation.duration_min,
    )


class _Play:
    """One incident being played."""

    def __init__(self, incident: Incident, start: Start) -> None:
        self.environment = simpy.Environment()
        self.over = self.environment.event()
        self._incident, self._start = incident, start
        self._crews = [
            Crew(row, tanker) for row, tanker in enumerate(incident.tankers) if tanker.plays
        ]
        self._ground = FillGround(incident, start)
        self._supply = Supply(incident, start, self._crews)
        self._ended: list[Crew] = []
        self._bell = self.environment.event()
        self._alarm: simpy.Process | None = None
        for minute in self._known_minutes():
            self.environment.process(self._ring_at(minute))
        for crew in self._crews:
            self._do(crew, Doing.COMING, crew.tanker.arrives_min)
        self.environment.process(self._settling())

    def told(self) -> Played:
        """Return what happened."""
        trips = [trip for crew in self._crews for trip in crew.trips]
        brought_gal = sum(crew.tanker.load_gal for crew in self._crews if crew.trips)
        return Played(
            trips=tuple(trips),
            stretches=tuple(self._supply.stretches),
            first_water_min=self._start.first_water_min,
            dump_site_min=self._start.ready_min if self._start.ready_min < inf else nan,
            brought_gal=brought_gal + self._start.attack_tank_gal,
            taken_gal=self._ground.taken_gal,
            left_gal=sum(crew.aboard_gal for crew in self._crews) + self._supply.stored_gal,
            source_gal=tuple(self._ground.level_gal),
            rules=self._incident.rules,
            duration_min=self._incident.operation.duration_min,
        )

    def _known_minutes(self) -> set[float]:
        """Return every minute at which something happens whatever tankers do."""
        minutes = {
            *self._start.known_minutes,
            *(site.closes_min for site in self._incident.sites),
            *(crew.tanker.down_min for crew in self._crews),
        }
        return {minute for minute in minutes if minute <= self._start.end_min}

    def _ring_at(self, minute: float) -> Wait:
        yield self.environment.timeout(minute)
        self._ring()

    def _ring(self) -> None:
        if not self._bell.triggered:
            self._bell.succeed()

    def _do(self, crew: Crew, doing: Doing, minutes: float) -> None:
        """Set a tanker to something that takes its time."""
        crew.doing = doing
        crew.process = self.environment.process(self._taking_time(crew, minutes))

    def _taking_time(self, crew: Crew, minutes: float) -> Wait:
        try:
            yield self.environment.timeout(minutes)
        except simpy.Interrupt:
            return
        crew.process = None
        self._ended.append(crew)
        self._ring()

    def _settling(self) -> Wait:
        """Settle each moment once all that is due in it has come."""
        before_min = 0.0
        while True:
            yield self._bell
            moment_end = self.environment.now + MOMENT_MIN
            while self.environment.peek() <= moment_end:
                step = self.environment.peek() - self.environment.now
                yield self.environment.timeout(max(step, 0.0))
            self._bell = self.environment.event()
            now = self.environment.now
            self._supply.run(before_min, now)
            self._ground.run(now - before_min)
            before_min = now
            self._settle(now)
            if now >= self._start.end_min - MOMENT_MIN:
                self.over.succeed()
                return
            self._set_alarm()

    def _set_alarm(self) -> None:
        """Ring the bell when a level, or a load that runs, comes to its end."""
        if self._alarm is not None and self._alarm.is_alive:
            self._alarm.interrupt()
        minutes = min(self._supply.next_min(), self._ground.next_min())
        self._alarm = None
        if minutes < inf:
            self._alarm = self.environment.process(self._alarmed(minutes))

    def _alarmed(self, minutes: float) -> Wait:
        try:
            yield self.environment.timeout(minutes)
        except simpy.Interrupt:
            return
        self._ring()

    def _settle(self, now: float) -> None:
        """Let everything happen that is due now, in the order of the rules."""
        for crew in self._crews:
            if crew.tanker.down_min <= now + MOMENT_MIN and crew.doing is not Doing.DOWN:
                self._break_down(crew)
        self._close_sites(now)
        for crew in self._supply.stages(now):
            self._stop(crew, Doing.QUEUED)
            crew.sent_back()
        ended = {crew.row: crew for crew in (*self._ended, *self._supply.emptied())}
        self._ended.clear()
        for _, crew in sorted(ended.items()):
            if crew.doing is not Doing.DOWN:
                self._end(crew, now)
        self._give(now)
        self._supply.set_rates(now)

    def _end(self, crew: Crew, now: float) -> None:
        """Let a tanker end what it has come to the end of."""
        end: dict[Doing, Callable[[float], None]] = {
            Doing.COMING: crew.join_queue,
            Doing.DRIVING_LOADED: crew.join_queue,
            Doing.TURNED_BACK: partial(self._choose, crew),
            Doing.PUMPING: partial(self._emptied, crew),
            Doing.UNLOADING: partial(self._emptied, crew),
            Doing.COUPLING: crew.coupled,
            Doing.HANDLING_DUMP: partial(self._supply.unload, crew),
            Doing.DRIVING_EMPTY: partial(self._arrive_at_site, crew),
            Doing.HANDLING_FILL: partial(self._ground.ready, crew),
            Doing.TAKING: partial(self._full, crew),
        }
        end[crew.doing](now)

    def _emptied(self, crew: Crew, now: float) -> None:
        crew.emptied(now)
        self._supply.forget(crew)
        self._choose(crew, now)

    def _full(self, crew: Crew, now: float) -> None:
        self._ground.filled(crew)
        crew.trip.full_min = now
        self._do(crew, Doing.DRIVING_LOADED, crew.tanker.loaded_min[crew.trip.site])

    def _choose(self, crew: Crew, now: float) -> None:
        site = self._ground.choose(crew, now)
        if site is None:
            crew.doing = Doing.STAYING
            return
        crew.leave(now, site)
        self._do(crew, Doing.DRIVING_EMPTY, crew.tanker.empty_min[site])

    def _arrive_at_site(self, crew: Crew, now: float) -> None:
        crew.trip.at_site_min = now
        if self._ground.closed(crew.trip.site, now):
            self._turn_back(crew)
        else:
            self._ground.queue(crew, now)

    def _turn_back(self, crew: Crew) -> None:
        self._stop(crew, Doing.TURNED_BACK)
        self._ground.forget(crew)
        self._do(crew, Doing.TURNED_BACK, crew.tanker.loaded_min[crew.trip.site])

    def _close_sites(self, now: float) -> None:
        for crew in self._crews:
            at_site = crew.doing in {Doing.AT_SITE, Doing.HANDLING_FILL, Doing.READY}
            if at_site and self._ground.closed(crew.trip.site, now):
                self._ended = [one for one in self._ended if one is not crew]
                self._turn_back(crew)

    def _break_down(self, crew: Crew) -> None:
        self._stop(crew, Doing.DOWN)
        self._supply.forget(crew)
        self._ground.forget(crew)

    def _stop(self, crew: Crew, doing: Doing) -> None:
        """Take a tanker off what it does."""
        if crew.process is not None and crew.process.is_alive:
            crew.process.interrupt()
        crew.process, crew.doing = None, doing
        self._ended = [one for one in self._ended if one is not crew]

    def _give(self, now: float) -> None:
        """Give out positions at the fill sites, water, inlets, dump positions and the line."""
        for crew in self._ground.give_positions(now):
            handling_min = self._incident.sites[crew.trip.site].handling_min
            self._do(crew, Doing.HANDLING_FILL, handling_min * crew.handling_factor)
        for crew in self._ground.give_water(now):
            self._do(crew, Doing.TAKING, self._ground.taking_min(crew))
        operation = self._incident.operation
        for crew in self._supply.give_positions(now):
            self._do(crew, Doing.HANDLING_DUMP, operation.dump_handling_min * crew.unload_factor)
        for crew in self._supply.give_inlets(now):
            self._do(crew, Doing.COUPLING, operation.nurse_handling_min * crew.unload_factor)
        self._supply.give_line(now)
