"""Mean value analysis against published queueing examples and against plain enumeration."""

import itertools
import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haulshed.crosscheck.mva import Loop, LoopMeans, Station, loop_means


def _repair(machines: int, up: float, down: float, crews: int) -> LoopMeans:
    """Return the machine-repair model: machines run for `up`, then wait for one of the crews."""
    station = Station(service_min=down, servers=crews)
    return loop_means(Loop(customers=machines, away_min=up, stations=(station,)))


def test_six_machines_one_crew() -> None:
    # D. Anderson et al., Introduction to Management Science, p. 477-478 (read): N 6, up 20 h,
    # service 2 h: P0 .4845, Lq .3297, L .8451, Wq 1.279 h, W 3.279 h.
    means = _repair(6, 20, 2, 1)
    crew = means.stations[0]
    assert crew.waiting == pytest.approx(0.3297, abs=5e-5)
    assert crew.present == pytest.approx(0.8451, abs=5e-5)
    assert crew.wait_min == pytest.approx(1.279, abs=5e-4)
    assert crew.time_min == pytest.approx(3.279, abs=5e-4)
    assert 1 - crew.busy_share == pytest.approx(0.4845, abs=5e-5)


def test_six_machines_two_crews() -> None:
    # The same, p. 478 (read): Wq .0834 h.
    assert _repair(6, 20, 2, 2).stations[0].wait_min == pytest.approx(0.0834, abs=5e-5)


def test_five_machines_by_the_finite_queue_table() -> None:
    # W. Stevenson, Operations Management, 14th ed., example 10 (read): N 5, T 10, U 70 min: waiting
    # .40, running 4.025, W 6.957, down 16.957 min. The book's table rounds F to .915 and so on; the
    # exact figures are .3978, 4.027, 6.914, 16.914 (own arithmetic), hence the tolerances.
    means = _repair(5, 70, 10, 1)
    crew = means.stations[0]
    assert crew.waiting == pytest.approx(0.40, abs=5e-3)
    assert means.away == pytest.approx(4.025, abs=3e-3)
    assert crew.wait_min == pytest.approx(6.957, abs=0.05)
    assert crew.time_min == pytest.approx(16.957, abs=0.05)
    assert crew.wait_min == pytest.approx(6.914, abs=5e-4)


@pytest.mark.parametrize(("crews", "running"), [(1, 4.36), (2, 4.54)])
def test_five_machines_of_the_module_d_slides(crews: int, running: float) -> None:
    # Course slides "Module D" (read; coursehero 8871054): N 5, U 20, T 2: running 4.36 and 4.54
    # (from the table; exactly 4.360 and 4.535).
    assert _repair(5, 20, 2, crews).away == pytest.approx(running, abs=6e-3)


@pytest.mark.parametrize(
    ("crews", "service_factor", "efficiency"),
    [
        (1, 0.012, 0.999), (1, 0.025, 0.997), (1, 0.05, 0.989), (1, 0.06, 0.983),
        (1, 0.07, 0.977), (1, 0.08, 0.969), (1, 0.09, 0.960), (1, 0.10, 0.950),
        (2, 0.06, 0.999), (2, 0.07, 0.999), (2, 0.08, 0.998), (2, 0.09, 0.998),
        (2, 0.10, 0.997),
    ],
)  # fmt: skip
def test_peck_and_hazelwood(crews: int, service_factor: float, efficiency: float) -> None:
    # L. Peck, R. Hazelwood, Finite Queuing Tables (1958), N 5, from the same slides (read): X is
    # T / (T + U) and F = (T + U) / (T + U + W). Their D is the arrival's view and not tested.
    wait = _repair(5, 1 - service_factor, service_factor, crews).stations[0].wait_min
    assert 1 / (1 + wait) == pytest.approx(efficiency, abs=5.1e-4)


def test_three_devices_and_two_customers() -> None:
    # D. Menasce et al., Performance by Design, ch. 12 (outputs read in a copy, the demands 10, 7.5
    # and 15 from memory): .5913, .4174 and .9913 present; X .045217 is our own arithmetic.
    demands = tuple(Station(service_min=demand) for demand in (10, 7.5, 15))
    means = loop_means(Loop(customers=2, away_min=0, stations=demands))
    assert [one.present for one in means.stations] == pytest.approx(
        [0.5913, 0.4174, 0.9913], abs=5e-5
    )
    assert means.rounds_per_min == pytest.approx(0.045217, abs=5e-7)


def test_two_devices_and_thinking() -> None:
    # University course notes SENG533 (read): demands .5 and 1.0, think 1: X .4, Q .2 and .4 with
    # one customer; then R .6 + 1.4 with two, X .667 (own arithmetic).
    stations = (Station(service_min=0.5), Station(service_min=1.0))
    one = loop_means(Loop(customers=1, away_min=1, stations=stations))
    assert one.rounds_per_min == pytest.approx(0.4)
    assert [each.present for each in one.stations] == pytest.approx([0.2, 0.4])
    two = loop_means(Loop(customers=2, away_min=1, stations=stations))
    assert [each.time_min for each in two.stations] == pytest.approx([0.6, 1.4])
    assert two.rounds_per_min == pytest.approx(2 / 3)


