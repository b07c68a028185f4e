"""The operating point against root finding and a fine grid, which share no code with it."""

from itertools import product

import numpy as np
import pytest
from scipy.optimize import brentq

from haulshed.hydraulics.line_point import BOUNDS, line_point, nurse_point
from haulshed.hydraulics.pump import pump_off_gpm
from haulshed.scenario.supply_line import SupplyLine
from haulshed.tables.answers import LimitedBy

LOSSES = [0.8 * 100 / 1e6, 0.08 * 1000 / 1e6, 0.8 * 800 / 1e6, 2.0 * 1500 / 1e6]
RATED = [250.0, 500.0, 1000.0, 1500.0, 2000.0]
LINES = [
    SupplyLine(),
    SupplyLine(rise_ft=120),
    SupplyLine(rise_ft=-60, appliance_psi=0),
    SupplyLine(discharge_psi=275, suction_psi=12),
    SupplyLine(discharge_psi=100),
    SupplyLine(discharge_psi=40, rise_ft=50),
]
CASES = list(product(LOSSES, RATED, LINES))


def pump_gpm(net_psi: float, rated_gpm: float) -> float:
    # Rating points 100 % at 150, 70 % at 200, 50 % at 250 psi (value from memory).
    if net_psi > 250:
        return 0.0
    return rated_gpm * float(np.interp(net_psi, [150, 200, 250], [1, 0.7, 0.5]))


def start_psi(line: SupplyLine) -> float:
    # Where flow begins; below 0 where the lay falls.
    return line.residual_psi + line.appliance_psi + 0.434 * line.rise_ft


def line_gpm(discharge_psi: float, loss: float, line: SupplyLine) -> float:
    return float(np.sqrt(max(discharge_psi - start_psi(line), 0.0) / loss))


def best_by_root(loss: float, rated: float, line: SupplyLine, suction_psi: float) -> float:
    def surplus(psi: float) -> float:
        return line_gpm(psi, loss, line) - pump_gpm(psi + suction_psi, rated)

    if surplus(line.discharge_psi) <= 0:
        return line_gpm(line.discharge_psi, loss, line)
    crossing = float(brentq(surplus, start_psi(line), line.discharge_psi, xtol=1e-12))
    # Just left of it, since the pump's curve may fall off a step there.
    left = crossing - 1e-9
    return min(line_gpm(left, loss, line), pump_gpm(left + suction_psi, rated))


@pytest.mark.parametrize(("loss", "rated", "line"), CASES)
def test_flow_against_root_finding(loss: float, rated: float, line: SupplyLine) -> None:
    for suction_psi in (0.0, line.suction_psi):
        point = line_point(loss, rated, line, rise_ft=line.rise_ft, suction_psi=suction_psi)
        by_root = best_by_root(loss, rated, line, suction_psi)
        assert float(point.flow_gpm) == pytest.approx(by_root, abs=2e-4)


@pytest.mark.parametrize(("loss", "rated", "line"), CASES[::7])
def test_flow_against_fine_grid(loss: float, rated: float, line: SupplyLine) -> None:
    grid_psi = np.linspace(start_psi(line), line.discharge_psi, 20_001)
    best = max(
        min(line_gpm(psi, loss, line), pump_gpm(psi + line.suction_psi, rated)) for psi in grid_psi
    )
    flow = float(
        line_point(loss, rated, line, rise_ft=line.rise_ft, suction_psi=line.suction_psi).flow_gpm
    )
    assert best <= flow + 1e-9
    # A grid step of about 0.01 psi: the steepest pump falls 12 gpm/psi, the line with the least
    # loss gains 25 gpm/psi from 250 gpm on.
    assert flow - best < 0.5


@pytest.mark.parametrize(("loss", "rated", "line"), CASES)
def test_bound_says_whether_larger_hose_would_help(
    loss: float, rated: float, line: SupplyLine
) -> None:
    point = line_point(loss, rated, line, rise_ft=line.rise_ft, suction_psi=line.suction_psi)
    now = best_by_root(loss, rated, line, line.suction_psi)
    larger = best_by_root(loss * 0.9, rated, line, line.suction_psi)
    by_pump = BOUNDS[int(point.bound)] is LimitedBy.PUMP
    assert by_pump == (larger - now < 1e-3 and now > 0)


