"""The district in the clock's own terms: units, water, scenes."""

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.ground import Ground
from haulshed.assess.shuttle_case import places_of, sites_of, tankers_of
from haulshed.assess.working import Working
from haulshed.clock.given import Engines, Scenes, TankerCrews, Water
from haulshed.clock.setting import Setting
from haulshed.roads.travel import response_from

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Flows that differ by this share are the same.
_SAME = 1 + 1e-9
#: A site that carries less is not used [gpm].
_LEAST_GPM = 1e-6


def setting_of(ground: Ground) -> Setting:
    """Return units, water and rules, in the order of the apparatus and fill site tables."""
    scenario = ground.inputs.scenario
    return Setting(
        tankers=_tankers(ground),
        engines=_engines(ground),
        water=_water(ground),
        operation=scenario.operation,
        rules=scenario.clock,
    )


def _tankers(ground: Ground) -> TankerCrews:
    units, tankers, sites = ground.assignment, tankers_of(ground), sites_of(ground)
    rate_gpm = np.minimum(sites.flow_gpm, tankers.fill_gpm[:, None])
    with np.errstate(divide="ignore"):  # no flow: never full
        take_min = tankers.tank_gal[:, None] / rate_gpm
    ids = units.units["unit_id"].to_numpy()[units.is_tanker]
    return TankerCrews(
        load_gal=tankers.usable_gal,
        take_min=take_min,
        unload_gpm=tankers.unload_gpm,
        portable_gal=units.tankers("portable_tank_gal"),
        crew=units.tankers("crew").astype(np.int64),
        weight_class=tankers.weight_class,
        turnout_min=units.turnout_min[units.is_tanker],
        down_min=_by_id(ground.inputs.scenario.failures.breaks_down_min, ids, np.inf),
    )


def _engines(ground: Ground) -> Engines:
    units = ground.assignment

    def engines(column: str) -> Floats:
        return units.numbers(column)[units.is_engine]

    return Engines(
        tank_gal=engines("tank_gal"),
        portable_gal=engines("portable_tank_gal"),
        hose_ft=engines("supply_hose_ft"),
        crew=engines("crew").astype(np.int64),
        turnout_min=units.turnout_min[units.is_engine] + _late_min(ground),
        site_min=_site_min(ground)[units.is_engine] + _late_min(ground)[:, None],
    )


def _late_min(ground: Ground) -> Floats:
    """Return by how much each engine is late; it counts as turnout."""
    units = ground.assignment
    ids = units.units["unit_id"].to_numpy()[units.is_engine]
    return _by_id(ground.inputs.scenario.failures.engine_late_min, ids, 0.0)


def _by_id(known: dict[str, float], ids: NDArray[np.object_], otherwise: float) -> Floats:
    return np.array([known.get(str(one), otherwise) for one in ids], dtype=np.float64)


def _site_min(ground: Ground) -> Floats:
    """Return when each unit would be at each site, with a full tank, (units, S)."""
    units, passage = ground.assignment, ground.classes.full
    site_min = np.full((len(passage), len(ground.sites)), np.inf)
    for number in np.unique(passage).tolist():
        own = passage == number
        network, rules = ground.classes.networks[number], ground.inputs.scenario.roads
        reach = ground.responses[number]
        drive_min, _ = response_from(network, rules, reach, ground.site_points)
        site_min[own] = drive_min[units.station[own]] + units.turnout_min[own][:, None]
    return site_min


def _water(ground: Ground) -> Water:
    sites = sites_of(ground)
    _, first, source = np.unique(sites.source, return_index=True, return_inverse=True)
    recharge_gpm = sites.of_source(sites.recharge_gpm)[first]
    ids = ground.inputs.fill_sites["site_id"].to_numpy()
    return Water(
        handling_min=sites.handling_min,
        positions=sites.fill_positions,
        flow_gpm=sites.flow_gpm,
        needs_pumper=sites.needs_pumper,
        open=sites.gives_water,
        closes_min=_by_id(ground.inputs.scenario.failures.site_closes_min, ids, np.inf),
        source=source.astype(np.int64),
        source_gpm=sites.of_source(sites.flow_gpm)[first],
        stored_gal=sites.of_source(sites.usable_gal)[first],
        recharge_gpm=np.where(np.isfinite(recharge_gpm), recharge_gpm, 0.0),
    )


