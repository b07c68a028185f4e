"""What a change would bring at one parcel: each is put into the model and solved anew."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from haulshed.assess.shuttle_case import places_of, sites_of, tankers_of
from haulshed.assess.working import Working
from haulshed.shuttle import Places, Sites, Tankers, stage_flows

#: Water added at the source [gpm].
MORE_WATER_GPM = 250.0
#: Legs shortened by this share.
SHORTER_SHARE = 0.10


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change, and the flows with it."""

    what: str
    nurse_gpm: float
    dump_site_gpm: float
    gain_gpm: float  #: of the larger flow


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    tankers: Tankers
    sites: Sites
    places: Places


def changes(working: Working) -> tuple[Change, ...]:
    """Return the changes for a working of one parcel; of what is not there, none."""
    base = working.ground
    planned_min = np.full(1, float(base.inputs.scenario.operation.duration_min))
    case = _Case(
        tankers=tankers_of(base),
        sites=sites_of(base),
        places=places_of(base, working.there, working.need.needed_gpm, planned_min),
    )
    before_gpm = float(working.flows.sustained_gpm[0])

    def solved(what: str, changed: _Case) -> Change:
        held = stage_flows(
            changed.tankers, changed.sites, changed.places, base.inputs.scenario.operation
        )
        return Change(
            what=what,
            nurse_gpm=float(held.nurse_gpm[0]),
            dump_site_gpm=float(held.dump_site_gpm[0]),
            gain_gpm=float(held.sustained_gpm[0]) - before_gpm,
        )

    return tuple(solved(what, changed) for what, changed in _changed(working, case))


def _changed(working: Working, case: _Case) -> Iterator[tuple[str, _Case]]:
    units = working.ground.roster
    counted = case.places.counted[0]
    if counted.any():
        like = int(np.flatnonzero(counted)[case.tankers.tank_gal[counted].argmax()])
        unit_id = units.units["unit_id"].to_numpy()[units.is_tanker][like]
        yield f"one more tanker like {unit_id}, there with it", _one_more(case, like)
    engines = case.places.engines + 1
    yield "one more engine", replace(case, places=replace(case.places, engines=engines))
    site = int(working.flows.best_site[0])
    if site >= 0:
        name = working.ground.inputs.fill_sites["site_id"].to_numpy()[site]
        yield f"one more fill position at {name}", _more_positions(case, site)
        yield f"{MORE_WATER_GPM:g} gpm more at the source of {name}", _more_water(case, site)
        legs = replace(
            case.places,
            loaded_min=case.places.loaded_min * (1 - SHORTER_SHARE),
            empty_min=case.places.empty_min * (1 - SHORTER_SHARE),
        )
        yield f"legs {SHORTER_SHARE:.0%} shorter", replace(case, places=legs)


def _one_more(case: _Case, like: int) -> _Case:
    t, p = case.tankers, case.places
    at = np.append(np.arange(t.tank_gal.size), like)
    return replace(
        case,
        tankers=Tankers(
            tank_gal=t.tank_gal[at],
            usable_gal=t.usable_gal[at],
            fill_gpm=t.fill_gpm[at],
            dump_gpm=t.dump_gpm[at],
            release_gpm=t.release_gpm[at],
        ),
        places=replace(
            p,
            arrival_min=np.ascontiguousarray(p.arrival_min[:, at]),
            counted=np.ascontiguousarray(p.counted[:, at]),
            pump_off_gpm=np.ascontiguousarray(p.pump_off_gpm[:, at]),
            pump_off_bound=np.ascontiguousarray(p.pump_off_bound[:, at]),
        ),
    )


def _more_positions(case: _Case, site: int) -> _Case:
    positions = case.sites.fill_positions.copy()
    positions[site] += 1
    return replace(case, sites=replace(case.sites, fill_positions=positions))


def _more_water(case: _Case, site: int) -> _Case:
    """Return the case with more flow, and as much recharge, at every site of one source."""
    more = np.where(case.sites.source == case.sites.source[site], MORE_WATER_GPM, 0.0)
    sites = replace(
        case.sites,
        flow_gpm=case.sites.flow_gpm + more,
        recharge_gpm=case.sites.recharge_gpm + more,
    )
    return replace(case, sites=sites)
