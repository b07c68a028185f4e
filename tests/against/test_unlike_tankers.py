"""Unlike tankers at one line: the nurse flow is an upper bound, and what is held is the clock's.

Held against a play of the loop that knows neither the programme nor the clock: tankers pump off
whole loads in the order in which they are back, at constant times, and nobody queues to fill.
"""

import heapq
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clock.played import made as incident
from shuttle.made import Made, places, sites, tankers

#: Handling at the fill site and at the line [min]; every tank fills at 1,000 gpm.
FILL_MIN, COUPLE_MIN = 2.0, 2.0
LONG_MIN, START_MIN = 10_000.0, 500.0
#: Usable load [gal] and leg [min] of each tanker.
Fleet = Sequence[tuple[float, float]]

FLEETS: list[Fleet] = [
    [(1350, 5.0), (1800, 5.0), (5220, 5.0)],
    [(1800, 3.0), (1800, 3.0), (4500, 12.0)],
    [(1350, 6.0), (2250, 6.0), (1800, 6.0), (4500, 6.0)],
]
ANY_FLEET = st.lists(st.tuples(st.floats(700, 5000), st.floats(1, 15)), min_size=2, max_size=6)


def plays_with_a_gap(fleet: Fleet, flow_gpm: float) -> bool:
    """Say whether the line runs dry once the tankers have found their rhythm."""
    back = [(0.0, number) for number in range(len(fleet))]
    now = 0.0
    for load in range(300 * len(fleet)):
        ready, number = heapq.heappop(back)
        if ready > now + 1e-9 and load >= 20 * len(fleet):
            return True
        usable_gal, leg_min = fleet[number]
        away_min = FILL_MIN + usable_gal / 0.9 / 1000 + 2 * leg_min + COUPLE_MIN
        now = max(now, ready) + usable_gal / flow_gpm
        heapq.heappush(back, (now + away_min, number))
    return False


def played_gpm(fleet: Fleet) -> float:
    """Return the largest flow that the play holds without a gap."""
    low, high = 0.0, 1e4
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (low, middle) if plays_with_a_gap(fleet, middle) else (middle, high)
    return low


def nurse_gpm(fleet: Fleet) -> float:
    """Return what the model says of nursing."""
    load_gal, leg_min = np.array(fleet).T
    count = len(fleet)
    case = Made(
        tankers=tankers(
            count,
            tank_gal=load_gal / 0.9,
            usable_gal=load_gal,
            release_gpm=1e6,
            weight_class=np.arange(count),
        ),
        sites=sites(1, flow_gpm=1e5, fill_positions=99, handling_min=FILL_MIN),
        places=places(
            count,
            1,
            classes=count,
            loaded_min=leg_min[None, :, None],
            empty_min=leg_min[None, :, None],
            engines=1,
            pump_off_gpm=1e6,
            line_gpm=1e6,
        ),
    )
    return float(case.with_operation(nurse_limit_gpm=1e5).flows().nurse_gpm[0])


def clock_has_gaps(fleet: Fleet, flow_gpm: float) -> bool:
    """Say whether the clock has gaps once the tankers have found their rhythm."""
    load_gal, leg_min = np.array(fleet).T
    case = incident(tankers=len(fleet)).with_keys(duration_min=LONG_MIN, nurse_limit_gpm=1e5)
    case = case.having("water", positions=99, flow_gpm=1e5, source_gpm=1e5)
    case = case.having(
        "tankers",
        load_gal=load_gal,
        take_min=(load_gal / 0.9 / 1000)[:, None],
        weight_class=np.arange(len(fleet)),
    )
    legs_min = leg_min[None, :, None]
    case = replace(case, scenes=replace(case.scenes, loaded_min=legs_min, empty_min=legs_min))
    case = case.having(
        "scenes", asked_gpm=flow_gpm, line_gpm=1e5, pump_off_gpm=1e5, tanker_min=10.0
    )
    return any(gap.from_min > START_MIN for gap in case.played().gaps)


@settings(max_examples=25, deadline=None)
@given(ANY_FLEET)
def test_no_fleet_holds_more_than_the_bound(fleet: Fleet) -> None:
    bound_gpm = nurse_gpm(fleet)
    assert plays_with_a_gap(fleet, 1.01 * bound_gpm)
    assert clock_has_gaps(fleet, 1.01 * bound_gpm)


@pytest.mark.parametrize("fleet", FLEETS)
def test_unlike_tankers_hold_less_than_the_bound_and_the_clock_says_so(fleet: Fleet) -> None:
    """A large tanker is not back in time, though all together carry enough on average."""
    bound_gpm, held_gpm = nurse_gpm(fleet), played_gpm(fleet)
    assert held_gpm < 0.8 * bound_gpm
    assert clock_has_gaps(fleet, 0.9 * bound_gpm)
    assert not clock_has_gaps(fleet, 0.98 * held_gpm)
    assert clock_has_gaps(fleet, 1.02 * held_gpm)


@pytest.mark.parametrize("count", [2, 3, 5])
def test_like_tankers_on_like_trips_hold_it(count: int) -> None:
    fleet = [(1800.0, 5.0)] * count
    bound_gpm = nurse_gpm(fleet)
    assert played_gpm(fleet) == pytest.approx(bound_gpm, rel=1e-6)
    assert not clock_has_gaps(fleet, 0.999 * bound_gpm)
