"""A play that stops where what is asked of it is sure says what the whole play says."""

from dataclasses import replace

import numpy as np
import pytest

from against.clock_incidents import drawn as drawn_incident
from against.clock_incidents import in_round_figures, scenes_of, setting_of
from haulshed.clock.batch import play_all
from haulshed.clock.chance import drawn
from haulshed.clock.given import Luck, Scenes
from haulshed.clock.setting import Setting
from haulshed.clock.sure import TO_FLOW, TO_VERDICT
from haulshed.scenario import ChanceRules

DRAWS = 6
ONE = np.ones(1, np.bool_)


def _given(seed: int) -> tuple[Setting, Scenes, Luck]:
    """Return an incident with little asked for or much, with failures or without, and its luck."""
    rng = np.random.default_rng([7, seed])
    incident = drawn_incident(rng, failing=seed % 3 == 0)
    incident = in_round_figures(incident) if seed % 2 else incident
    asked_gpm = float(rng.choice([60.0, 150.0, incident.asked_gpm, 3000.0]))
    tankers = [f"T{row}" for row in range(len(incident.tankers))]
    engines = [f"E{row}" for row in range(len(incident.engines))]
    luck = drawn(
        ChanceRules(draws=DRAWS, seed=seed),
        tankers=tankers,
        engines=engines,
        staffed=[0.9] * len(tankers + engines),
    )
    incident = replace(incident, asked_gpm=asked_gpm)
    return setting_of(incident), scenes_of(incident), luck


def _held(given: tuple[Setting, Scenes, Luck]) -> np.ndarray:
    return ~np.isnan(play_all(*given, wanted=ONE, so_far=(TO_VERDICT, 0)).held_from_min[0])


@pytest.mark.parametrize("seed", range(60))
def test_the_verdict_of_a_draw(seed: int) -> None:
    given = _given(seed)
    whole = ~np.isnan(play_all(*given, wanted=ONE).held_from_min[0])
    np.testing.assert_array_equal(_held(given), whole)


@pytest.mark.parametrize("seed", range(60))
def test_the_lowest_flows(seed: int) -> None:
    given = _given(seed)
    whole_gpm = np.sort(play_all(*given, wanted=ONE).last_hour_gpm[0])
    for lowest in range(1, DRAWS + 1):
        flows = play_all(*given, wanted=ONE, so_far=(TO_FLOW, lowest))
        flows_gpm = np.sort(flows.last_hour_gpm[0])[:lowest]
        np.testing.assert_allclose(flows_gpm, whole_gpm[:lowest], rtol=0, atol=1e-9)


def test_both_verdicts_are_drawn() -> None:
    held = np.concatenate([_held(_given(seed)) for seed in range(60)])
    assert held.any()
    assert not held.all()
