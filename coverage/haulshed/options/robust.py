"""Whether a plan holds up: under other scenarios, with half the crews, beside the best there."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import geopandas as gpd
import pandas as pd

from haulshed.case import Inputs, Progress
from haulshed.options.evaluator import Evaluator, Plan
from haulshed.options.greedy import greedy
from haulshed.options.limits import Limits
from haulshed.options.objective import Objective
from haulshed.options.option import Option
from haulshed.tables.apparatus import Apparatus
from haulshed.tables.stations import Stations


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """The plan, and the best plan by greedy, under other conditions."""

    name: str
    score_before: float
    gain: float  #: of the plan
    best_gain: float  #: of the best plan found there
    best: tuple[str, ...]  #: its options, the best buy first


@dataclass(frozen=True, slots=True, kw_only=True)
class Robustness:
    """How a plan fares under every trial."""

    trials: tuple[Trial, ...]
    stays: Mapping[str, int]  #: option of the plan → trials in whose best plan it is


def robustness(
    conditions: Mapping[str, Inputs],
    options: Sequence[Option],
    plan: Plan,
    *,
    objective: Objective,
    limits: Limits,
    progress: Progress,
) -> Robustness:
    """Return how a plan fares under other conditions, each a district of the same tables."""
    trials = []
    for number, (name, inputs) in enumerate(conditions.items()):
        progress(f"trying the plan under {name}", number, len(conditions))
        trials.append(_trial(name, inputs, options, plan, objective=objective, limits=limits))
    return Robustness(
        trials=tuple(trials),
        stays={name: sum(name in trial.best for trial in trials) for name in sorted(plan)},
    )


def _trial(
    name: str,
    inputs: Inputs,
    options: Sequence[Option],
    plan: Plan,
    *,
    objective: Objective,
    limits: Limits,
) -> Trial:
    fitting = [option for option in options if limits.allow([option])]
    evaluator = Evaluator(inputs=inputs, options=fitting, objective=objective)
    before = evaluator.total(frozenset())
    ways = [False] if limits.budget is None else [False, True]
    found = [greedy(evaluator, limits, per_cost=way) for way in ways]
    best = max(found, key=lambda one: evaluator.total(frozenset(one)))
    return Trial(
        name=name,
        score_before=before,
        gain=evaluator.total(plan) - before,
        best_gain=evaluator.total(frozenset(best)) - before,
        best=best,
    )


def half_staffed(inputs: Inputs) -> Inputs:
    """
    Return the district with half of its tankers and half of its engines, rounded up.

    Those that are staffed on most calls stay; of equal ones those of the earlier alarm, then the
    first by name.
    """
    units = inputs.apparatus.sort_values(
        ["staffed_share", "alarm", "unit_id"], ascending=[False, True, True]
    )
    kept = pd.concat(
        [of_kind.head((len(of_kind) + 1) // 2) for _, of_kind in units.groupby("kind")]
    )
    away = ~inputs.apparatus["unit_id"].isin(kept["unit_id"])
    home = inputs.apparatus["station_id"].mask(away, NOT_STAFFED)
    station = inputs.stations.iloc[:1].assign(station_id=NOT_STAFFED, name=NOT_STAFFED)
    station["geometry"] = station.geometry.translate(_FAR_M, _FAR_M)
    stations = pd.concat([inputs.stations, station], ignore_index=True)
    return replace(
        inputs,
        apparatus=Apparatus(inputs.apparatus.assign(station_id=home)),
        stations=Stations(gpd.GeoDataFrame(stations, crs=inputs.stations.crs)),
    )


#: Where units stand that nobody drives: a station that no road reaches, so that options may still
#: name them.
NOT_STAFFED = "not staffed"
_FAR_M = 200_000.0
