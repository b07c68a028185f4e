"""One parcel's computation from end to end, with nothing left out that a pencil would need."""

from dataclasses import asdict, dataclass

import numpy as np
import pandas as pd

from haulshed.assess.answers import answers
from haulshed.assess.changes import Change, changes
from haulshed.assess.chosen import only
from haulshed.assess.clocked import clocked
from haulshed.assess.detours import Detour, Drive, detours
from haulshed.assess.hose_told import HoseTold, hose_told
from haulshed.assess.model import work_out
from haulshed.assess.shuttle_case import places_of, sites_of, tankers_of
from haulshed.assess.stage_told import StageTold, stage_told
from haulshed.assess.working import Working
from haulshed.case import Inputs, Progress
from haulshed.demand.need import DemandSource
from haulshed.demand.volume import volume_terms
from haulshed.scenario import DemandMethod
from haulshed.shuttle import Stage, solution
from haulshed.shuttle.limits import LIMITS


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitTold:
    """One unit: when it is there, and whether it counts."""

    unit_id: str
    kind: str
    station_id: str
    aid: str
    turnout_min: float
    arrival_min: float | None  #: from dispatch; None: not called or no way
    counts: bool
    why: str  #: why it counts or not


@dataclass(frozen=True, slots=True, kw_only=True)
class LegsTold:
    """The legs of the tankers of one weight class."""

    units: tuple[str, ...]
    loaded_min: float | None  #: None: cannot be used or no way
    empty_min: float | None
    loaded_miles: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteTold:
    """One fill site as this parcel's tankers find it."""

    site_id: str
    kind: str
    rate_gpm: float
    volume_gal: float | None  #: None: not limited
    recharge_gpm: float
    source_id: str
    fill_positions: int
    handling_min: float
    needs_pumper: bool
    legs: tuple[LegsTold, ...]  #: by weight class, the one with the shortest legs first

    @property
    def loaded_min(self) -> float | None:
        """The shortest loaded leg [min]; None: cannot be used or no way."""
        return self.legs[0].loaded_min

    @property
    def empty_min(self) -> float | None:
        """The empty leg of the same tankers [min]."""
        return self.legs[0].empty_min


@dataclass(frozen=True, slots=True, kw_only=True)
class LineTold:
    """The supply line: its loss, and what it carries at the dump site."""

    lay_ft: float | None
    rise_ft: float
    rise_source: str
    access_ground_ft: float | None  #: None: not known
    structure_ground_ft: float | None
    hose_ft: float  #: supply hose on the counted engines
    loss_psi_at_500_gpm: float | None  #: None: the hose does not reach
    dump_site_line_gpm: float
    dump_site_line_bound: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedTold:
    """What the needed flow rests on."""

    method: str
    #: Terms of the volume method; None where another method gave the flow.
    floor_area_ft2: float | None = None
    height_ft: float | None = None
    occupancy_hazard: int | None = None
    construction_class: float | None = None
    exposure: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """Everything that leads to one parcel's answer."""

    parcel_id: str
    scenario: dict[str, object]
    answer: dict[str, object]  #: the parcel's row of the answer table; None: empty
    need: NeedTold
    units: tuple[UnitTold, ...]
    sites: tuple[SiteTold, ...]
    detours: tuple[Detour, ...]  #: what posted limits cost
    line: LineTold
    hose: HoseTold | None  #: the hose line that serves it; None: none
    stages: tuple[StageTold, ...]  #: nurse and dump-site stage, over each duration
    changes: tuple[Change, ...]

    def as_dict(self) -> dict[str, object]:
        """Return all of it as plain values."""
        return asdict(self)


def explain_parcel(inputs: Inputs, parcel_id: str, *, progress: Progress) -> Explanation:
    """
    Return the whole computation for one parcel; the same code as for all of them.

    Raises
    ------
    InputError
        If there is no such parcel; the message names near ones.
    NetworkError
        If no road is open to tankers.
    """
    working = work_out(only(inputs, [parcel_id]), progress=progress)
    progress("solving the changes")
    row = _plain(answers(working, clocked(working, progress=progress)))
    best = row["best_site_id"]
    around = detours(working.ground, working.there, np.flatnonzero(working.flows.site_gpm[0] > 0))
    durations_min = {inputs.scenario.operation.duration_min, float(working.judged.test_min[0])}
    return Explanation(
        parcel_id=parcel_id,
        scenario=inputs.scenario.model_dump(mode="json"),
        answer=row,
        need=_need(working),
        units=_units(working, around),
        sites=_sites(working),
        detours=around,
        line=_line(working),
        hose=hose_told(working, 0),
        stages=tuple(
            told
            for over_min in sorted(durations_min, reverse=True)
            for told in _stages(working, over_min)
        ),
        changes=changes(working, None if best is None else str(best)),
    )


