"""Which assumptions the answers hang on: every figure of the scenario turned up and down."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ValidationError

from haulshed.case import Inputs, Progress
from haulshed.options.world import World, world_of
from haulshed.scenario import Scenario
from haulshed.verdict import holds

Ints = NDArray[np.int64]

#: Each figure is turned by this share, both ways.
TURN = 0.20
#: Assumptions told, those that move most verdicts.
TOLD = 10
#: A month is a name and no quantity; chance moves no verdict, which is of constant times.
_NAMES = frozenset(("month", "chance"))

_LINE, _NURSE, _DUMP_SITE, _NOT_HELD, _NO_DEMAND = range(5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """A figure turned one way, and the parcels whose answer moves."""

    value: float
    moves: int  #: parcels whose verdict is another (short and none count as one)
    lifted: int  #: now held, and not before
    lost: int  #: held before, and not now


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """One figure of the scenario, turned down and up by 20 %."""

    key: str
    meaning: str
    value: float
    down: Turned | None  #: None: its bounds do not let it go lower
    up: Turned | None

    @property
    def moves(self) -> int:
        """Verdicts that move, the way that moves more."""
        return max(one.moves for one in (self.down, self.up, _STILL) if one is not None)


_STILL = Turned(value=0.0, moves=0, lifted=0, lost=0)


def sensitivity(inputs: Inputs, *, progress: Progress) -> tuple[Assumption, ...]:
    """
    Return the ten figures of the scenario that move most verdicts when turned by 20 %.

    Each is turned by itself, within its bounds, whole numbers to the next whole one, and every
    parcel is solved anew. Figures that move nothing are left out.
    """
    base = world_of(inputs)
    before = _verdicts(base)
    found = []
    figures = list(_figures(Scenario, inputs.scenario.model_dump(mode="json")))
    for number, (path, meaning, value, whole) in enumerate(figures):
        progress("turning each assumption by 20 %", number, len(figures))
        down, up = (
            _turned(inputs, base, before, path, _stepped(value, share, whole=whole))
            for share in (1 - TURN, 1 + TURN)
        )
        key = ".".join(path)
        found.append(Assumption(key=key, meaning=meaning, value=value, down=down, up=up))
    moving = [one for one in found if one.moves]
    return tuple(sorted(moving, key=lambda one: (-one.moves, one.key))[:TOLD])


def _stepped(value: float, share: float, *, whole: bool) -> float:
    if not whole:
        return value * share
    away = np.floor(value * share) if share < 1 else np.ceil(value * share)
    return int(away)


def _figures(
    section: type[BaseModel], values: Mapping[str, Any], path: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], str, float, bool]]:
    """Yield every figure above 0: its path, meaning, value, and whether it is a whole number."""
    for name, field in section.model_fields.items():
        value, kind = values[name], field.annotation
        if name in _NAMES:
            continue
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            yield from _figures(kind, value, (*path, name))
        elif _is_quantity(value):
            yield (*path, name), field.description or name, value, kind is int


def _is_quantity(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and value > 0


def _turned(
    inputs: Inputs, base: World, before: Ints, path: tuple[str, ...], value: float
) -> Turned | None:
    changed = _with(inputs.scenario, path, value)
    if changed is None:
        return None
    after = _verdicts(world_of(replace(inputs, scenario=changed), base))
    held_before, held_after = before < _NOT_HELD, after < _NOT_HELD
    return Turned(
        value=value,
        moves=int((before != after).sum()),
        lifted=int((held_after & ~held_before).sum()),
        lost=int((held_before & (after == _NOT_HELD)).sum()),
    )


def _with(scenario: Scenario, path: tuple[str, ...], value: float) -> Scenario | None:
    """Return the scenario with another value; None where its bounds forbid that."""
    keys = scenario.model_dump(mode="json")
    here = keys
    for part in path[:-1]:
        here = here[part]
    here[path[-1]] = value
    try:
        return Scenario.model_validate_json(json.dumps(keys), strict=True)
    except ValidationError:
        return None


def _verdicts(world: World) -> Ints:
    """Return a code for how each parcel is held."""
    rows, columns = np.arange(len(world.needed_gpm)), np.arange(len(world.site_ids))
    by_line = holds(world.line_gpm(rows, columns), world.needed_gpm)
    shuttle = world.held_by(rows, columns)
    codes = np.select(
        [np.isnan(world.needed_gpm), by_line, shuttle.nurse, shuttle.dump_site],
        [_NO_DEMAND, _LINE, _NURSE, _DUMP_SITE],
        default=_NOT_HELD,
    )
    return codes.astype(np.int64)
