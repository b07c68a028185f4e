"""One stage of one parcel in the district's own names: who drives where, and which limits hold."""

from dataclasses import dataclass

import numpy as np

from haulshed.assess.ground import Ground
from haulshed.assess.incidents import Incidents
from haulshed.scenario import Operation
from haulshed.shuttle import Row, Solution, Stage, Subject, Tankers

#: A share of time below this is none: the solver's own rounding.
_NO_SHARE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Trip:
    """One tanker over one fill site: the round trip, and the share of time that goes into it."""

    unit_id: str
    site_id: str
    usable_gal: float
    fill_min: float
    loaded_min: float
    empty_min: float
    legs_min: float  #: both legs together
    unload_min: float  #: dumping, or pumping off at the nurse flow
    round_trip_min: float
    share: float  #: of the tanker's time
    gpm: float  #: usable_gal / round_trip_min × share


@dataclass(frozen=True, slots=True, kw_only=True)
class Idle:
    """A tanker that counts and has no part in the flow."""

    unit_id: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitTold:
    """One limit and how full it is."""

    what: str
    group: str
    limit: float
    use: float
    price_gpm: float  #: flow for one more of the limit
    owed_gpm: float  #: price × limit; over all limits this adds up to the flow


@dataclass(frozen=True, slots=True, kw_only=True)
class StageTold:
    """One stage as a person follows it."""

    stage: str
    over_min: float  #: duration over which a source's volume is spread
    flow_gpm: float
    unloading: str  #: how a tanker's time at the incident was found
    trips: tuple[Trip, ...]
    idle: tuple[Idle, ...]
    limits: tuple[LimitTold, ...]
    owed_gpm: dict[str, float]  #: the flow by the groups that it is owed to


def stage_told(
    ground: Ground, there: Incidents, tankers: Tankers, solved: Solution, *, over_min: float
) -> StageTold:
    """Return a solved stage of an incident at one place with the names of units and sites."""
    return StageTold(
        stage=str(solved.stage),
        over_min=over_min,
        flow_gpm=solved.flow_gpm,
        unloading=_unloading(ground.inputs.scenario.operation, solved),
        trips=_trips(ground, there, tankers, solved),
        idle=_idle(ground, there, solved),
        limits=tuple(_limit(ground, row) for row in solved.rows),
        owed_gpm={str(group): gpm for group, gpm in solved.owed_gpm.items()},
    )


def _unloading(operation: Operation, solved: Solution) -> str:
    if solved.stage is Stage.DUMP_SITE:
        return (
            f"{operation.dump_handling_min:g} min handling + usable load / dump rate (pump-off rate"
            " without a working dump valve)"
        )
    return (
        f"{operation.nurse_handling_min:g} min handling + usable load / {solved.flow_gpm:.1f} gpm:"
        " one tanker pumps off at a time, at the flow itself; an upper bound where tanks or trips"
        " differ, and what is held is the clock's figure"
    )


def _trips(
    ground: Ground, there: Incidents, tankers: Tankers, solved: Solution
) -> tuple[Trip, ...]:
    units, sites = ground.assignment, ground.inputs.fill_sites
    unit_ids = units.units["unit_id"].to_numpy()[units.is_tanker]
    site_ids = sites["site_id"].to_numpy()
    pairs = np.argwhere(solved.share > _NO_SHARE)
    own = [there.legs[one] for one in tankers.weight_class]
    return tuple(
        Trip(
            unit_id=str(unit_ids[i]),
            site_id=str(site_ids[s]),
            usable_gal=float(tankers.usable_gal[i]),
            fill_min=float(solved.fill_min[i, s]),
            loaded_min=float(own[i].loaded_min[s, 0]),
            empty_min=float(own[i].empty_min[s, 0]),
            legs_min=float(solved.legs_min[i, s]),
            unload_min=float(solved.unload_min[i]),
            round_trip_min=float(solved.round_trip_min[i, s]),
            share=float(solved.share[i, s]),
            gpm=float(solved.carried_gpm[i, s]),
        )
        for i, s in pairs.tolist()
    )


def _idle(ground: Ground, there: Incidents, solved: Solution) -> tuple[Idle, ...]:
    units = ground.assignment
    unit_ids = units.units["unit_id"].to_numpy()[units.is_tanker]
    works = (solved.share > _NO_SHARE).any(axis=1)
    idle = np.flatnonzero(there.counted[0, units.is_tanker] & ~works)
    off_gpm = there.pump_off.flow_gpm[0]

    def why(row: int) -> str:
        if not np.isfinite(solved.round_trip_min[row]).any():
            if solved.stage is Stage.NURSE and off_gpm[row] < solved.flow_gpm:
                rate = f"pumps off {off_gpm[row]:,.0f} gpm, less than the flow"
                return rate if off_gpm[row] > 0 else "no pump, or no lay to pump into"
            return "no way to a fill site, or nothing to unload with"
        return "the others carry all that can be carried"

    return tuple(Idle(unit_id=str(unit_ids[row]), why=why(row)) for row in idle.tolist())


def _limit(ground: Ground, row: Row) -> LimitTold:
    return LimitTold(
        what=_named(ground, row),
        group=str(row.group),
        limit=row.limit,
        use=row.use,
        price_gpm=row.price_gpm,
        owed_gpm=row.price_gpm * row.limit,
    )


def _named(ground: Ground, row: Row) -> str:
    if row.subject is Subject.TANKER:
        units = ground.assignment
        unit_id = units.units["unit_id"].to_numpy()[units.is_tanker][row.index]
        return f"time of {unit_id} [share]"
    if row.subject is Subject.DUMP_SITE:
        return "dump positions in use"
    if row.subject is Subject.CAP:
        return f"{row.group} [gpm]"
    if row.subject is Subject.SOURCE:
        # Sources are numbered in the order of their sorted ids; see sites_of.
        source = np.unique(ground.sites["source_id"].to_numpy(dtype=str))[row.index]
        return f"source {source} [gpm]"
    site_id = ground.inputs.fill_sites["site_id"].to_numpy()[row.index]
    what = "fill positions in use" if row.subject is Subject.POSITIONS else "flow [gpm]"
    return f"{site_id}: {what}"