@given(
    machines=st.integers(1, 40),
    crews=st.integers(1, 6),
    up=st.floats(0.01, 100),
    down=st.floats(0.01, 100),
)
def test_machine_repair_by_its_birth_and_death_chain(
    machines: int, crews: int, up: float, down: float
) -> None:
    # Steady state of the chain: p(k+1) = p(k) (N-k) down / (up min(k+1, M)); D. Gross et al.,
    # Fundamentals of Queueing Theory, machine interference (formula from memory).
    weights = [Fraction(1)]
    for k in range(machines):
        rise = Fraction(machines - k) * Fraction(down) / Fraction(up) / min(k + 1, crews)
        weights.append(weights[-1] * rise)
    total = sum(weights)
    present = float(sum(k * w for k, w in enumerate(weights)) / total)
    waiting = float(sum(max(k - crews, 0) * w for k, w in enumerate(weights)) / total)
    means = _repair(machines, up, down, crews)
    assert means.stations[0].present == pytest.approx(present, rel=1e-9)
    assert means.stations[0].waiting == pytest.approx(waiting, rel=1e-9, abs=1e-9)
    assert means.away == pytest.approx(machines - present, rel=1e-9, abs=1e-9)


stations = st.builds(
    Station,
    service_min=st.floats(0.1, 20),
    servers=st.integers(1, 4),
    visits=st.floats(0.1, 2),
)
loops = st.builds(
    Loop,
    customers=st.integers(1, 6),
    away_min=st.one_of(st.just(0.0), st.floats(0.1, 30)),
    stations=st.lists(stations, min_size=1, max_size=3).map(tuple),
)


@given(loops)
def test_any_loop_by_listing_every_state(loop: Loop) -> None:
    # Product form: a state weighs the product of the demands to the power of its numbers, over
    # j! (away) or prod min(k, m) (stations); Gordon & Newell 1967 (from memory). No recursion.
    places = len(loop.stations)
    weight = {}
    for state in itertools.product(range(loop.customers + 1), repeat=places):
        away = loop.customers - sum(state)
        if away < 0:
            continue
        value = loop.away_min**away / math.factorial(away)
        for count, one in zip(state, loop.stations, strict=True):
            served = math.prod(min(k, one.servers) for k in range(1, count + 1))
            value *= (one.visits * one.service_min) ** count / served
        weight[state] = value
    total = sum(weight.values())
    means = loop_means(loop)
    for at, one in enumerate(loop.stations):
        present = sum(state[at] * value for state, value in weight.items()) / total
        busy = sum(min(state[at], one.servers) * value for state, value in weight.items()) / total
        assert means.stations[at].present == pytest.approx(present, rel=1e-9)
        assert means.stations[at].busy_share * one.servers == pytest.approx(busy, rel=1e-9)


@given(loops)
def test_littles_law_and_everybody_is_somewhere(loop: Loop) -> None:
    means = loop_means(loop)
    assert means.away + sum(one.present for one in means.stations) == pytest.approx(loop.customers)
    for one, given_ in zip(means.stations, loop.stations, strict=True):
        rate = means.rounds_per_min * given_.visits
        assert one.present == pytest.approx(rate * one.time_min)
        assert one.waiting == pytest.approx(rate * one.wait_min)
        assert one.wait_min >= 0
        assert 0 <= one.busy_share <= 1 + 1e-9


def test_a_busy_fleet_keeps_its_digits() -> None:
    # Where a station never runs empty the plain recursion takes 1 - 0.999… and loses all digits.
    means = _repair(200, 5, 3, 4)
    assert means.stations[0].busy_share == pytest.approx(1, abs=1e-12)
    assert means.rounds_per_min == pytest.approx(4 / 3, rel=1e-12)
    assert means.away + means.stations[0].present == pytest.approx(200, rel=1e-12)


def test_nobody() -> None:
    means = loop_means(Loop(customers=0, away_min=1, stations=(Station(service_min=1, servers=3),)))
    assert (means.rounds_per_min, means.stations[0].present) == (0, 0)
    assert math.isnan(means.round_min)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"customers": -1}, "not below 0"),
        ({"away_min": math.nan}, "not below 0"),
        ({"stations": (), "away_min": 0.0}, "a place to go"),
        ({"stations": (Station(service_min=0),)}, "above 0"),
        ({"stations": (Station(service_min=1, servers=0),)}, "above 0"),
        ({"stations": (Station(service_min=1, servers=2),) * 11}, "more than 10"),
    ],
)
def test_a_loop_that_cannot_be(changed: dict[str, object], said: str) -> None:
    whole: dict[str, object] = {"customers": 2, "away_min": 1.0, "stations": ()}
    with pytest.raises(ValueError, match=said):
        Loop(**{**whole, **changed})  # type: ignore[arg-type]  # wrong on purpose
