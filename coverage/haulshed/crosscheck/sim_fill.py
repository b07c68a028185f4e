"""The fill sites of the simulation: where tankers go, queues, positions and water."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf

from haulshed.crosscheck.incident import MOMENT_MIN, Incident
from haulshed.crosscheck.sim_start import Start
from haulshed.crosscheck.sim_tanker import Crew, Doing

#: Gallons and gpm that a moment's flow makes of nothing.
_NOTHING = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class _Foreseen:
    """How a trip to a site would go."""

    water_min: float
    full_min: float
    back_min: float
    waits: bool  #: for a position, for flow or for the source to fill
    at_once: bool  #: it need not wait for the site's pumper or for its source to fill


def _back_first(foreseen: dict[int, _Foreseen]) -> int:
    """Return the site that has a tanker back first; of equal ones the first by row."""
    first_min = min(one.back_min for one in foreseen.values())
    return min(at for at, one in foreseen.items() if one.back_min <= first_min + MOMENT_MIN)


class FillGround:
    """All fill sites and their sources."""

    def __init__(self, incident: Incident, start: Start) -> None:
        self._sites, self._sources = incident.sites, incident.sources
        self._gives_water_min = start.gives_water_min
        self.level_gal = [source.stored_gal for source in self._sources]
        self.taken_gal = 0.0
        self._plan_gpm = incident.plan_gpm or (0.0,) * len(self._sites)
        self._account_gal = [0.0] * len(self._sites)
        self._booked_position = [[0.0] * site.positions for site in self._sites]
        self._booked_site = [0.0] * len(self._sites)
        self._booked_source = [0.0] * len(self._sources)
        self._booked_load: dict[int, tuple[int, float]] = {}  #: tanker → source, gallons
        self._queues: list[list[Crew]] = [[] for _ in self._sites]
        self._in_position: list[list[Crew]] = [[] for _ in self._sites]
        self._draws: dict[int, float] = {}  #: tanker that takes water → gpm

    def closed(self, site: int, now: float) -> bool:
        """Say whether a site has closed."""
        return self._sites[site].closes_min <= now + MOMENT_MIN

    def run(self, minutes: float) -> None:
        """Let the sources recharge."""
        for at, source in enumerate(self._sources):
            risen = self.level_gal[at] + source.recharge_gpm * minutes
            self.level_gal[at] = min(risen, source.stored_gal)

    def choose(self, crew: Crew, now: float) -> int | None:
        """Return the site that an empty tanker goes to, and book it; None: none is left."""
        foreseen = {at: self._foreseen(crew, at, now) for at in range(len(self._sites))}
        open_to_it = {at: one for at, one in foreseen.items() if one is not None}
        if not open_to_it:
            return None
        at = _back_first(open_to_it)
        planned = [to for to, one in open_to_it.items() if self._plan_gpm[to] > 0 and one.at_once]
        if open_to_it[at].waits and planned:
            at = self._by_plan(planned, crew.tanker.load_gal)
        self._book(at, open_to_it[at], crew)
        return at

    def _by_plan(self, planned: list[int], load_gal: float) -> int:
        """Return the site whose account has most, when each has been credited with its share."""
        total_gpm = sum(self._plan_gpm[at] for at in planned)
        for at in planned:
            self._account_gal[at] += load_gal * self._plan_gpm[at] / total_gpm
        most_gal = max(self._account_gal[at] for at in planned)
        chosen = next(at for at in planned if self._account_gal[at] >= most_gal - _NOTHING)
        self._account_gal[chosen] -= load_gal
        return chosen

    def _book(self, at: int, foreseen: "_Foreseen", crew: Crew) -> None:
        site, load_gal = self._sites[at], crew.tanker.load_gal
        booked = self._booked_position[at]
        booked[booked.index(min(booked))] = foreseen.full_min
        self._booked_site[at] = foreseen.water_min + load_gal / site.flow_gpm
        source_gpm = self._sources[site.source].flow_gpm
        self._booked_source[site.source] = foreseen.water_min + load_gal / source_gpm
        self._booked_load[crew.row] = (site.source, load_gal)

    def _foreseen(self, crew: Crew, at: int, now: float) -> "_Foreseen | None":
        """Return how a trip to a site would go; None: it cannot be made."""
        site, tanker = self._sites[at], crew.tanker
        legs_min = tanker.empty_min[at] + tanker.loaded_min[at]
        useless = max(legs_min, tanker.take_min[at], self._gives_water_min[at]) == inf
        if useless or not site.open or self.closed(at, now) or site.positions < 1:
            return None
        holds_min = self._holds_min(site.source, tanker.load_gal, now)
        if holds_min == inf:
            return None
        at_site_min = now + tanker.empty_min[at]
        free_min = max(
            max(at_site_min, self._gives_water_min[at], min(self._booked_position[at]))
            + site.handling_min,
            self._booked_site[at],
            self._booked_source[site.source],
        )
        water_min = max(free_min, holds_min)
        full_min = water_min + tanker.take_min[at]
        return _Foreseen(
            water_min=water_min,
            full_min=full_min,
            back_min=full_min + tanker.loaded_min[at],
            waits=water_min > at_site_min + site.handling_min + MOMENT_MIN,
            at_once=self._gives_water_min[at] <= at_site_min + MOMENT_MIN
            and holds_min <= free_min + MOMENT_MIN,
        )

    def _holds_min(self, source: int, load_gal: float, now: float) -> float:
        """Return when a source will hold a load beyond the loads booked; inf: never."""
        of = self._sources[source]
        booked_gal = sum(gal for at, gal in self._booked_load.values() if at == source)
        wanted_gal = booked_gal + load_gal
        missing_gal = wanted_gal - self.level_gal[source]
        if missing_gal <= _NOTHING:
            return now
        if load_gal > of.stored_gal + _NOTHING or of.recharge_gpm <= 0:
            return inf
        return now + missing_gal / of.recharge_gpm

    def queue(self, crew: Crew, now: float) -> None:
        """Let a tanker stand in its site's queue."""
        crew.doing, crew.since_min = Doing.AT_SITE, now
        self._queues[crew.trip.site].append(crew)

    def give_positions(self, now: float) -> Iterator[Crew]:
        """Yield the tankers that pull into a position now."""
        for at, site in enumerate(self._sites):
            if self._gives_water_min[at] > now + MOMENT_MIN:
                continue
            queue = self._queues[at]
            queue.sort(key=lambda crew: (crew.since_min, crew.row))
            while queue and len(self._in_position[at]) < site.positions:
                crew = queue.pop(0)
                self._in_position[at].append(crew)
                crew.trip.position_min = now
                yield crew

    def ready(self, crew: Crew, now: float) -> None:
        """Let a tanker wait for water in its position."""
        crew.doing, crew.since_min = Doing.READY, now

    def taking_min(self, crew: Crew) -> float:
        """Return how long a tanker takes its load at what it draws."""
        return crew.tanker.load_gal / self._draws[crew.row] * crew.taking_factor

    def give_water(self, now: float) -> Iterator[Crew]:
        """Yield the tankers that begin to take water now; on each source the first one first."""
        for source in range(len(self._sources)):
            ready = [
                crew
                for here in self._in_position
                for crew in here
                if crew.doing is Doing.READY and self._sites[crew.trip.site].source == source
            ]
            for crew in sorted(ready, key=lambda one: (one.since_min, one.row)):
                nominal_gpm = crew.tanker.load_gal / crew.tanker.take_min[crew.trip.site]
                left_gpm = self._left_gpm(crew.trip.site, source)
                holds = self.level_gal[source] >= crew.tanker.load_gal - _NOTHING
                if not holds or left_gpm < nominal_gpm / 2 - _NOTHING:
                    break
                self._take(crew, source, now, draw_gpm=min(nominal_gpm, left_gpm))
                yield crew

    def _left_gpm(self, site: int, source: int) -> float:
        """Return what nobody draws of a site's flow and of its source's."""
        site_gpm, source_gpm = self._sites[site].flow_gpm, self._sources[source].flow_gpm
        for at, here in enumerate(self._in_position):
            draws_gpm = sum(self._draws.get(other.row, 0.0) for other in here)
            site_gpm -= draws_gpm if at == site else 0.0
            source_gpm -= draws_gpm if self._sites[at].source == source else 0.0
        return min(site_gpm, source_gpm)

    def _take(self, crew: Crew, source: int, now: float, *, draw_gpm: float) -> None:
        load_gal = crew.tanker.load_gal
        self.level_gal[source] -= load_gal
        self.taken_gal += load_gal
        self._booked_load.pop(crew.row, None)
        self._draws[crew.row] = draw_gpm
        crew.trip.takes_min, crew.trip.load_gal, crew.aboard_gal = now, load_gal, load_gal

    def filled(self, crew: Crew) -> None:
        """Let a full tanker leave its position."""
        self._draws.pop(crew.row, None)
        self._in_position[crew.trip.site].remove(crew)

    def forget(self, crew: Crew) -> None:
        """Take a tanker out, wherever it stands."""
        self._draws.pop(crew.row, None)
        self._booked_load.pop(crew.row, None)
        for crews in (*self._queues, *self._in_position):
            if crew in crews:
                crews.remove(crew)

    def next_min(self) -> float:
        """Return in how many minutes a source holds the load that the first ready one waits for."""
        waits = [inf]
        for source, of in enumerate(self._sources):
            ready = [
                crew
                for here in self._in_position
                for crew in here
                if crew.doing is Doing.READY and self._sites[crew.trip.site].source == source
            ]
            for crew in ready:
                missing_gal = crew.tanker.load_gal - self.level_gal[source]
                if missing_gal > _NOTHING and of.recharge_gpm > 0:
                    waits.append(missing_gal / of.recharge_gpm)
        return min(waits)
