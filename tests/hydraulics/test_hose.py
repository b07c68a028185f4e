"""Friction loss against published slides and tables."""

from math import floor

import numpy as np
import pytest

from haulshed.errors import InputError
from haulshed.hydraulics.hose import (
    COEFFICIENTS,
    coefficient_for,
    loss_psi_per_gpm2,
)


def loss_psi(diameter_in: float, flow_gpm: float, length_ft: float) -> float:
    return float(loss_psi_per_gpm2(coefficient_for(diameter_in), length_ft)) * flow_gpm**2


def test_one_hose_of_the_training_slides() -> None:
    # records.rpcity.org id 366543: 2½ in, 200 gpm, 100 ft → 8 psi.
    assert loss_psi(2.5, 200, 100) == pytest.approx(8)


def test_two_hoses_of_the_training_slides() -> None:
    # Same slides: 300 gpm in 200 ft of 2½ in, then 150 gpm in 150 ft of 1¾ in: 36 + 34 (33.75).
    first, second = loss_psi(2.5, 300, 200), loss_psi(1.75, 150, 150)
    assert (first, second) == pytest.approx((36, 33.75))
    assert round(first + second) == 70


@pytest.mark.parametrize(
    ("diameter_in", "published_psi"),
    [(2.5, (50, 113, 200)), (3, (20, 45, 80)), (4, (5, 11, 20)), (5, (2, 5, 8))],
)
def test_loss_table_for_supply_lines(
    diameter_in: float, published_psi: tuple[int, int, int]
) -> None:
    # firerescue1.com, "Which Supply Line?": psi per 100 ft at 500, 750 and 1,000 gpm, halves up.
    found = tuple(floor(loss_psi(diameter_in, gpm, 100) + 0.5) for gpm in (500, 750, 1000))
    assert found == published_psi


@pytest.mark.parametrize("diameter_in", COEFFICIENTS)
def test_hose_in_whole_millimetres_is_the_same_hose(diameter_in: float) -> None:
    assert float(coefficient_for(round(diameter_in * 25.4) / 25.4)) == COEFFICIENTS[diameter_in]


@pytest.mark.parametrize("diameter_in", [2.0, 75 / 25.4, 6.0, 3.02, np.nan])
def test_another_diameter_is_refused_with_what_is_accepted(diameter_in: float) -> None:
    with pytest.raises(InputError, match=r"Accepted: 1, 1\.5, 1\.75, 2\.5, 3, 4, 4\.5, 5 in"):
        coefficient_for([3.0, diameter_in])
