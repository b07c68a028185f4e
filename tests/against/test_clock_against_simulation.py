"""The clock, compiled event by event, against the SimPy simulation that shares no line with it."""

from dataclasses import fields

import numpy as np
import pytest

from against.clock_incidents import (
    drawn,
    in_round_figures,
    luck_of,
    scenes_of,
    setting_of,
    with_uneven_times,
)
from haulshed.clock.story import Story
from haulshed.clock.told import tell
from haulshed.crosscheck.incident import Incident, Played, Trip
from haulshed.crosscheck.simulate import simulate

#: Minutes and gallons that rounding in another order may bring about.
CLOSE = 1e-9

#: What is compared of a trip: tanker, number, site, whether it nursed, and every minute.
_WHO = ("tanker", "number", "site", "nursed")
_WHEN = tuple(field.name for field in fields(Trip) if field.name.endswith("_min"))
_STAMPS = (*_WHO, *_WHEN)


def _clock_trips(story: Story) -> np.ndarray:
    trips = story.trips
    table = np.column_stack([getattr(trips, name).astype(float) for name in _STAMPS])
    table = table[np.lexsort((trips.number, trips.tanker))]
    # The clock keeps a row for a trip on which nothing has happened before the end.
    return table[np.isfinite(table[:, len(_WHO) :]).any(axis=1)]


def _simulated_trips(played: Played) -> np.ndarray:
    rows = [[float(getattr(trip, name)) for name in _STAMPS] for trip in played.trips]
    return np.array(rows).reshape(len(rows), len(_STAMPS))


def _same(incident: Incident) -> None:
    story = tell(setting_of(incident), scenes_of(incident), luck_of(incident), place=0)
    played = simulate(incident)
    np.testing.assert_allclose(_clock_trips(story), _simulated_trips(played), rtol=0, atol=CLOSE)
    assert story.first_water_min == pytest.approx(played.first_water_min, nan_ok=True)
    assert story.dump_site_min == pytest.approx(played.dump_site_min, nan_ok=True)
    assert story.held_from_min == pytest.approx(played.held_from_min, nan_ok=True)
    gaps = [gap for gap in played.gaps() if gap[1] - gap[0] > CLOSE]
    lengths_min = [gap[1] - gap[0] for gap in gaps]
    counted_min = [length for length in lengths_min if length >= incident.rules.shortest_gap_min]
    longest_min = max(counted_min, default=0.0)
    assert story.longest_gap_min == pytest.approx(longest_min, abs=CLOSE)
    assert story.short_gal == pytest.approx(sum(gap[2] for gap in gaps), abs=1e-3)
    assert story.delivered_120_gal == pytest.approx(played.delivered_gal(120.0), abs=1e-3)
    assert story.ledger.taken_gal == pytest.approx(played.taken_gal)


SEEDS = range(40)


@pytest.mark.parametrize("seed", SEEDS)
def test_constant_times_trip_by_trip(seed: int) -> None:
    _same(drawn(np.random.default_rng([1, seed])))


@pytest.mark.parametrize("seed", SEEDS)
def test_uneven_times_trip_by_trip(seed: int) -> None:
    _same(drawn(np.random.default_rng([2, seed]), uneven=True))


@pytest.mark.parametrize("seed", SEEDS)
def test_failures_trip_by_trip(seed: int) -> None:
    _same(drawn(np.random.default_rng([3, seed]), uneven=True, failing=True))


@pytest.mark.parametrize("seed", SEEDS)
def test_much_at_one_moment(seed: int) -> None:
    # Everything falls on few minutes, so that nearly every turn is decided by the rules on ties.
    _same(in_round_figures(drawn(np.random.default_rng([4, seed]), failing=seed % 2 == 0)))


def test_the_means_of_chance_agree() -> None:
    # Other random numbers on either side: the means must agree within three standard errors.
    drawings = 60
    base = drawn(np.random.default_rng([5, 5]))

    def delivered_gal(seed: int, *, by_clock: bool) -> float:
        incident = with_uneven_times(base, np.random.default_rng([6, by_clock, seed]))
        if not by_clock:
            return simulate(incident).delivered_gal(120.0)
        return tell(
            setting_of(incident), scenes_of(incident), luck_of(incident), place=0
        ).delivered_120_gal

    clock = np.array([delivered_gal(seed, by_clock=True) for seed in range(drawings)])
    simulated = np.array([delivered_gal(seed, by_clock=False) for seed in range(drawings)])
    error_gal = np.sqrt((clock.var(ddof=1) + simulated.var(ddof=1)) / drawings)
    assert error_gal > 100  # where chance changes nothing, the means say nothing
    assert abs(clock.mean() - simulated.mean()) < 3 * error_gal
