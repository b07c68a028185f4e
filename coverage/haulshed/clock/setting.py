"""From the givens to the records that the kernels play with."""

from dataclasses import dataclass, fields
from typing import NamedTuple

import numpy as np

from haulshed.clock.given import Engines, Luck, Scenes, TankerCrews, Water
from haulshed.clock.state import (
    ENGINE,
    ROUTE,
    SCENE,
    SITE,
    SOURCE,
    STAMPS,
    TANK,
    TANKER,
    Play,
    Records,
    Times,
)
from haulshed.scenario import ClockRules, Operation
from haulshed.shuttle.kernel import Flags, Floats, Ints, inner

#: Moments that are known from the start, besides those of tanks, sites and tankers.
_DAYS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What does not depend on the place: units, water, rules."""

    tankers: TankerCrews
    engines: Engines
    water: Water
    operation: Operation
    rules: ClockRules


class Fixed(NamedTuple):
    """A setting as the kernels take it: records to be copied for each play."""

    tankers: Records
    engines: Records
    sites: Records
    sources: Records
    take_min: Floats
    engine_site_min: Floats
    times: Times


class Many(NamedTuple):
    """The incidents; fields as in :class:`haulshed.clock.given.Scenes`."""

    tanker_min: Floats
    engine_min: Floats
    loaded_min: Floats
    empty_min: Floats
    lay_ft: Floats
    line_gpm: Floats
    pump_off_gpm: Floats
    asked_gpm: Floats
    builds: Flags
    plan_gpm: Floats
    pumper_sites: Ints
    pumper_first: Flags


class Draws(NamedTuple):
    """How incidents turn out, packed; a unit that stays away drives for ever."""

    tankers: Floats  #: factors of turnout and of drive, (D, n, 2)
    engines: Floats  #: (D, m, 2)
    trips: Floats  #: factors of site handling, taking and unload handling, (D, n, T, 3)


def _records(value: TankerCrews | Engines | Water, kind: np.dtype[np.void], size: int) -> Records:
    """Return one record an item, with the fields that both have."""
    records = np.zeros(size, kind)
    for field in fields(value):
        if field.name in (kind.names or ()):
            records[field.name] = getattr(value, field.name)
    return records


def _sources(water: Water) -> Records:
    sources = _records(water, SOURCE, water.source_gpm.size)
    sources["gpm"] = water.source_gpm
    return sources


def fixed_of(setting: Setting) -> Fixed:
    """Return the setting as the kernels take it."""
    keys = {**setting.operation.model_dump(), **setting.rules.model_dump()}
    kinds = Times.__annotations__
    return Fixed(
        tankers=_records(setting.tankers, TANKER, setting.tankers.load_gal.size),
        engines=_records(setting.engines, ENGINE, setting.engines.tank_gal.size),
        sites=_records(setting.water, SITE, setting.water.flow_gpm.size),
        sources=_sources(setting.water),
        take_min=np.ascontiguousarray(setting.tankers.take_min),
        engine_site_min=np.ascontiguousarray(setting.engines.site_min),
        times=Times(**{name: kind(keys[name]) for name, kind in kinds.items()}),
    )


def many_of(scenes: Scenes) -> Many:
    """Return the incidents as the kernels take them."""
    return Many(**{name: np.ascontiguousarray(getattr(scenes, name)) for name in Many._fields})


def draws_of(luck: Luck) -> Draws:
    """Return the draws as the kernels take them."""

    def packed(comes: Flags, turnout: Floats, drive: Floats) -> Floats:
        return np.stack((turnout, np.where(comes, drive, np.inf)), axis=-1)

    return Draws(
        tankers=packed(luck.tanker_comes, luck.tanker_turnout, luck.tanker_drive),
        engines=packed(luck.engine_comes, luck.engine_turnout, luck.engine_drive),
        trips=np.stack((luck.site_handling, luck.taking, luck.unload_handling), axis=-1),
    )


@inner
def _arrival(planned_min: float, turnout_min: float, factor: Floats) -> float:
    """Return when a unit arrives; inf where it stays away."""
    if factor[1] == np.inf or planned_min == np.inf:
        return np.inf
    return float(turnout_min * factor[0] + (planned_min - turnout_min) * factor[1])


@inner
def _routes(fixed: Fixed, many: Many, place: int, factor: Floats) -> Records:
    """Return the routes of every tanker at its pace."""
    routes = np.empty(fixed.take_min.shape, ROUTE)
    for row in range(fixed.take_min.shape[0]):
        weight_class, pace = fixed.tankers[row].weight_class, factor[row, 1]
        for site in range(fixed.take_min.shape[1]):
            route = routes[row, site]
            route.take_min = fixed.take_min[row, site]
            route.empty_min = many.empty_min[place, weight_class, site] * pace
            route.loaded_min = many.loaded_min[place, weight_class, site] * pace
    return routes


@inner
def _units(fixed: Fixed, many: Many, draws: Draws, at: tuple[int, int]) -> tuple[Records, Records]:
    """Return tankers and engines with their arrivals at one incident."""
    place, draw = at
    tankers, engines = fixed.tankers.copy(), fixed.engines.copy()
    for row in range(tankers.size):
        tanker, planned_min = tankers[row], many.tanker_min[place, row]
        tanker.off_gpm = many.pump_off_gpm[place, row]
        tanker.arrival_min = _arrival(planned_min, tanker.turnout_min, draws.tankers[draw, row])
    for row in range(engines.size):
        engine, planned_min = engines[row], many.engine_min[place, row]
        engine.turnout_factor = draws.engines[draw, row, 0]
        engine.drive_factor = draws.engines[draw, row, 1]
        engine.arrival_min = _arrival(planned_min, engine.turnout_min, draws.engines[draw, row])
    return tankers, engines


@inner
def _scene(many: Many, place: int) -> Records:
    """Return the scene of one incident."""
    scenes = np.zeros(1, SCENE)
    scene = scenes[0]
    scene.needed_gpm, scene.line_gpm = many.asked_gpm[place], many.line_gpm[place]
    scene.lay_ft = many.lay_ft[place]
    scene.builds, scene.pumper_first = many.builds[place], many.pumper_first[place]
    return scenes


@inner
def _sites(fixed: Fixed, plan_gpm: Floats) -> Records:
    """Return the sites, each with its part in the plan of one incident."""
    sites = fixed.sites.copy()
    for at in range(sites.size):
        sites[at].plan_gpm = plan_gpm[at]
    return sites


@inner
def set_out(
    fixed: Fixed,
    many: Many,
    draws: Draws,
    at: tuple[int, int],
    logs: tuple[Floats, Floats],
) -> Play:
    """Return the incident at a place, in a draw, set out to be played and logged."""
    place, draw = at
    tankers, engines = _units(fixed, many, draws, at)
    most = max(fixed.sites["positions"].max() if fixed.sites.size else 1, 1)
    units = tankers.size + engines.size
    return Play(
        tankers,
        engines,
        _routes(fixed, many, place, draws.tankers[draw]),
        _sites(fixed, many.plan_gpm[place]),
        fixed.sources.copy(),
        np.zeros(units, TANK),
        _scene(many, place),
        np.zeros((fixed.sites.size, most)),
        fixed.engine_site_min,
        many.pumper_sites[place],
        draws.trips[draw],
        np.empty(_DAYS + units + tankers.size + 2 * fixed.sites.size),
        np.empty((tankers.size, STAMPS)),
        logs[0],
        logs[1],
        np.zeros(2, np.int64),
    )
