"""From the givens to the arrays that the kernels take."""

from dataclasses import dataclass, fields

import numpy as np

from haulshed.clock.given import Engines, Luck, Scenes, TankerCrews, Water
from haulshed.clock.state import (
    ENGINE,
    SITE,
    SOURCE,
    TANKER,
    Draws,
    Fixed,
    Many,
    Records,
    Times,
)
from haulshed.scenario import ClockRules, Operation
from haulshed.shuttle.kernel import Flags, Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What does not depend on the place: units, water, rules."""

    tankers: TankerCrews
    engines: Engines
    water: Water
    operation: Operation
    rules: ClockRules


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
    kinds, closes_min = Times.__annotations__, setting.water.closes_min
    return Fixed(
        tankers=_records(setting.tankers, TANKER, setting.tankers.load_gal.size),
        engines=_records(setting.engines, ENGINE, setting.engines.tank_gal.size),
        sites=_records(setting.water, SITE, setting.water.flow_gpm.size),
        sources=_sources(setting.water),
        take_min=np.ascontiguousarray(setting.tankers.take_min),
        engine_site_min=np.ascontiguousarray(setting.engines.site_min),
        closes_min=closes_min[np.isfinite(closes_min)],
        times=Times(**{name: kind(keys[name]) for name, kind in kinds.items()}),
    )


def many_of(scenes: Scenes) -> Many:
    """Return the incidents as the kernels take them."""
    names = [name for name in Many._fields if name != "by_round"]
    return Many(
        **{name: np.ascontiguousarray(getattr(scenes, name)) for name in names},
        by_round=np.argsort(scenes.loaded_min + scenes.empty_min, axis=-1),
    )


def _packed(*columns: Floats) -> Floats:
    """Return columns side by side, always laid out alike: kernels are compiled for each layout."""
    return np.ascontiguousarray(np.stack(columns, axis=-1))


def draws_of(luck: Luck) -> Draws:
    """Return the draws as the kernels take them."""

    def units(comes: Flags, turnout: Floats, drive: Floats) -> Floats:
        return _packed(turnout, np.where(comes, drive, np.inf))

    return Draws(
        tankers=units(luck.tanker_comes, luck.tanker_turnout, luck.tanker_drive),
        engines=units(luck.engine_comes, luck.engine_turnout, luck.engine_drive),
        trips=_packed(luck.site_handling, luck.taking, luck.unload_handling),
        handled=np.ascontiguousarray(luck.unload_handling.max(axis=2)),
    )
