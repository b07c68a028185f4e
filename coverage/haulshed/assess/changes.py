"""What a change would bring at one parcel: each is put into the inputs and worked out anew."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from haulshed.assess.ground import Ground
from haulshed.assess.incidents import Incidents
from haulshed.assess.model import shuttle_flows, work_out
from haulshed.assess.working import Working
from haulshed.case import Inputs
from haulshed.shuttle import Flows
from haulshed.tables.apparatus import Apparatus

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


def changes(working: Working, best_site_id: str | None) -> tuple[Change, ...]:
    """Return the changes for a working of one parcel; of a unit or site not there, none."""
    before_gpm = float(working.flows.sustained_gpm[0])
    return tuple(
        Change(
            what=what,
            nurse_gpm=float(held.nurse_gpm[0]),
            dump_site_gpm=float(held.dump_site_gpm[0]),
            gain_gpm=float(held.sustained_gpm[0]) - before_gpm,
        )
        for what, held in _changed(working, best_site_id)
    )


def _changed(working: Working, best_site_id: str | None) -> Iterator[tuple[str, Flows]]:
    inputs = working.ground.inputs
    for kind, column in (("tanker", "tank_gal"), ("engine", "pump_gpm")):
        like = _largest_there(working, kind, column)
        if like is not None:
            what = f"one more {kind} like {like['unit_id']}, from the same station"
            yield what, work_out(_with_unit(inputs, like), progress=_silent).flows
    if best_site_id is None:
        return
    sites, here = working.ground.sites, _at(working, best_site_id)
    yield (
        f"one more fill position at {best_site_id}",
        _with_sites(working, fill_positions=sites["fill_positions"] + here),
    )
    source = sites.loc[here, "source_id"].iloc[0]
    more_gpm = MORE_WATER_GPM * (sites["source_id"] == source)
    yield (
        f"{MORE_WATER_GPM:g} gpm more at the source of {best_site_id}",
        _with_sites(
            working,
            rate_gpm=sites["rate_gpm"] + more_gpm,
            recharge_gpm=sites["recharge_gpm"] + more_gpm,
        ),
    )
    yield f"legs {SHORTER_SHARE:.0%} shorter", _with_shorter_legs(working)


def _largest_there(working: Working, kind: str, column: str) -> "pd.Series[Any] | None":
    units = working.ground.assignment.units
    there = units[working.there.counted[0] & (units["kind"] == kind).to_numpy(dtype=bool)]
    return None if there.empty else there.loc[there[column].astype(float).idxmax()]


def _with_unit(inputs: Inputs, like: "pd.Series[Any]") -> Inputs:
    twin = like.to_frame().T.assign(unit_id=f"{like['unit_id']} (one more)")
    units = pd.concat([inputs.apparatus, twin.astype(inputs.apparatus.dtypes)], ignore_index=True)
    return replace(inputs, apparatus=Apparatus(units))


def _at(working: Working, site_id: str) -> "pd.Series[bool]":
    return working.ground.inputs.fill_sites["site_id"] == site_id


def _with_sites(working: Working, **columns: "pd.Series[float]") -> Flows:
    """Return the flows with other figures for the fill sites as the scenario has them."""
    changed = replace(working.ground, sites=working.ground.sites.assign(**columns))
    return _solved(working, changed, working.there)


def _with_shorter_legs(working: Working) -> Flows:
    kept = 1 - SHORTER_SHARE
    shorter = tuple(
        replace(legs, loaded_min=legs.loaded_min * kept, empty_min=legs.empty_min * kept)
        for legs in working.there.legs
    )
    return _solved(working, working.ground, replace(working.there, legs=shorter))


def _solved(working: Working, ground: Ground, there: Incidents) -> Flows:
    planned_min = np.full(1, float(ground.inputs.scenario.operation.duration_min))
    needed_gpm = working.need.needed_gpm
    return shuttle_flows(ground, there, needed_gpm, planned_min, progress=_silent)


def _silent(step: str, done: int = 0, of: int = 0) -> None:
    """Report to nobody: these are parts of one step."""
