"""The choice against every plan that there is, each worked out by the full model."""

import json
from collections.abc import Callable
from itertools import combinations
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from numpy.testing import assert_allclose

from haulshed.assess.model import assess
from haulshed.case import CAUTION, Inputs
from haulshed.cli import main
from haulshed.options import choose as module
from haulshed.options.choose import choose
from haulshed.options.compare import HELD
from haulshed.options.evaluator import Evaluator
from haulshed.options.limits import Limits, Money
from haulshed.options.objective import Objective
from haulshed.options.option import Option, contradiction
from options.made_district import district, other_options, site_options


def quiet(step: str, done: int = 0, of: int = 0) -> None: ...


def by_full_model(inputs: Inputs, plan: tuple[Option, ...], objective: Objective) -> float:
    """Return the score of a plan, everything worked out anew by the model of `haulshed run`."""
    for option in plan:
        inputs = option.applied(inputs)
    table = assess(inputs, progress=quiet).parcels
    held = table["verdict"].isin(HELD).to_numpy()
    weight = {
        Objective.PARCELS: np.ones(len(held)),
        Objective.PEOPLE: inputs.parcels["people"].to_numpy(),
        Objective.VALUE: inputs.parcels["value"].to_numpy(),
    }[objective]
    return float(weight[held].sum())


def plans_of(options: list[Option], limits: Limits) -> list[tuple[Option, ...]]:
    return [
        plan
        for size in range(len(options) + 1)
        for plan in combinations(options, size)
        if limits.allow(plan)
        and all(contradiction(one, other) is None for one, other in combinations(plan, 2))
    ]


@pytest.mark.parametrize("seed", range(2))
def test_scores_are_those_of_the_full_model_however_they_are_come_by(seed: int) -> None:
    """Reused, screened and incremental scores against everything worked out anew."""
    inputs, options = district(seed), [*site_options(seed, 4), *other_options()[:1]]
    evaluator = Evaluator(inputs=inputs, options=options, objective=Objective.PARCELS)
    for plan in plans_of(options, Limits(count=3))[::2]:
        ours = evaluator.total(frozenset(option.name for option in plan))
        assert ours == by_full_model(inputs, plan, Objective.PARCELS), [one.name for one in plan]


@pytest.mark.parametrize(("seed", "objective"), [(0, Objective.PEOPLE), (3, Objective.VALUE)])
def test_the_best_of_all_plans_is_found_and_proved(seed: int, objective: Objective) -> None:
    inputs, options = district(seed), [*site_options(seed, 3), *other_options()[1:]]
    limits = Limits(budget=75_000.0)
    choice = choose(inputs, options, objective=objective, limits=limits, progress=quiet)
    scores = [by_full_model(inputs, plan, objective) for plan in plans_of(options, limits)]
    found = choice.plans[0].score if choice.plans else choice.score_before
    assert found == max(scores)
    assert choice.gap == 0
    assert limits.allow(choice.plans[0].options) if choice.plans else True


