"""Laws of hose and pump that hold for every input."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from haulshed.hydraulics.hose import COEFFICIENTS
from haulshed.hydraulics.hydrant import flow_at_psi
from haulshed.hydraulics.line_point import line_point, nurse_point
from haulshed.hydraulics.supply_hose import supply_hose
from haulshed.scenario.supply_line import SupplyLine

SIZES = sorted(COEFFICIENTS)
losses = st.floats(1e-7, 1.0)
rated_gpm = st.floats(0, 3000)
suctions = st.floats(0, 20)
lines = st.builds(
    SupplyLine,
    discharge_psi=st.floats(20, 400),
    residual_psi=st.floats(0, 60),
    appliance_psi=st.floats(0, 30),
    rise_ft=st.floats(-300, 300),
)
lays_ft = st.floats(50, 4000)
units = st.lists(
    st.tuples(st.integers(0, 20).map(lambda n: n * 100.0), st.sampled_from(SIZES)),
    min_size=1,
    max_size=6,
)


def flow(loss: float, rated: float, line: SupplyLine, suction_psi: float) -> float:
    return float(
        line_point(loss, rated, line, rise_ft=line.rise_ft, suction_psi=suction_psi).flow_gpm
    )


def laid(lay_ft: float, hose: list[tuple[float, float]], counted: list[bool]) -> float:
    length, size = np.array(hose).T
    line = supply_hose(np.array([lay_ft]), np.array([counted]), length, size)
    return float(line.loss_psi_per_gpm2[0])


@given(losses, st.floats(1, 10), rated_gpm, lines, suctions)
def test_more_loss_never_gives_more_flow(
    loss: float, times: float, rated: float, line: SupplyLine, suction_psi: float
) -> None:
    less = flow(loss * times, rated, line, suction_psi)
    assert less <= flow(loss, rated, line, suction_psi) * (1 + 1e-12)


@given(losses, rated_gpm, st.floats(0, 1000), lines, suctions)
def test_a_larger_pump_never_gives_less(
    loss: float, rated: float, more: float, line: SupplyLine, suction_psi: float
) -> None:
    small = flow(loss, rated, line, suction_psi)
    assert small <= flow(loss, rated + more, line, suction_psi) * (1 + 1e-12)


@given(losses, rated_gpm, lines, suctions, st.floats(0, 100))
def test_rise_suction_and_a_lower_pressure_limit_never_help(
    loss: float, rated: float, line: SupplyLine, suction_psi: float, more: float
) -> None:
    now = flow(loss, rated, line, suction_psi) * (1 + 1e-12)
    higher = line.model_copy(update={"rise_ft": line.rise_ft + more})
    weaker = line.model_copy(update={"discharge_psi": line.discharge_psi / (1 + more)})
    assert flow(loss, rated, higher, suction_psi) <= now
    assert flow(loss, rated, weaker, suction_psi) <= now
    assert flow(loss, rated, line, suction_psi + more) <= now


@given(losses, rated_gpm, lines, suctions)
def test_flow_is_within_the_rating_and_the_pressure(
    loss: float, rated: float, line: SupplyLine, suction_psi: float
) -> None:
    gpm = flow(loss, rated, line, suction_psi)
    assert 0 <= gpm <= rated
    if gpm > 0:
        lost_psi = line.residual_psi + line.appliance_psi + 0.434 * line.rise_ft + loss * gpm**2
        assert lost_psi <= line.discharge_psi + 1e-6
        assert lost_psi + suction_psi <= 250 + 1e-6


@given(losses, rated_gpm, st.floats(100, 1500), lines)
def test_nursing_never_exceeds_piping_or_line(
    loss: float, rated: float, piping_gpm: float, line: SupplyLine
) -> None:
    nursed = float(
        nurse_point([loss], [rated], [piping_gpm], line, rise_ft=line.rise_ft).flow_gpm[0, 0]
    )
    assert nursed == min(piping_gpm, flow(loss, rated, line, 0.0))


@given(lays_ft, st.floats(0, 500), units)
def test_a_longer_lay_never_loses_less(
    lay_ft: float, more_ft: float, hose: list[tuple[float, float]]
) -> None:
    all_there = [True] * len(hose)
    longer = laid(lay_ft + more_ft, hose, all_there)
    assert laid(lay_ft, hose, all_there) <= longer * (1 + 1e-12)


@given(lays_ft, units, st.data())
def test_one_more_unit_or_larger_hose_never_loses_more(
    lay_ft: float, hose: list[tuple[float, float]], data: st.DataObject
) -> None:
    unit = data.draw(st.integers(0, len(hose) - 1))
    there = [True] * len(hose)
    now = laid(lay_ft, hose, there) * (1 + 1e-12)
    without = [other != unit for other in range(len(hose))]
    assert laid(lay_ft, hose, without) * (1 + 1e-12) >= now / (1 + 1e-12)
    length, size = hose[unit]
    larger = data.draw(st.sampled_from([each for each in SIZES if each >= size]))
    assert laid(lay_ft, [*hose[:unit], (length, larger), *hose[unit + 1 :]], there) <= now


@given(lays_ft, units, st.randoms(use_true_random=False))
def test_order_of_units_does_not_matter(
    lay_ft: float, hose: list[tuple[float, float]], random: object
) -> None:
    shuffled = list(hose)
    random.shuffle(shuffled)  # type: ignore[attr-defined]  # hypothesis' Random, no public type
    there = [True] * len(hose)
    np.testing.assert_allclose(laid(lay_ft, shuffled, there), laid(lay_ft, hose, there), rtol=1e-12)


@given(st.floats(1, 200), st.floats(0.1, 100), st.floats(10, 5000), st.floats(0, 100))
def test_a_main_gives_more_the_lower_it_may_be_drawn(
    static_psi: float, drop_psi: float, test_gpm: float, at_psi: float
) -> None:
    residual_psi = static_psi - drop_psi
    deep, shallow = flow_at_psi(static_psi, residual_psi, test_gpm, [at_psi, at_psi + 5])
    assert deep >= shallow >= 0
    assert (deep == 0) == (at_psi >= static_psi)
