"""Half the crews, and the assumptions that verdicts hang on, against the model worked out anew."""

from dataclasses import replace

import pytest

from haulshed.assess.model import assess, work_out
from haulshed.case import Inputs
from haulshed.options.limits import Limits
from haulshed.options.objective import Objective
from haulshed.options.robust import half_staffed, robustness
from haulshed.options.sensitivity import sensitivity
from haulshed.scenario import Scenario
from haulshed.tables.answers import Verdict
from options.made_district import district, site_options


def quiet(step: str, done: int = 0, of: int = 0) -> None: ...


def test_half_of_the_crews_are_those_most_often_there() -> None:
    made = district(0)
    units = made.apparatus.assign(
        staffed_share=[0.5, 0.9, 0.7, 0.9, *[1.0] * (len(made.apparatus) - 4)]
    )
    made = replace(made, apparatus=units)
    half = half_staffed(made)
    counted = work_out(half, progress=quiet).there
    assert (counted.tankers == 2).all()
    assert (counted.engines == (len(units) - 4 + 1) // 2).all()
    away = half.apparatus[half.apparatus["station_id"] == "not staffed"]
    assert set(away["unit_id"]) >= {"T1", "T3"}
    assert len(half.apparatus) == len(made.apparatus)


def test_a_plan_is_tried_under_every_condition() -> None:
    made, options = district(3), site_options(3, 5)
    dry = made.scenario.model_copy(
        update={"operation": made.scenario.operation.model_copy(update={"duration_min": 240.0})}
    )
    told = robustness(
        {"base": made, "long": replace(made, scenario=dry), "half": half_staffed(made)},
        options,
        frozenset(("n0", "n2")),
        objective=Objective.PARCELS,
        limits=Limits(count=2),
        progress=quiet,
    )
    assert [trial.name for trial in told.trials] == ["base", "long", "half"]
    for trial in told.trials:
        assert trial.gain <= trial.best_gain or not trial.best
        assert len(trial.best) <= 2
    assert told.stays == {
        name: sum(name in trial.best for trial in told.trials) for name in ("n0", "n2")
    }


def verdicts(made: Inputs, scenario: Scenario) -> list[str]:
    table = assess(replace(made, scenario=scenario), progress=quiet).parcels
    return ["not held" if v in {Verdict.SHORT, Verdict.NONE} else v for v in table["verdict"]]


@pytest.mark.parametrize("seed", [0, 4])
def test_the_assumptions_told_move_as_many_verdicts_as_the_model_says(seed: int) -> None:
    made = district(seed, parcels=30)
    found = sensitivity(made, progress=quiet)
    assert 1 <= len(found) <= 10
    moves = [one.moves for one in found]
    assert moves == sorted(moves, reverse=True)
    assert all(moves)
    before = verdicts(made, made.scenario)
    for one in found[:4]:
        section, name = one.key.split(".", 1)
        if "." in name:
            continue
        for turned in (one.down, one.up):
            if turned is None:
                continue
            part = getattr(made.scenario, section)
            changed = made.scenario.model_copy(
                update={section: part.model_copy(update={name: turned.value})}
            )
            after = verdicts(made, changed)
            assert turned.moves == sum(a != b for a, b in zip(before, after, strict=True)), one.key


def test_figures_are_turned_by_a_fifth_within_their_bounds() -> None:
    made = district(2)
    for one in sensitivity(made, progress=quiet):
        for turned, share in ((one.down, 0.8), (one.up, 1.2)):
            if turned is not None and isinstance(turned.value, float):
                assert turned.value == pytest.approx(one.value * share)
