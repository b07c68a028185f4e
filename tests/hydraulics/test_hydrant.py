"""Hydrant flow tests against a published example: T. Kolb, tkolb.net/WatSup, slides 1, 15, 16."""

from math import sqrt

import numpy as np
import pytest

from haulshed.hydraulics.hydrant import flow_at_psi

STATIC_PSI, RESIDUAL_PSI = 86, 42


def pitot_flow_gpm(*, coefficient: float, diameter_in: float, pitot_psi: float) -> float:
    # Slide 1: Q = 29.83 c d² √p.
    return 29.83 * coefficient * diameter_in**2 * sqrt(pitot_psi)


def test_published_example_at_20_psi() -> None:
    test_flow_gpm = pitot_flow_gpm(coefficient=0.8, diameter_in=2.5, pitot_psi=28)
    assert round(test_flow_gpm) == 789
    # The slides read "about 980" off a graph; their formula gives 982.
    assert round(float(flow_at_psi(STATIC_PSI, RESIDUAL_PSI, test_flow_gpm))) == 982


@pytest.mark.parametrize(("flow_gpm", "left_psi"), [(500, 67), (750, 46)])
def test_published_pressures_left_at_other_flows(flow_gpm: float, left_psi: float) -> None:
    # The slides give the pressure to the whole psi: the flow at half a psi either side brackets it.
    low, high = flow_at_psi(STATIC_PSI, RESIDUAL_PSI, 789, [left_psi + 0.5, left_psi - 0.5])
    assert low < flow_gpm < high


def test_at_the_residual_pressure_the_flow_is_the_tests() -> None:
    assert float(flow_at_psi(70, 45, 640, 45)) == 640


@pytest.mark.parametrize("static_psi", [20, 15])
def test_a_main_at_20_psi_or_less_gives_nothing(static_psi: float) -> None:
    assert float(flow_at_psi(static_psi, 10, 300)) == 0


def test_a_test_below_20_psi_is_read_back_up() -> None:
    # 60 → 10 psi at 1,000 gpm: by hand (40/50)^0.54 = exp(0.54 ln 0.8) = 0.8865.
    assert float(flow_at_psi(60, 10, 1000)) == pytest.approx(886.5, abs=0.05)


def test_missing_part_of_a_test_stays_missing() -> None:
    flow = flow_at_psi([86, 86, np.nan], [42, np.nan, 42], [789, 789, 789])
    assert np.isnan(flow).tolist() == [False, True, True]


def test_no_drop_is_refused() -> None:
    with pytest.raises(ValueError, match="below static_psi"):
        flow_at_psi([86, 60], [42, 60], [789, 500])
