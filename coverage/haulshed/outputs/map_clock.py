"""What the map carries of the parcels' incidents: numbers from which a popup draws a picture."""

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.build_ups import MOST_PARCELS
from haulshed.case import BuildUps, Result
from haulshed.clock.story import Supply
from haulshed.outputs.build_up_chart import BANDS
from haulshed.outputs.wording import Wording
from haulshed.units import UNITS, factor_between

#: One parcel's incident; 0 where there is none.
Packed = list[object] | int


def clock_page(result: Result, wording: Wording) -> dict[str, object]:
    """Return what the incidents of all parcels have in common."""
    of = result.build_ups
    if of is None:
        return {}
    rules, operation = result.inputs.scenario.clock, result.inputs.scenario.operation
    per_gpm = factor_between("gpm", wording.unit("gpm"))
    return {
        "step": of.step_min,
        "attack": round(rules.attack_gpm * per_gpm),
        "attackMin": float(rules.attack_min),
        "durationMin": float(operation.duration_min),
        "overhaul": round(rules.overhaul_gpm * per_gpm),
        "unit": UNITS[wording.unit("gal")].symbol,
        "stages": [BANDS[supply][1] for supply in Supply],
        "fills": [BANDS[supply][0] for supply in Supply],
        "sources": list(of.source_names),
    }


def not_played(result: Result) -> str:
    """Return, as HTML, why a popup draws no incident and where to find it."""
    if result.build_ups is not None:
        return "Switch back to the district as it is to see the incident over time."
    return (
        f"More than {MOST_PARCELS:,} parcels: the map leaves the incident over time out;"
        " <code>haulshed explain DISTRICT PARCEL --clock</code> shows it for one."
    )


def clock_column(result: Result, wording: Wording) -> dict[str, list[Packed]]:
    """Return each parcel's incident, as ``map_build_up.js`` reads it; no column where none is."""
    of = result.build_ups
    if of is None:
        return {}
    per_gpm = factor_between("gpm", wording.unit("gpm"))
    first_min, end_min = np.round(of.first_water_min, 1), np.round(of.end_min, 1)
    asked = np.round(of.asked_gpm * per_gpm)
    flows, levels = _flows(of, per_gpm), np.round(100 * np.nan_to_num(of.level)).astype(int)
    stages, gaps = np.round(of.stages, 1), np.round(of.gaps, 1)
    steps = np.ceil(of.end_min / of.step_min - 1e-9)
    packed: list[Packed] = [0] * len(steps)
    for row in np.flatnonzero(~np.isnan(steps)).tolist():
        last, source = int(steps[row]), int(of.source[row])
        packed[row] = [
            float(first_min[row]),
            int(asked[row]),
            float(end_min[row]),
            flows[row, :last].tolist(),
            [[at, int(code)] for at, code in _there(stages[row])],
            _there(gaps[row]),
            source,
            levels[row, : last + 1].tolist() if source >= 0 else [],
        ]
    return {"clock": packed}


def _flows(of: BuildUps, per_gpm: float) -> NDArray[np.int64]:
    """Return what flows in each step, in the unit shown; 0 once the play is over."""
    ends_min = np.arange(of.delivered_gal.shape[1]) * of.step_min
    minutes = np.diff(np.minimum(ends_min, of.end_min[:, None]), axis=1)
    moved_gal = np.diff(of.delivered_gal, axis=1)
    flows_gpm = np.divide(moved_gal, minutes, out=np.zeros_like(moved_gal), where=minutes > 0)
    whole: NDArray[np.int64] = np.round(np.nan_to_num(flows_gpm) * per_gpm).astype(np.int64)
    return whole


def _there(pairs: NDArray[np.float64]) -> list[list[float]]:
    """Return the pairs that are filled."""
    filled: list[list[float]] = pairs[np.isfinite(pairs[:, 0])].tolist()
    return filled
