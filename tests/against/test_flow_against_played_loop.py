"""Like tankers and one site against a play of the loop, tanker by tanker, at constant times."""

import heapq

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shuttle.made import Made, places, sites, tankers

MINUTES = st.floats(0.5, 12.0)


def played_gpm(count: int, positions: int, fill_min: float, rest_min: float) -> float:
    """Return the flow of 1,800-gal tankers that queue for a position, fill, and go round."""
    free, ready = [0.0] * positions, [0.0] * count
    done_min = []
    for _ in range(400 * count):
        start = max(heapq.heappop(ready), heapq.heappop(free))
        heapq.heappush(free, start + fill_min)
        heapq.heappush(ready, start + fill_min + rest_min)
        done_min.append(start)
    half = len(done_min) // 2
    return 1800 * (len(done_min) - half) / (done_min[-1] - done_min[half - 1])


def played_gap(count: int, away_min: float, flow_gpm: float) -> bool:
    """Say whether the line runs dry once the first round is over."""
    ready, now = [0.0] * count, 0.0
    for load in range(60 * count):
        coupled = heapq.heappop(ready)
        if coupled > now and load >= count:
            return True
        now = max(now, coupled) + 1800 / flow_gpm
        heapq.heappush(ready, now + away_min)
    return False


def made(count: int, *, positions: int, handling_min: float, leg_min: float, engines: int) -> Made:
    there = places(
        count,
        1,
        loaded_min=leg_min,
        empty_min=leg_min,
        engines=engines,
        dump_positions=99,
        line_gpm=np.inf,
        pump_off_gpm=1e6,
    )
    site = sites(1, flow_gpm=1e5, fill_positions=positions, handling_min=handling_min)
    return Made(tankers=tankers(count), sites=site, places=there)


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 9), st.integers(1, 3), MINUTES, MINUTES)
def test_a_dump_site(count: int, positions: int, handling_min: float, leg_min: float) -> None:
    case = made(count, positions=positions, handling_min=handling_min, leg_min=leg_min, engines=2)
    # Each fills at 1,000 gpm: 2 min and handling; unloads in 1.5 + 1.8 min.
    fill_min = handling_min + 2.0
    played = played_gpm(count, positions, fill_min, 2 * leg_min + 3.3)
    assert case.flows().dump_site_gpm[0] == pytest.approx(played, rel=0.01)


@settings(max_examples=60, deadline=None)
@given(st.integers(2, 7), MINUTES, MINUTES)
def test_nursing_without_a_gap(count: int, handling_min: float, leg_min: float) -> None:
    case = made(count, positions=9, handling_min=handling_min, leg_min=leg_min, engines=1)
    held_gpm = case.with_operation(nurse_limit_gpm=1e5).flows().nurse_gpm[0]
    away_min = handling_min + 2.0 + 2 * leg_min + 2.0
    assert not played_gap(count, away_min, held_gpm * 0.999)
    assert played_gap(count, away_min, held_gpm * 1.001)


@pytest.mark.parametrize("count", range(1, 9))
def test_the_queue_of_a_deterministic_fleet(count: int) -> None:
    # Mine-haulage documentation: N × load - cycle, if above 0, is the wait at the loader; else the
    # loader stands idle. So the loader is the limit as soon as N × load reaches the cycle.
    case = made(count, positions=1, handling_min=2.0, leg_min=4.0, engines=2)
    cycle_min = 4.0 + 8.0 + 3.3
    queue_min = count * 4.0 - cycle_min
    waits_min = max(queue_min, 0.0)
    assert case.flows().dump_site_gpm[0] == pytest.approx(1800 * count / (cycle_min + waits_min))
    assert case.word() == ("fill positions" if queue_min > 0 else "distance")
