"""What a simulated incident is given and what it tells: plain values, minutes from dispatch."""

from dataclasses import dataclass, field
from math import inf, nan

from haulshed.scenario import Operation
from haulshed.scenario.clock import ClockRules

#: Moments less than this apart are one [min].
MOMENT_MIN = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Tanker:
    """A tanker that comes with a load; figures by site stand in the order of the sites."""

    load_gal: float
    arrives_min: float  #: inf: does not come
    take_min: tuple[float, ...]  #: taking a load, without handling; inf: cannot
    loaded_min: tuple[float, ...]  #: leg from each site; inf: none
    empty_min: tuple[float, ...]  #: leg back to it
    unload_gpm: float  #: at a dump position; 0: cannot
    pump_off_gpm: float  #: into the line; 0: cannot
    portable_gal: float = 0.0
    crew: int = 2
    down_min: float = inf  #: breaks down
    #: Factors by trip, from the load that it brings on; after the last the first again.
    handling_factor: tuple[float, ...] = (1.0,)
    taking_factor: tuple[float, ...] = (1.0,)
    unload_factor: tuple[float, ...] = (1.0,)

    @property
    def plays(self) -> bool:
        """Whether it is ever there and of use."""
        there = self.arrives_min < inf and self.down_min > self.arrives_min
        return there and max(self.unload_gpm, self.pump_off_gpm) > 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """An engine and when it would be where."""

    arrives_min: float  #: inf: does not come
    at_site_min: tuple[float, ...]
    tank_gal: float = 0.0
    portable_gal: float = 0.0
    hose_ft: float = 0.0
    crew: int = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A main or a water body."""

    flow_gpm: float
    stored_gal: float = inf  #: at dispatch, and at most
    recharge_gpm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A fill site."""

    handling_min: float
    positions: int
    flow_gpm: float
    source: int = 0  #: place of its source
    needs_pumper: bool = False
    open: bool = True
    closes_min: float = inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Incident:
    """One incident, to be played."""

    tankers: tuple[Tanker, ...]
    engines: tuple[Engine, ...]
    sites: tuple[Site, ...]
    sources: tuple[Source, ...]
    asked_gpm: float
    line_gpm: float = 0.0  #: what a dump site's pump and lay carry
    lay_ft: float = 0.0
    builds: bool = False  #: whether a dump site is built
    plan_gpm: tuple[float, ...] = ()  #: by how much each site is to carry, loads are shared out
    pumper_sites: tuple[int, ...] = ()
    pumper_first: bool = False
    rules: ClockRules = field(default_factory=ClockRules)
    operation: Operation = field(default_factory=Operation)


@dataclass(slots=True, kw_only=True)
class Trip:
    """A tanker's trip; nan for what did not happen. The first begins with `back_min`."""

    tanker: int
    number: int
    site: int = -1
    load_gal: float = nan
    leaves_min: float = nan
    at_site_min: float = nan
    position_min: float = nan
    takes_min: float = nan
    full_min: float = nan
    back_min: float = nan
    called_min: float = nan
    unloads_min: float = nan
    empty_min: float = nan
    nursed: int = -1  #: 1: pumped off; 0: at a dump position


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A span in which every flow is the same."""

    from_min: float
    to_min: float
    asked_gpm: float
    delivered_gpm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """What happened."""

    trips: tuple[Trip, ...]  #: by tanker and number
    stretches: tuple[Stretch, ...]
    first_water_min: float
    dump_site_min: float  #: nan: never ready
    brought_gal: float
    taken_gal: float
    left_gal: float  #: everywhere but on the fire
    source_gal: tuple[float, ...]  #: at the end
    rules: ClockRules
    duration_min: float

    def delivered_gal(self, until_min: float) -> float:
        """Return the water on the fire until a minute [gal]."""
        return sum(
            one.delivered_gpm * (min(one.to_min, until_min) - one.from_min)
            for one in self.stretches
            if one.from_min < until_min
        )

    @property
    def overhaul_min(self) -> float:
        """When overhaul begins."""
        return self.first_water_min + self.rules.attack_min + self.duration_min

    def gaps(self) -> list[tuple[float, float, float]]:
        """Return from when to when less arrived than was asked for, until overhaul, and what."""
        found: list[tuple[float, float, float]] = []
        for one in self.stretches:
            end = min(one.to_min, self.overhaul_min)
            short_gpm = one.asked_gpm - one.delivered_gpm
            if short_gpm > 1e-9 * one.asked_gpm and end > one.from_min:
                start, short = one.from_min, short_gpm * (end - one.from_min)
                if found and abs(found[-1][1] - start) < MOMENT_MIN:
                    start, short = found[-1][0], found[-1][2] + short
                    found.pop()
                found.append((start, end, short))
        return found

    def delivered_gpm(self, from_min: float, to_min: float) -> float:
        """Return the average flow on the fire over a span [gpm]."""
        gallons = self.delivered_gal(to_min) - self.delivered_gal(from_min)
        return gallons / (to_min - from_min)

    @property
    def held_from_min(self) -> float:
        """From when on the needed flow is held, the last hour at least; nan: never."""
        long = [g[1] for g in self.gaps() if g[1] - g[0] >= self.rules.shortest_gap_min]
        start = max([self.first_water_min + self.rules.attack_min, *long])
        latest = self.overhaul_min - min(60.0, self.duration_min / 2)
        return start if start <= latest + MOMENT_MIN else nan
