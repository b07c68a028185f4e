"""A play that stops where what is asked of it is sure says what the whole play says."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from against.clock_incidents import drawn as drawn_incident
from against.clock_incidents import in_round_figures, scenes_of, setting_of
from clock.played import made
from haulshed.clock.basis import LOOKS
from haulshed.clock.batch import play_all
from haulshed.clock.chance import drawn
from haulshed.clock.given import Luck, Scenes
from haulshed.clock.setting import Setting
from haulshed.clock.sure import TO_END, TO_FIGURES, TO_FLOW, TO_VERDICT
from haulshed.scenario import ChanceRules

DRAWS = 6
ONE = np.ones(1, np.bool_)
Make = Callable[[int], tuple[Setting, Scenes, Luck]]


def _given(seed: int) -> tuple[Setting, Scenes, Luck]:
    """Return an incident with little asked for or much, with failures or without, and its luck."""
    rng = np.random.default_rng([7, seed])
    incident = drawn_incident(rng, failing=seed % 3 == 0)
    incident = in_round_figures(incident) if seed % 2 else incident
    asked_gpm = float(rng.choice([60.0, 150.0, incident.asked_gpm, 3000.0]))
    luck = _luck(seed, tankers=len(incident.tankers), engines=len(incident.engines))
    incident = replace(incident, asked_gpm=asked_gpm)
    return setting_of(incident), scenes_of(incident), luck


def _luck(seed: int, *, tankers: int, engines: int) -> Luck:
    return drawn(
        ChanceRules(draws=DRAWS, seed=seed),
        tankers=[f"T{row}" for row in range(tankers)],
        engines=[f"E{row}" for row in range(engines)],
        staffed=[0.9] * (tankers + engines),
    )


def _given_on_wheels(seed: int) -> tuple[Setting, Scenes, Luck]:
    """Return an incident with much water on wheels, little in the tanks, and long handling."""
    rng = np.random.default_rng([8, seed])
    tankers, engines = int(rng.integers(4, 12)), int(rng.integers(2, 5))
    incident = made(tankers, engines, 2).having("scenes", builds=[True])
    incident = incident.having("engines", portable_gal=rng.choice([700.0, 1500.0, 2500.0]))
    incident = incident.having("tankers", load_gal=rng.uniform(2000.0, 4000.0, tankers))
    incident = incident.having("tankers", unload_gpm=rng.uniform(300.0, 1500.0))
    incident = incident.having("scenes", asked_gpm=rng.uniform(100.0, 700.0, 1))
    incident = incident.having("scenes", loaded_min=rng.choice([2.0, 9.0, 40.0]))
    incident = incident.with_keys(
        dump_handling_min=rng.uniform(0.5, 6.0),
        dump_positions_max=int(rng.integers(1, 4)),
        duration_min=int(rng.choice([20, 60, 120])),
    )
    luck = _luck(seed, tankers=tankers, engines=engines)
    return incident.setting, incident.scenes, luck


def _held(given: tuple[Setting, Scenes, Luck]) -> np.ndarray:
    return ~np.isnan(play_all(*given, wanted=ONE, so_far=(TO_VERDICT, 0)).held_from_min[0])


CASES = [(make, seed) for make in (_given, _given_on_wheels) for seed in range(60)]


@pytest.mark.parametrize(("make", "seed"), CASES)
def test_the_verdict_of_a_draw(make: Make, seed: int) -> None:
    given = make(seed)
    whole = ~np.isnan(play_all(*given, wanted=ONE).held_from_min[0])
    np.testing.assert_array_equal(_held(given), whole)


@pytest.mark.parametrize(("make", "seed"), CASES)
def test_each_of_the_lowest_flows(make: Make, seed: int) -> None:
    given = make(seed)
    whole_gpm = np.sort(play_all(*given, wanted=ONE).last_hour_gpm[0])
    for lowest in range(1, DRAWS + 1):
        flows = play_all(*given, wanted=ONE, so_far=(TO_FLOW, lowest))
        flow_gpm = np.sort(flows.last_hour_gpm[0])[lowest - 1]
        np.testing.assert_allclose(flow_gpm, whole_gpm[lowest - 1], rtol=0, atol=1e-9)


@pytest.mark.parametrize(("make", "seed"), CASES)
def test_all_figures(make: Make, seed: int) -> None:
    given = make(seed)
    whole, cut = (
        np.array(play_all(*given, wanted=ONE, so_far=(until, 0))) for until in (TO_END, TO_FIGURES)
    )
    np.testing.assert_allclose(cut[:-LOOKS], whole[:-LOOKS], rtol=0, atol=1e-9)
    assert not (cut[-LOOKS:] > whole[-LOOKS:]).any()


@pytest.mark.parametrize("make", [_given, _given_on_wheels])
def test_both_verdicts_are_drawn(make: Make) -> None:
    held = np.concatenate([_held(make(seed)) for seed in range(60)])
    assert held.any()
    assert not held.all()


def test_water_may_be_there_and_come_too_slowly() -> None:
    # From minute 11 on two of three tankers unload 600 gpm together, of which 500 are asked for.
    # When at 23.3 the first is empty, 5,500 gal are there, as much as is asked for until 34. But
    # the third unloads but 300 gpm, alone from 24.3 on, and the tank is empty at about 30.
    incident = made(3, 2).having("tankers", load_gal=4000.0, unload_gpm=300.0)
    incident = incident.having("scenes", builds=True, loaded_min=40.0, empty_min=40.0)
    incident = incident.with_keys(duration_min=26, dump_handling_min=0.01, dump_positions_max=2)
    (gap,) = [gap for gap in incident.played().gaps if gap.from_min > 11.1]
    assert 30 < gap.from_min < 31
    given = incident.setting, incident.scenes, Luck.constant(3, 2)
    assert not _held(given).any()