@pytest.mark.parametrize("seed", range(5))
def test_untried_plans_keep_under_the_bound(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where not all plans are tried, the best of them lies between the plan found and the bound."""
    monkeypatch.setattr(module, "TRY_ALL_SITES", 0)
    inputs, options = district(seed), site_options(seed, 8)
    limits = Limits(count=2 + seed % 2)
    choice = choose(inputs, options, objective=Objective.PARCELS, limits=limits, progress=quiet)
    evaluator = Evaluator(inputs=inputs, options=options, objective=Objective.PARCELS)
    best = max(
        evaluator.total(frozenset(option.name for option in plan))
        for plan in plans_of(options, limits)
    )
    assert choice.bound is not None
    found = choice.plans[0].score if choice.plans else choice.score_before
    assert found <= best <= choice.bound + 1e-9
    assert found - choice.score_before >= (1 - 1 / np.e) * (best - choice.score_before)


@pytest.mark.parametrize("objective", list(Objective))
def test_the_order_of_the_options_changes_nothing(objective: Objective) -> None:
    inputs, options = district(5), [*site_options(5, 3), *other_options()[1:]]
    limits = Limits(budget=6_000.0, money=Money.YEARLY, discount_rate=0.04)
    forth = choose(inputs, options, objective=objective, limits=limits, progress=quiet)
    back = choose(inputs, options[::-1], objective=objective, limits=limits, progress=quiet)
    assert forth.plans == back.plans
    assert forth.ladder == back.ladder
    assert forth.bound == back.bound


def test_contradictory_options_are_never_in_one_plan() -> None:
    inputs, options = district(2), other_options()
    limits = Limits(count=4)
    choice = choose(inputs, options, objective=Objective.GPM, limits=limits, progress=quiet)
    for plan in choice.plans:
        assert not {"flow", "less"} <= set(plan.names)


def test_missing_flow_counts_as_the_model_has_it() -> None:
    """Hand check of the scores: gpm of the need that is there, squares of the missing share."""
    inputs = district(1)
    table = assess(inputs, progress=quiet).parcels
    needed = table["needed_gpm"].to_numpy()
    flow = np.fmax(table["hose_gpm"], table["sustained_gpm"]).to_numpy()
    short = np.clip(1 - flow / needed, 0, 1)
    planned = (table["test_min"] == 120).to_numpy()
    for objective, score in (
        (Objective.GPM, needed * (1 - short)),
        (Objective.EQUITY, 1 - short**2),
    ):
        evaluator = Evaluator(inputs=inputs, options=[], objective=objective)
        assert_allclose(evaluator.scores(frozenset())[planned], score[planned], atol=1e-5)


def test_the_ladder_adds_up() -> None:
    inputs, options = district(3), site_options(3, 6)
    limits = Limits(budget=120_000.0)
    choice = choose(inputs, options, objective=Objective.PARCELS, limits=limits, progress=quiet)
    best = choice.plans[0]
    assert {step.option for step in choice.ladder} == set(best.names)
    assert choice.ladder[-1].score == best.score
    assert choice.ladder[-1].capital == best.capital <= 120_000
    gains = sum(step.gain for step in choice.ladder)
    assert gains == pytest.approx(best.gain)
    assert (choice.rung >= 0).sum() == best.gain


def test_nothing_within_the_limits_is_an_answer() -> None:
    choice = choose(
        district(1),
        site_options(1, 3),
        objective=Objective.PARCELS,
        limits=Limits(budget=1.0),
        progress=quiet,
    )
    assert choice.plans == ()
    assert choice.ladder == ()
    assert (choice.gap, choice.considered) == (0.0, 0)


OPTIONS = """\
[option.engine]
capital = 90_000
[[option.engine.change]]
do = "add unit"
row = { unit_id = "E-2", station_id = "S-1", kind = "engine", pump_gpm = 1000 }

[candidates]
sources = ["crossroads", "main ends"]
apart_ft = 1000
file = "more.csv"
"""

MORE = """\
site_id,kind,lat,lon,flow_gpm,usable_gal,capital,verify
Q-1,pond,45.0001,-100.02,700,90000,12000,Depth in a drought
"""


def test_the_command_writes_everything_with_the_caution(
    tiny_district: Callable[..., Path], tmp_path: Path
) -> None:
    folder = tiny_district()
    (folder / "options.toml").write_text(OPTIONS, encoding="utf-8")
    (folder / "more.csv").write_text(MORE, encoding="utf-8")
    out = tmp_path / "out"
    asked = ["choose", str(folder), "--budget", "160000", "--objective", "gpm"]
    done = CliRunner().invoke(main, [*asked, "--out", str(out)])
    assert done.exit_code == 0, done.output
    names = {"ladder.csv", "ladder.svg", "map.html", "options.csv", "plan.gpkg", "plan.svg"}
    names |= {"plan_parcels.csv", "run.json", "summary.json", "verdicts.svg"}
    assert {path.name for path in out.iterdir()} == names
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    assert summary["caution"] == CAUTION
    assert summary["gap"] == 0
    assert {trial["name"] for trial in summary["robustness"]["trials"]} == {
        "base",
        "winter",
        "half the crews",
    }
    weighed = pd.read_csv(out / "options.csv").set_index("option")
    assert set(weighed.index) == {"engine", "Q-1", "x2"}
    assert weighed.loc["Q-1", "verify"] == "Depth in a drought"
    for name in ("map.html", "verdicts.svg", "ladder.svg", "plan.svg"):
        assert CAUTION.split(".")[0] in (out / name).read_text(encoding="utf-8")


def test_a_choice_without_a_limit_is_refused(tiny_district: Callable[..., Path]) -> None:
    folder = tiny_district()
    (folder / "options.toml").write_text("", encoding="utf-8")
    done = CliRunner().invoke(main, ["choose", str(folder)])
    assert done.exit_code == 1
    assert "--budget, --count" in done.stderr


def test_nothing_to_choose_is_said(tiny_district: Callable[..., Path], tmp_path: Path) -> None:
    folder = tiny_district()
    (folder / "options.toml").write_text("", encoding="utf-8")
    asked = ["choose", str(folder), "--count", "2", "--out", str(tmp_path / "out")]
    done = CliRunner().invoke(main, asked)
    assert done.exit_code == 0, done.output
    assert "No option within these limits brings anything" in done.output