def test_both_words_of_the_bound_occur_in_the_cases() -> None:
    found = {
        int(line_point(loss, rated, line, rise_ft=line.rise_ft, suction_psi=line.suction_psi).bound)
        for loss, rated, line in CASES
    }
    assert {BOUNDS[code] for code in found} == {LimitedBy.SUPPLY_LINE, LimitedBy.PUMP}


@pytest.mark.parametrize(("net_psi", "share"), [(150, 1.0), (200, 0.7), (250, 0.5)])
def test_rating_points(net_psi: float, share: float) -> None:
    # A line that asks for exactly that pressure at that share of 1,000 gpm.
    line = SupplyLine(discharge_psi=400, residual_psi=20, appliance_psi=10)
    point = line_point(
        (net_psi - 30) / (share * 1000) ** 2, 1000, line, rise_ft=line.rise_ft, suction_psi=0
    )
    assert float(point.flow_gpm) == pytest.approx(share * 1000, rel=1e-12)
    assert BOUNDS[int(point.bound)] is LimitedBy.SUPPLY_LINE  # both cross: the line's


def test_a_line_that_does_not_reach_carries_nothing_and_an_unknown_one_is_unknown() -> None:
    point = line_point([np.inf, np.nan], [1000, 1000], SupplyLine(), rise_ft=0, suction_psi=5)
    assert point.flow_gpm[0] == 0
    assert np.isnan(point.flow_gpm[1])


def test_no_pump_and_a_hill_too_high_for_the_pump() -> None:
    no_pump = line_point(1e-4, 0, SupplyLine(), rise_ft=0, suction_psi=5)
    assert (float(no_pump.flow_gpm), BOUNDS[int(no_pump.bound)]) == (0, LimitedBy.PUMP)
    hill = SupplyLine(discharge_psi=400, rise_ft=600)
    over = line_point([1e-4, np.inf], 1000, hill, rise_ft=hill.rise_ft, suction_psi=5)
    assert over.flow_gpm.tolist() == [0, 0]
    assert [BOUNDS[code] for code in over.bound] == [LimitedBy.PUMP, LimitedBy.SUPPLY_LINE]


def test_no_loss_at_all_leaves_the_pump() -> None:
    point = line_point(0.0, 1000, SupplyLine(), rise_ft=0, suction_psi=5)
    assert (float(point.flow_gpm), BOUNDS[int(point.bound)]) == (1000, LimitedBy.PUMP)


def test_nurse_bounds_are_told_apart() -> None:
    # 3-in hose, 300 ft and 2,000 ft: at 155 psi (185 less 30) by hand √(155 / 24e-5) = 804 gpm and
    # √(155 / 160e-5) = 311 gpm.
    loss = np.array([0.8 * 300, 0.8 * 2000, np.inf]) / 1e6
    rated = np.array([1000.0, 400.0, 0.0])
    piping = np.array([np.nan, 750.0, np.nan])
    point = nurse_point(loss, rated, piping, SupplyLine(), rise_ft=0)
    assert point.flow_gpm[0].tolist() == [500, 400, 0]
    assert point.flow_gpm[1] == pytest.approx([311.25, 311.25, 0], abs=0.01)
    assert point.flow_gpm[2].tolist() == [0, 0, 0]
    words = [[BOUNDS[code] for code in row] for row in point.bound]
    assert words[0] == [LimitedBy.NURSE_LINE, LimitedBy.PUMP, LimitedBy.PUMP]
    assert words[1] == [LimitedBy.SUPPLY_LINE, LimitedBy.SUPPLY_LINE, LimitedBy.PUMP]


def test_pump_off_with_no_lay_is_the_lesser_of_piping_and_pump() -> None:
    assert pump_off_gpm([750, 750, np.nan, np.nan], [500, 1000, 350, 750]).tolist() == [
        500,
        750,
        350,
        500,
    ]


def test_piping_that_passes_just_what_the_pump_gives_is_the_nurse_lines() -> None:
    point = nurse_point([0.8 * 300 / 1e6], [500.0], [np.nan], SupplyLine(), rise_ft=0)
    assert point.flow_gpm.tolist() == [[500]]
    assert BOUNDS[int(point.bound[0, 0])] is LimitedBy.NURSE_LINE
