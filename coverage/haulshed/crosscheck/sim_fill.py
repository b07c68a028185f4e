"""The fill sites of the simulation: where tankers go, queues, positions and water."""

from collections.abc import Iterator
from math import inf

from haulshed.crosscheck.incident import MOMENT_MIN, Incident
from haulshed.crosscheck.sim_start import Start
from haulshed.crosscheck.sim_tanker import Crew, Doing

#: Gallons and gpm that a moment's flow makes of nothing.
_NOTHING = 1e-6


class FillGround:
    """All fill sites and their sources."""

    def __init__(self, incident: Incident, start: Start) -> None:
        self._sites, self._sources = incident.sites, incident.sources
        self._gives_water_min = start.gives_water_min
        self.level_gal = [source.stored_gal for source in self._sources]
        self.taken_gal = 0.0
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
        """Return the site that has an empty tanker back first, and book it; None: none is left."""
        foreseen = [(self._foreseen(crew, at, now), at) for at in range(len(self._sites))]
        back = min((plan[-1] for plan, _ in foreseen), default=inf)
        if back == inf:
            return None
        plan, at = next(one for one in foreseen if one[0][-1] <= back + MOMENT_MIN)
        water_min, full_min, _ = plan
        site, load_gal = self._sites[at], crew.tanker.load_gal
        booked = self._booked_position[at]
        booked[booked.index(min(booked))] = full_min
        self._booked_site[at] = water_min + load_gal / site.flow_gpm
        self._booked_source[site.source] = (
            water_min + load_gal / self._sources[site.source].flow_gpm
        )
        self._booked_load[crew.row] = (site.source, load_gal)
        return at

    def _foreseen(self, crew: Crew, at: int, now: float) -> tuple[float, float, float]:
        """Return when a tanker would have water, be full and be back; inf where never."""
        site, tanker = self._sites[at], crew.tanker
        never = (inf, inf, inf)
        legs_min = tanker.empty_min[at] + tanker.loaded_min[at]
        useless = max(legs_min, tanker.take_min[at], self._gives_water_min[at]) == inf
        if useless or not site.open or self.closed(at, now) or site.positions < 1:
            return never
        holds_min = self._holds_min(site.source, tanker.load_gal, now)
        at_site = now + tanker.empty_min[at]
        position = max(at_site, self._gives_water_min[at], min(self._booked_position[at]))
        water = max(
            position + site.handling_min,
            self._booked_site[at],
            self._booked_source[site.source],
            holds_min,
        )
        full = water + tanker.take_min[at]
        return (water, full, full + tanker.loaded_min[at]) if water < inf else never

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

    @staticmethod
    def _draw_gpm(crew: Crew) -> float:
        return crew.tanker.load_gal / crew.tanker.take_min[crew.trip.site]

    def taking_min(self, crew: Crew) -> float:
        """Return how long a tanker takes its load."""
        return crew.tanker.take_min[crew.trip.site] * crew.taking_factor

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
                if not self._fits(crew, source):
                    break
                self._take(crew, source, now)
                yield crew

    def _fits(self, crew: Crew, source: int) -> bool:
        site_gpm = source_gpm = self._draw_gpm(crew)
        for at, here in enumerate(self._in_position):
            for other in here:
                draw_gpm = self._draws.get(other.row, 0.0)
                site_gpm += draw_gpm if at == crew.trip.site else 0.0
                source_gpm += draw_gpm if self._sites[at].source == source else 0.0
        holds = self.level_gal[source] >= crew.tanker.load_gal - _NOTHING
        site_fits = site_gpm <= self._sites[crew.trip.site].flow_gpm + _NOTHING
        return holds and site_fits and source_gpm <= self._sources[source].flow_gpm + _NOTHING

    def _take(self, crew: Crew, source: int, now: float) -> None:
        load_gal = crew.tanker.load_gal
        self.level_gal[source] -= load_gal
        self.taken_gal += load_gal
        self._booked_load.pop(crew.row, None)
        self._draws[crew.row] = self._draw_gpm(crew)
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