def _plain(table: pd.DataFrame) -> dict[str, object]:
    """Return a table's one row with Python's own values, and None where a cell is empty."""
    row = table.astype(object).iloc[0]
    return {str(name): None if pd.isna(value) else value for name, value in row.items()}


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _stages(working: Working, over_min: float) -> tuple[StageTold, ...]:
    """Return both stages solved over a duration: the planned one, or the time of the verdict."""
    base = working.ground
    tankers, sites = tankers_of(base), sites_of(base)
    places = places_of(base, working.there, working.need.needed_gpm, np.full(1, over_min))
    operation = base.inputs.scenario.operation
    return tuple(
        stage_told(
            base,
            working.there,
            tankers,
            solution(tankers, sites, places, operation, place=0, stage=stage),
            over_min=over_min,
        )
        for stage in Stage
    )


def _need(working: Working) -> NeedTold:
    inputs = working.ground.inputs
    rules, source = inputs.scenario.demand, working.need.demand_source[0]
    by_other = rules.method is not DemandMethod.VOLUME and np.isnan(working.need.needed_gal[0])
    if by_other or source == DemandSource.NO_STRUCTURE:
        return NeedTold(method=str(rules.method))
    terms = volume_terms(inputs.parcels, rules)
    return NeedTold(
        method=str(DemandMethod.VOLUME),
        floor_area_ft2=float(terms.floor_area_ft2[0]),
        height_ft=float(terms.height_ft[0]),
        occupancy_hazard=int(terms.occupancy_hazard[0]),
        construction_class=float(terms.construction_class[0]),
        exposure=bool(terms.exposure[0]),
    )


def _units(working: Working, around: tuple[Detour, ...]) -> tuple[UnitTold, ...]:
    units, there = working.ground.assignment, working.there
    aid = working.ground.inputs.stations["aid"].to_numpy()
    limit_min = working.ground.inputs.scenario.operation.assembly_min
    rows = units.units[["unit_id", "kind", "station_id"]].itertuples(index=False)
    stopped = {
        unit_id
        for one in around
        if one.drive is Drive.RESPONSE and one.minutes is None
        for unit_id in one.units
    }

    def why(at: int) -> str:
        if not units.called[at]:
            return "not called in this scenario (alarm or aid)"
        if not np.isfinite(there.arrival_min[0, at]):
            by_limits = units.units["unit_id"].iloc[at] in stopped
            return "stopped by a posted limit" if by_limits else "no way from its station"
        late = there.arrival_min[0, at] > limit_min
        return f"later than {limit_min:g} min" if late else f"there within {limit_min:g} min"

    return tuple(
        UnitTold(
            unit_id=unit_id,
            kind=kind,
            station_id=station_id,
            aid=str(aid[units.station[at]]),
            turnout_min=float(units.turnout_min[at]),
            arrival_min=_finite(there.arrival_min[0, at]),
            counts=bool(there.counted[0, at]),
            why=why(at),
        )
        for at, (unit_id, kind, station_id) in enumerate(rows)
    )


def _sites(working: Working) -> tuple[SiteTold, ...]:
    base = working.ground
    named = base.inputs.fill_sites[["site_id", "kind"]].astype(str).to_dict("records")
    ready = base.sites.to_dict("records")
    return tuple(
        SiteTold(
            site_id=named[at]["site_id"],
            kind=named[at]["kind"],
            rate_gpm=float(ready[at]["rate_gpm"]),
            volume_gal=_finite(ready[at]["volume_gal"]),
            recharge_gpm=float(ready[at]["recharge_gpm"]),
            source_id=str(ready[at]["source_id"]),
            fill_positions=int(ready[at]["fill_positions"]),
            handling_min=float(ready[at]["handling_min"]),
            needs_pumper=bool(ready[at]["needs_pumper"]),
            legs=_legs(working, at),
        )
        for at in range(len(ready))
    )


def _legs(working: Working, site: int) -> tuple[LegsTold, ...]:
    """Return the legs of each weight class that a tanker called is of; of all if none is called."""
    units, of_tanker = working.ground.assignment, working.ground.classes.of_tanker
    ids, called = units.units["unit_id"].to_numpy()[units.is_tanker], units.called[units.is_tanker]
    told = [
        LegsTold(
            units=tuple(ids[called & (of_tanker == number)].tolist()),
            loaded_min=_finite(legs.loaded_min[site, 0]),
            empty_min=_finite(legs.empty_min[site, 0]),
            loaded_miles=_finite(legs.loaded_miles[site, 0]),
        )
        for number, legs in enumerate(working.there.legs)
    ]
    coming = [one for one in told if one.units] or told[:1]
    return tuple(sorted(coming, key=lambda one: (one.loaded_min or np.inf) + (one.empty_min or 0)))


def _line(working: Working) -> LineTold:
    there = working.there
    places = places_of(working.ground, there, np.full(1, np.nan), np.ones(1))
    return LineTold(
        lay_ft=_finite(there.lay_ft[0]),
        rise_ft=float(there.rises.rise_ft[0]),
        rise_source=str(there.rises.rise_source[0]),
        access_ground_ft=_finite(there.rises.start_ft[0]),
        structure_ground_ft=_finite(there.rises.end_ft[0]),
        hose_ft=float(there.hose.carried_ft[0]),
        loss_psi_at_500_gpm=_finite(there.hose.loss_psi_per_gpm2[0] * 500**2),
        dump_site_line_gpm=float(there.line.flow_gpm[0]),
        dump_site_line_bound=str(LIMITS[places.line_bound[0]]),
    )
