"""One incident's whole log, made to be drawn and checked. Minutes count from dispatch."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from haulshed.shuttle.kernel import Floats, Ints


class Supply(StrEnum):
    """What the fire is supplied by."""

    OWN_TANK = "own tank"
    NURSE = "nurse"
    DUMP_SITE = "dump site"


class Asked(StrEnum):
    """What is asked for."""

    ATTACK = "attack flow"
    NEEDED = "needed flow"
    OVERHAUL = "overhaul"


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyBand:
    """A span of one way of supply."""

    supply: Supply
    from_min: float
    to_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedBand:
    """A span over which one flow is asked for."""

    asked: Asked
    gpm: float
    from_min: float
    to_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A span in which less water comes than is asked for."""

    from_min: float
    to_min: float
    short_gal: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Trips:
    """
    One row a trip of a tanker, in order of time; NaN for what did not happen before the end.

    The first trip of each tanker is the load that it brings along: it has no site (-1) and begins
    with `back_min`.
    """

    tanker: Ints
    number: Ints  #: of the tanker's trips, from 0
    site: Ints
    load_gal: Floats
    leaves_min: Floats  #: leaves the incident empty
    at_site_min: Floats  #: is at the site, queues
    position_min: Floats  #: has a fill position, handling begins
    takes_min: Floats  #: begins to take water
    full_min: Floats  #: is full and leaves
    back_min: Floats  #: is at the incident, queues
    called_min: Floats  #: has an inlet or a dump position, handling begins
    unloads_min: Floats  #: begins to pump off or to unload
    empty_min: Floats  #: is empty
    nursed: Ints  #: 1: pumped off into the line; 0: unloaded at a dump position; -1: neither


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """
    What stands where at T moments; between two of them everything runs in a straight line.

    A load is taken off its source when a tanker begins to take it, so a source's level may step
    down: such a moment stands twice.
    """

    time_min: Floats  #: (T,)
    delivered_gal: Floats  #: on the fire since dispatch
    asked_gal: Floats  #: asked for since dispatch
    engine_tank_gal: Floats  #: in the attack engine's tank
    portable_gal: Floats  #: in the portable tanks
    portable_room_gal: Floats  #: what the portable tanks that are set up hold
    source_gal: Floats  #: in each source, (T, W); inf: not limited


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """Where the water is at the end: brought + taken = delivered + left."""

    brought_gal: float  #: came along in tankers and in the attack engine's tank
    taken_gal: float  #: taken at fill sites
    delivered_gal: float  #: on the fire
    in_tankers_gal: float  #: of those that still play
    in_engine_gal: float
    in_portable_gal: float
    lost_gal: float  #: in tankers that broke down

    @property
    def left_gal(self) -> float:
        """All that is not on the fire."""
        return self.in_tankers_gal + self.in_engine_gal + self.in_portable_gal + self.lost_gal


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """One incident, played."""

    asked: tuple[AskedBand, ...]
    supply: tuple[SupplyBand, ...]
    gaps: tuple[Gap, ...]  #: all of them, the short ones too
    trips: Trips
    levels: Levels
    ledger: Ledger
    first_water_min: float  #: NaN: no engine, no water
    nurse_min: float  #: when the first tanker pumps off; NaN: never
    dump_site_min: float  #: when the dump site is ready; NaN: never
    held_from_min: (
        float  #: from when on the needed flow is held, the last hour at least; NaN: never
    )
    longest_gap_min: float
    short_gal: float  #: in all gaps
    delivered_120_gal: float  #: in the first 120 min
    last_hour_gpm: float  #: flow delivered in the last hour
    end_min: float

    @property
    def gpm(self) -> Floats:
        """Flow delivered between one moment of the levels and the next, (T - 1,)."""
        minutes = np.diff(self.levels.time_min)
        gallons = np.diff(self.levels.delivered_gal)
        return np.divide(gallons, minutes, out=np.zeros_like(gallons), where=minutes > 0)