def scenes_of(working: Working, asked_gpm: Floats) -> Scenes:
    """Return the incidents at which `asked_gpm`, shape (P,), is asked for; NaN counts as 0."""
    ground, there, held = working.ground, working.there, working.flows
    units, operation = ground.assignment, ground.inputs.scenario.operation
    duration_min = np.full(len(asked_gpm), float(operation.duration_min))
    places = places_of(ground, there, asked_gpm, duration_min)
    arrival_min = np.where(there.counted, there.arrival_min, np.inf)
    pumper_sites, pumper_first = pumpers(working)
    return Scenes(
        tanker_min=arrival_min[:, units.is_tanker],
        engine_min=arrival_min[:, units.is_engine] + _late_min(ground),
        loaded_min=places.loaded_min,
        empty_min=places.empty_min,
        lay_ft=np.where(np.isnan(there.lay_ft), np.inf, there.lay_ft),
        line_gpm=places.line_gpm,
        pump_off_gpm=np.minimum(places.pump_off_gpm, operation.nurse_limit_gpm),
        **_asking(working, asked_gpm),
        plan_gpm=np.where(held.site_gpm > _LEAST_GPM, held.site_gpm, 0.0),
        pumper_sites=pumper_sites,
        pumper_first=pumper_first,
    )


def asking(working: Working, scenes: Scenes, asked_gpm: Floats) -> Scenes:
    """Return the same incidents with another flow asked for."""
    return replace(scenes, **_asking(working, asked_gpm))


def _asking(working: Working, asked_gpm: Floats) -> dict[str, NDArray[Any]]:
    """Return what of the incidents depends on the flow that is asked for."""
    asked_gpm = np.where(np.isnan(asked_gpm), 0.0, asked_gpm)
    held, over_nurse_gpm = working.flows, working.flows.nurse_gpm * _SAME
    builds = (asked_gpm > over_nurse_gpm) & (held.dump_site_gpm > over_nurse_gpm)
    return {"asked_gpm": asked_gpm, "builds": builds}


def pumpers(working: Working) -> tuple[Ints, NDArray[np.bool_]]:
    """
    Return the sites that get pumpers, the first first, and whether it goes before the dump site.

    They are the drafting sites that the larger flow uses, the one that carries most first. Where
    nothing is carried, it is the drafting site with the shortest legs. The first goes before the
    dump site where no site that is used gives water without a pumper.
    """
    drafting, carried_gpm = sites_of(working.ground).needs_pumper, working.flows.site_gpm
    drafts = np.where(drafting, carried_gpm, 0.0)
    plain = (carried_gpm[:, ~drafting] > 0).any(axis=1)
    idle = np.flatnonzero(~(carried_gpm.sum(axis=1) > 0))
    legs_min = [(one.loaded_min + one.empty_min)[:, idle] for one in working.there.legs]
    shortest_min = np.where(drafting, np.min(legs_min, axis=0).T, np.inf)
    nearest = np.isfinite(shortest_min) & (
        shortest_min == shortest_min.min(axis=1, initial=np.inf)[:, None]
    )
    drafts[idle] = nearest
    place, site = np.nonzero(drafts > 0)
    order = np.lexsort((site, -drafts[place, site], place))
    place, site = place[order], site[order]
    count = np.bincount(place, minlength=len(drafts))
    rank = np.arange(place.size) - np.repeat(np.cumsum(count) - count, count)
    sites = np.full((len(drafts), count.max(initial=1)), -1)
    sites[place, rank] = site
    return sites, (count > 0) & ~plain
