"""What the map carries of the parcels' incidents: numbers from which a popup draws a picture."""

import numpy as np

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


def clock_column(result: Result, wording: Wording) -> dict[str, list[Packed]]:
    """Return each parcel's incident, as ``map_build_up.js`` reads it; no column where none is."""
    of = result.build_ups
    if of is None:
        return {}
    per_gpm = factor_between("gpm", wording.unit("gpm"))
    return {"clock": [_packed(of, row, per_gpm) for row in range(len(of.end_min))]}


def _packed(of: BuildUps, row: int, per_gpm: float) -> Packed:
    end_min = float(of.end_min[row])
    if np.isnan(end_min):
        return 0
    steps = int(np.ceil(end_min / of.step_min - 1e-9))
    minutes = np.diff(np.minimum(np.arange(steps + 1) * of.step_min, end_min))
    flows_gpm = np.diff(of.delivered_gal[row, : steps + 1]) / minutes
    source = int(of.source[row])
    level = np.round(100 * of.level[row, : steps + 1]).astype(int).tolist() if source >= 0 else []
    stages, gaps = (pairs[np.isfinite(pairs[:, 0])] for pairs in (of.stages[row], of.gaps[row]))
    return [
        round(float(of.first_water_min[row]), 1),
        round(float(of.asked_gpm[row]) * per_gpm),
        round(end_min, 1),
        np.round(flows_gpm * per_gpm).astype(int).tolist(),
        [[round(float(at), 1), int(code)] for at, code in stages],
        np.round(gaps, 1).tolist(),
        source,
        level,
    ]
