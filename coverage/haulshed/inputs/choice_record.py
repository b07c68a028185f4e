"""What an earlier choice found, read for the report."""

from collections.abc import Mapping
from pathlib import Path

from pydantic import BaseModel, ConfigDict

from haulshed.inputs.earlier_outputs import Figures, Summary, read_earlier
from haulshed.options.choose import Step
from haulshed.options.limits import Limits, Money
from haulshed.options.objective import Objective
from haulshed.options.robust import Trial
from haulshed.options.told import PlanTold


class _Plan(BaseModel):
    model_config = ConfigDict(frozen=True)

    full_model: Figures


class _Robustness(BaseModel):
    model_config = ConfigDict(frozen=True)

    trials: tuple[Trial, ...]


class _Summary(Summary):
    objective: Objective
    budget: float | None
    budget_of: Money
    count: int | None
    score_before: float
    bound: float | None
    proof: str
    ladder: tuple[Step, ...]
    plans: tuple[_Plan, ...]
    robustness: _Robustness | None


def read_choice(
    folder: Path, *, input_sha256: Mapping[str, str], scenario_name: str
) -> tuple[PlanTold | None, bool]:
    """
    Return what a choice in `folder` found, None if there is none, and if it is out of date.

    A choice for other inputs or another scenario says nothing of this district and is left out.

    Raises
    ------
    InputError
        If the files are there and cannot be read.
    """
    summary, out_of_date = read_earlier(
        folder,
        _Summary,
        command="choose",
        input_sha256=input_sha256,
        scenario_name=scenario_name,
    )
    return None if summary is None else _told(summary), out_of_date


def _told(summary: _Summary) -> PlanTold:
    return PlanTold(
        whole=summary.plans[0].full_model.told() if summary.plans else None,
        objective=summary.objective,
        limits=Limits(budget=summary.budget, money=summary.budget_of, count=summary.count),
        ladder=summary.ladder,
        most=None if summary.bound is None else summary.bound - summary.score_before,
        proof=summary.proof,
        trials=summary.robustness.trials if summary.robustness else (),
    )
