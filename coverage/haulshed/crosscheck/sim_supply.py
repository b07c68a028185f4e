"""The incident of the simulation: inlets, dump positions, the line and the tanks that bridge."""

from collections.abc import Iterator
from math import inf

from haulshed.crosscheck.incident import MOMENT_MIN, Incident, Stretch
from haulshed.crosscheck.sim_start import Start
from haulshed.crosscheck.sim_tanker import Crew, Doing

#: Gallons and gpm that a moment's flow makes of nothing.
_NOTHING = 1e-6
_INLETS = 2


class Supply:
    """What the fire is given, and from where."""

    def __init__(self, incident: Incident, start: Start, crews: list[Crew]) -> None:
        self._incident, self._start, self._crews = incident, start, crews
        self._engine_gal = start.attack_tank_gal
        self._portable_gal = 0.0
        self._pumping: Crew | None = None
        self._unloading: list[Crew] = []  #: in the order in which they began
        self._room_gal = 0.0
        self._goes_out: bool | None = None  #: None: overhaul has not begun
        self._asked_gpm = self._supplied_gpm = self._delivered_gpm = 0.0
        self._inflow_gpm = self._drawn_gpm = 0.0  #: of the portable tanks
        self._rates: dict[int, float] = {}  #: tanker → gpm that leaves it
        self.stretches: list[Stretch] = []

    @property
    def stored_gal(self) -> float:
        """Water at the incident that is in no tanker."""
        return self._engine_gal + self._portable_gal

    # What is the case at a moment.

    def _asked(self, now: float) -> float:
        now += MOMENT_MIN
        start, rules, asked_gpm = self._start, self._incident.rules, self._incident.asked_gpm
        if now < start.first_water_min:
            return 0.0
        if now < start.needed_min:
            return min(rules.attack_gpm, asked_gpm)
        return asked_gpm if now < start.overhaul_min else min(rules.overhaul_gpm, asked_gpm)

    def _standing(self, now: float) -> list[float]:
        return [room for minute, room in self._start.tanks if minute <= now + MOMENT_MIN]

    def _out(self) -> bool:
        """Say whether the dump site has been given up for nursing to the end."""
        return self._goes_out is True

    def _fastest_gpm(self) -> float:
        """Return the largest pump-off rate of all tankers that play."""
        playing = (crew for crew in self._crews if crew.doing is not Doing.DOWN)
        return max((crew.tanker.pump_off_gpm for crew in playing), default=0.0)

    def _takes_to_dump(self, now: float) -> bool:
        return bool(self._standing(now)) and not self._out()

    def _nurses(self, now: float) -> bool:
        return not self._standing(now) or self._out()

    def _doing(self, *doing: Doing) -> list[Crew]:
        return [crew for crew in self._crews if crew.doing in doing]

    def _queue(self) -> list[Crew]:
        return sorted(self._doing(Doing.QUEUED), key=lambda crew: (crew.since_min, crew.row))

    # What happens at a moment.

    def stages(self, now: float) -> list[Crew]:
        """Return the tankers that go back to the queue since the stage is another."""
        if self._goes_out is None and now + MOMENT_MIN >= self._start.overhaul_min:
            self._goes_out = self._fastest_gpm() > 0
        if self._takes_to_dump(now):
            return self._doing(Doing.COUPLING, Doing.COUPLED)
        if self._out() and self._standing(now):
            return self._doing(Doing.HANDLING_DUMP)
        return []

    def emptied(self) -> list[Crew]:
        """Return the tankers that have run empty."""
        running = self._doing(Doing.PUMPING, Doing.UNLOADING)
        return [crew for crew in running if crew.aboard_gal <= _NOTHING]

    def unload(self, crew: Crew, now: float) -> None:
        """Let a tanker open its valve at a dump position."""
        crew.begin_unloading(now, nursed=0)
        self._unloading.append(crew)

    def forget(self, crew: Crew) -> None:
        """Note that a tanker is gone."""
        self._rates.pop(crew.row, None)
        if self._pumping is crew:
            self._pumping = None
        if crew in self._unloading:
            self._unloading.remove(crew)

    def give_positions(self, now: float) -> Iterator[Crew]:
        """Yield the tankers that pull into a dump position now."""
        if not self._takes_to_dump(now):
            return
        taken = len(self._doing(Doing.HANDLING_DUMP, Doing.UNLOADING))
        free = len(self._standing(now)) - taken
        able = [crew for crew in self._queue() if crew.tanker.unload_gpm > 0]
        for crew in able[: max(free, 0)]:
            crew.trip.called_min = now
            yield crew

    def give_inlets(self, now: float) -> Iterator[Crew]:
        """Yield the tankers that are called to an inlet now."""
        if not self._nurses(now):
            return
        least_gpm = min(self._asked(now), self._fastest_gpm())
        while True:
            free = _INLETS - len(self._doing(Doing.COUPLING, Doing.COUPLED, Doing.PUMPING))
            can = [crew for crew in self._queue() if crew.tanker.pump_off_gpm > 0]
            able = [crew for crew in can if crew.tanker.pump_off_gpm >= least_gpm]
            chosen = able or (can if free == _INLETS else [])
            if free < 1 or not chosen:
                return
            chosen[0].trip.called_min = now
            yield chosen[0]

    def give_line(self, now: float) -> None:
        """Let the next coupled tanker pump off."""
        ready = self._start.line_min <= now + MOMENT_MIN and self._nurses(now)
        drained = not self._out() or (self._portable_gal <= _NOTHING and not self._unloading)
        coupled = self._doing(Doing.COUPLED)
        if ready and drained and self._pumping is None and coupled:
            self._pumping = min(coupled, key=lambda crew: (crew.since_min, crew.row))
            self._pumping.begin_unloading(now, nursed=1)

    # What runs between two moments.

    def set_rates(self, now: float) -> None:
        """Work out every flow from now on."""
        self._asked_gpm = self._asked(now)
        self._room_gal = sum(self._standing(now))
        topping_up = self._engine_gal < self._start.attack_tank_gal - _NOTHING
        wanted_gpm = inf if topping_up else self._asked_gpm
        self._rates = {crew.row: crew.tanker.unload_gpm for crew in self._unloading}
        if self._pumping is not None:
            self._drawn_gpm = 0.0
            self._supplied_gpm = min(wanted_gpm, self._pumping.tanker.pump_off_gpm)
        else:
            self._drawn_gpm = min(wanted_gpm, self._incident.line_gpm)
            if self._portable_gal <= _NOTHING:
                self._drawn_gpm = min(self._drawn_gpm, sum(self._rates.values()))
            self._supplied_gpm = self._drawn_gpm
        if self._portable_gal >= self._room_gal - _NOTHING:
            self._hold_inflow_to(self._drawn_gpm)
        self._inflow_gpm = sum(self._rates.values())
        if self._pumping is not None:
            self._rates[self._pumping.row] = self._supplied_gpm
        bridged = self._engine_gal > _NOTHING
        self._delivered_gpm = min(self._asked_gpm, inf if bridged else self._supplied_gpm)

    def _hold_inflow_to(self, drawn_gpm: float) -> None:
        """Let tankers unload no more than is drawn, the first to begin first."""
        left_gpm = drawn_gpm
        for crew in self._unloading:
            self._rates[crew.row] = min(self._rates[crew.row], left_gpm)
            left_gpm -= self._rates[crew.row]

    def next_min(self) -> float:
        """Return in how many minutes a level or a load comes to its end."""
        ends = [
            crew.aboard_gal / self._rates[crew.row]
            for crew in self._crews
            if self._rates.get(crew.row, 0.0) > _NOTHING
        ]
        engine_gpm = self._supplied_gpm - self._delivered_gpm
        portable_gpm = self._inflow_gpm - self._drawn_gpm
        ends.append(_until_end(self._engine_gal, self._start.attack_tank_gal, engine_gpm))
        ends.append(_until_end(self._portable_gal, self._room_gal, portable_gpm))
        return min(ends)

    def run(self, before_min: float, now: float) -> None:
        """Let everything flow as it does until now."""
        minutes = now - before_min
        if minutes <= 0:
            return
        stretch = Stretch(
            from_min=before_min,
            to_min=now,
            asked_gpm=self._asked_gpm,
            delivered_gpm=self._delivered_gpm,
        )
        self.stretches.append(stretch)
        for crew in self._crews:
            crew.aboard_gal -= self._rates.get(crew.row, 0.0) * minutes
        engine_gal = (self._supplied_gpm - self._delivered_gpm) * minutes
        portable_gal = (self._inflow_gpm - self._drawn_gpm) * minutes
        self._engine_gal = _within(self._engine_gal + engine_gal, self._start.attack_tank_gal)
        self._portable_gal = _within(self._portable_gal + portable_gal, self._room_gal)


def _until_end(level_gal: float, top_gal: float, rise_gpm: float) -> float:
    """Return in how many minutes a level is at its top or at nothing; inf: never."""
    if rise_gpm > _NOTHING and level_gal < top_gal - _NOTHING:
        return (top_gal - level_gal) / rise_gpm
    if rise_gpm < -_NOTHING and level_gal > _NOTHING:
        return level_gal / -rise_gpm
    return inf


def _within(level_gal: float, top_gal: float) -> float:
    """Return a level that rounding has not carried past its ends."""
    return min(max(level_gal, 0.0), top_gal)
