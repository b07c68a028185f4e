"""The hose that reaches and loses least, against a linear programme."""

import numpy as np
import pytest
from scipy.optimize import linprog

from haulshed.errors import InputError
from haulshed.hydraulics.hose import COEFFICIENTS
from haulshed.hydraulics.supply_hose import supply_hose

HOSE_FT = np.array([800.0, 0.0, 1000.0, 300.0, 600.0])
HOSE_IN = np.array([3.0, np.nan, 5.0, 2.5, 4.0])


def test_each_parcel_lays_what_its_own_units_carry() -> None:
    counted = np.array(
        [
            [True, True, True, True, True],  # 5 in first, then 4 in, then 3 in
            [True, False, False, True, False],  # no large hose came
            [False, True, False, False, False],  # a unit with no hose
        ]
    )
    line = supply_hose(np.array([1700.0, 900.0, 100.0]), counted, HOSE_FT, HOSE_IN)
    # By hand, loss per 100 ft at 1,000 gpm: 5 in 8, 4 in 20, 3 in 80, 2½ in 200 psi.
    at_1000_gpm = line.loss_psi_per_gpm2 * 1000**2
    assert at_1000_gpm[0] == pytest.approx(10 * 8 + 6 * 20 + 1 * 80)
    assert at_1000_gpm[1] == pytest.approx(8 * 80 + 1 * 200)
    assert np.isposinf(at_1000_gpm[2])
    assert line.reaches.tolist() == [True, True, False]
    assert line.carried_ft.tolist() == [2700, 1100, 0]


def test_a_lay_as_long_as_the_hose_is_reached_and_a_foot_more_is_not() -> None:
    counted = np.ones((2, 5), dtype=bool)
    line = supply_hose(np.array([2700.0, 2701.0]), counted, HOSE_FT, HOSE_IN)
    assert line.reaches.tolist() == [True, False]
    assert np.isfinite(line.loss_psi_per_gpm2).tolist() == [True, False]


def test_an_unknown_lay_is_not_reached_and_its_loss_is_not_known() -> None:
    line = supply_hose(np.array([np.nan]), np.ones((1, 5), dtype=bool), HOSE_FT, HOSE_IN)
    assert not line.reaches[0]
    assert np.isnan(line.loss_psi_per_gpm2[0])


def test_no_units_at_all() -> None:
    nothing = np.array([])
    line = supply_hose(np.array([50.0]), np.ones((1, 0), dtype=bool), nothing, nothing)
    assert not line.reaches[0]
    assert np.isposinf(line.loss_psi_per_gpm2[0])


def test_hose_of_no_known_size_is_refused() -> None:
    with pytest.raises(InputError, match="hose of 6 in"):
        supply_hose(np.array([50.0]), np.ones((1, 1), bool), np.array([100.0]), np.array([6.0]))


def test_least_loss_against_linear_programme() -> None:
    rng = np.random.default_rng(11)
    sizes = np.array(list(COEFFICIENTS))
    for _ in range(40):
        hose_ft = rng.integers(0, 12, 6) * 100.0
        hose_in = rng.choice(sizes, 6)
        counted = rng.random((3, 6)) < 0.7
        lay_ft = rng.uniform(50, 3000, 3)
        line = supply_hose(lay_ft, counted, hose_ft, hose_in)
        for row in range(3):
            answer = linprog(
                [COEFFICIENTS[float(size)] for size in hose_in],
                A_eq=np.ones((1, 6)),
                b_eq=[lay_ft[row]],
                bounds=list(zip(np.zeros(6), counted[row] * hose_ft, strict=True)),
            )
            assert line.reaches[row] == (answer.status == 0)
            if answer.status == 0:
                assert line.loss_psi_per_gpm2[row] == pytest.approx(answer.fun / 1e6, rel=1e-9)
