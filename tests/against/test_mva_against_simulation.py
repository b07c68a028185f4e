"""Mean value analysis and the simulation, which share no line, on the same loops."""

import numpy as np
import pytest
from scipy import stats

from crosscheck.incidents import UNLOAD_MIN, loop
from haulshed.crosscheck.incident import Played
from haulshed.crosscheck.mva import Loop, Station, loop_means
from haulshed.crosscheck.simulate import simulate

#: Days played of each loop, and the chance with which the mean of them lies within the interval.
DAYS, CONFIDENCE = 12, 0.999
#: A day's first hours, in which the queues come to what they are.
WARM_UP_MIN = 240.0
TRIPS = 400


def _per_min(played: Played) -> float:
    """Return the rounds in a minute after the warm-up."""
    ends = [trip.empty_min for trip in played.trips if trip.empty_min > WARM_UP_MIN]
    return len(ends) / (1440.0 - WARM_UP_MIN)


def _fill_wait_min(played: Played) -> float:
    waits = [
        trip.position_min - trip.at_site_min
        for trip in played.trips
        if trip.at_site_min > WARM_UP_MIN and trip.position_min == trip.position_min
    ]
    return float(np.mean(waits))


@pytest.mark.parametrize(
    ("tankers", "fill_positions", "dump_positions"), [(3, 1, 1), (6, 2, 1), (8, 2, 3)]
)
def test_exponential_times(tankers: int, fill_positions: int, dump_positions: int) -> None:
    leg_min, fill_min, dump_min = 5.0, 4.0, 2.5
    rng = np.random.default_rng([tankers, fill_positions, dump_positions])

    def factors() -> list[tuple[float, ...]]:
        return [tuple(rng.exponential(size=TRIPS)) for _ in range(tankers)]

    days = [
        simulate(
            loop(
                tankers,
                leg_min=leg_min,
                fill_min=fill_min,
                dump_min=dump_min,
                fill_positions=fill_positions,
                dump_positions=dump_positions,
                taking_factor=factors(),
                unload_factor=factors(),
            )
        )
        for _ in range(DAYS)
    ]
    means = loop_means(
        Loop(
            customers=tankers,
            away_min=2 * leg_min,
            stations=(
                Station(service_min=fill_min, servers=fill_positions),
                Station(service_min=dump_min, servers=dump_positions),
            ),
        )
    )
    spread = float(stats.t.ppf((1 + CONFIDENCE) / 2, DAYS - 1)) / DAYS**0.5
    for simulated, exact in (
        ([_per_min(day) for day in days], means.rounds_per_min),
        ([_fill_wait_min(day) for day in days], means.stations[0].wait_min),
    ):
        assert abs(np.mean(simulated) - exact) < spread * np.std(simulated, ddof=1)
        assert np.std(simulated, ddof=1) < 0.25 * exact  # else the interval would hold anything


@pytest.mark.parametrize("tankers", range(1, 9))
def test_constant_times_by_the_rule_of_mine_haulage(tankers: int) -> None:
    # Mine-haulage documentation (read): with constant times, a truck queues N × load - cycle at the
    # loader if that is above 0; else the loader is idle for cycle - N × load each round.
    fill_min, cycle_min = 3.0, 2 * 5.0 + 3.0 + 1.0 + UNLOAD_MIN
    played = simulate(loop(tankers, fill_min=fill_min, dump_positions=3, duration_min=600))
    later = [trip for trip in played.trips if 300 < trip.at_site_min < 550]
    wait_min = np.mean([trip.position_min - trip.at_site_min for trip in later])
    assert wait_min == pytest.approx(max(tankers * fill_min - cycle_min, 0.0), abs=1e-6)
    starts = sorted(trip.position_min for trip in later)
    idle_min = np.mean(np.diff(starts)) * tankers - tankers * fill_min
    expected_min = max(cycle_min - tankers * fill_min, 0.0)
    assert idle_min == pytest.approx(expected_min, abs=0.05 * cycle_min)
