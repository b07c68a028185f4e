"""Many draws at many places in one call, as a run plays them, against SimPy's play of each."""

import numpy as np
import pytest

from against.clock_places import District, larkmoor
from haulshed.clock.batch import Heard, play_all
from haulshed.clock.sure import TO_FLOW, TO_VERDICT
from haulshed.crosscheck.simulate import simulate

DRAWS = 12
#: So many of the demo's parcels are left out that this is quick.
EACH = 60


@pytest.fixture(scope="module")
def district() -> District:
    return larkmoor(draws=DRAWS, each=EACH)


@pytest.fixture(scope="module")
def heard(district: District) -> Heard:
    return play_all(district.setting, district.scenes, district.luck, wanted=district.wanted)


def test_every_incident_of_a_call_ends_as_if_played_alone(district: District, heard: Heard) -> None:
    # One after the other in the same room: what one leaves behind would show in the next.
    rng = np.random.default_rng(8)
    rules, duration_min = district.setting.rules, district.setting.operation.duration_min
    for place in rng.choice(np.flatnonzero(district.wanted), 25, replace=False).tolist():
        draw = int(rng.integers(DRAWS))
        played = simulate(district.incident(place, draw))
        overhaul_min = played.first_water_min + rules.attack_min + duration_min
        last_gal = played.delivered_gal(overhaul_min) - played.delivered_gal(overhaul_min - 60)
        expected = {
            "first_water_min": played.first_water_min,
            "dump_site_min": played.dump_site_min,
            "held_from_min": played.held_from_min,
            "delivered_120_gal": played.delivered_gal(120.0),
            "last_hour_gpm": last_gal / 60,
        }
        got = {name: float(getattr(heard, name)[place, draw]) for name in expected}
        assert got == pytest.approx(expected, nan_ok=True, abs=1e-6)


def test_a_play_that_stops_early_says_the_same(district: District, heard: Heard) -> None:
    given = district.setting, district.scenes, district.luck
    for lowest in (1, 2, DRAWS // 2, DRAWS):
        flows = play_all(*given, wanted=district.wanted, so_far=(TO_FLOW, lowest))
        flows_gpm = np.sort(flows.last_hour_gpm, axis=1)[:, lowest - 1]
        whole_gpm = np.sort(heard.last_hour_gpm, axis=1)[:, lowest - 1]
        np.testing.assert_allclose(flows_gpm, whole_gpm, rtol=0, atol=1e-9)
    verdicts = play_all(*given, wanted=district.wanted, so_far=(TO_VERDICT, 0))
    held = ~np.isnan(verdicts.held_from_min)
    np.testing.assert_array_equal(held, ~np.isnan(heard.held_from_min))
    assert 0 < held.sum() < held[district.wanted].size
