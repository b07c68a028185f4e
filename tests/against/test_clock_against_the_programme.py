"""The clock against the fleet programme, over hundreds of round trips at constant times.

Within one load a tanker over the time, the clock delivers what the programme says. Loads that come
along full are the clock's alone, so the count starts after them.
"""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from clock.played import Given, made
from haulshed.clock.story import Story
from haulshed.scenario import Operation
from haulshed.shuttle.flow import flows
from haulshed.shuttle.kernel import Floats
from shuttle.made import places, sites, tankers

MINUTES = st.floats(0.5, 12.0)
LONG_MIN = 10_000.0
START_MIN = 500.0


def programme_gpm(
    count: int, *, positions: int, handling_min: float, leg_min: float, builds: bool
) -> float:
    there = places(
        count,
        1,
        loaded_min=leg_min,
        empty_min=leg_min,
        engines=2,
        dump_positions=2 if builds else 0,
        line_gpm=1e5,
        pump_off_gpm=1e5,
    )
    site = sites(1, flow_gpm=1e5, fill_positions=positions, handling_min=handling_min)
    keys = Operation(nurse_limit_gpm=1e5)
    found = flows(tankers(count), site, there, keys)
    return float(found.dump_site_gpm[0] if builds else found.nurse_gpm[0])


def clock(
    count: int, *, positions: int, handling_min: float, leg_min: float, builds: bool
) -> Given:
    case = made(tankers=count).with_keys(duration_min=LONG_MIN)
    case = case.having("water", positions=positions, handling_min=handling_min)
    case = case.having("water", flow_gpm=1e5, source_gpm=1e5)
    case = case.having("scenes", loaded_min=leg_min, empty_min=leg_min, tanker_min=10.0)
    return case.having(
        "scenes", builds=builds, asked_gpm=1e5, line_gpm=1e5, pump_off_gpm=1e5
    ).having("engines", portable_gal=1e5)


def delivered_gal(case: Given) -> tuple[float, float]:
    """Return what arrives after the loads that came along, and in how long."""
    levels = case.played().levels
    end_min = levels.time_min[-1]
    whole = np.interp([START_MIN, end_min], levels.time_min, levels.delivered_gal)
    return float(whole[1] - whole[0]), float(end_min - START_MIN)


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 9), st.integers(1, 3), MINUTES, MINUTES)
def test_a_dump_site(count: int, positions: int, handling_min: float, leg_min: float) -> None:
    keys = {"positions": positions, "handling_min": handling_min, "leg_min": leg_min}
    gal, minutes = delivered_gal(clock(count, builds=True, **keys))
    assert minutes > 200 * (2 * leg_min + handling_min + 5.3)
    expected_gal = programme_gpm(count, builds=True, **keys) * minutes
    assert gal == pytest.approx(expected_gal, abs=1800 * count + 1)


@settings(max_examples=25, deadline=None)
@given(st.integers(2, 7), MINUTES, MINUTES)
def test_nursing_holds_what_the_programme_says(
    count: int, handling_min: float, leg_min: float
) -> None:
    keys = {"positions": 9, "handling_min": handling_min, "leg_min": leg_min}
    held_gpm = programme_gpm(count, builds=False, **keys)
    assume(1800 / held_gpm > 2.0)  # with two inlets the next must couple while one pumps off
    under, over = (
        clock(count, builds=False, **keys).having("scenes", asked_gpm=held_gpm * share).played()
        for share in (0.999, 1.001)
    )

    def later(story: Story) -> int:
        """Return the gaps after the tankers have found their rhythm."""
        return sum(gap.from_min > START_MIN for gap in story.gaps)

    assert later(under) == 0
    assert later(over) > 0


@settings(max_examples=40, deadline=None)
@given(st.integers(2, 9), st.integers(1, 3), MINUTES, MINUTES, st.floats(0.0, 20.0))
def test_two_sites(
    count: int, positions: int, handling_min: float, leg_min: float, farther_min: float
) -> None:
    # By the programme's own shares the clock comes within a tenth of it, and never above it by more
    # than a load a tanker: those who would wait are shared out, those who would not are not.
    legs_min = np.array([leg_min, leg_min + farther_min])
    case = clock(count, positions=positions, handling_min=handling_min, leg_min=1.0, builds=True)
    found = flows(
        tankers(count),
        sites(2, flow_gpm=1e5, fill_positions=positions, handling_min=handling_min),
        places(
            count,
            2,
            loaded_min=legs_min,
            empty_min=legs_min,
            engines=2,
            dump_positions=2,
            line_gpm=1e5,
        ),
        Operation(),
    )
    two = clock_of_two_sites(case, legs_min, found.site_gpm)
    gal, minutes = delivered_gal(two)
    bound_gal = float(found.dump_site_gpm[0]) * minutes
    assert 0.9 * bound_gal - 1800 * count <= gal <= bound_gal + 1800 * count + 1


def clock_of_two_sites(case: Given, legs_min: Floats, plan_gpm: Floats) -> Given:
    """Return the case with a second site like the first, and the plan of both."""
    two = made(tankers=case.tankers.load_gal.size, sites=2).with_keys(duration_min=LONG_MIN)
    water = case.water
    two = two.having("water", positions=water.positions, handling_min=water.handling_min)
    two = two.having("water", flow_gpm=1e5, source_gpm=1e5)
    two = two.having("scenes", loaded_min=legs_min, empty_min=legs_min, tanker_min=10.0)
    two = two.having("scenes", builds=True, asked_gpm=1e5, line_gpm=1e5, plan_gpm=plan_gpm)
    return two.having("engines", portable_gal=1e5)


@pytest.mark.parametrize("count", range(1, 9))
def test_the_queue_of_a_deterministic_fleet(count: int) -> None:
    # Mine-haulage documentation: N × load - cycle, if above 0, is the wait at the loader; else the
    # loader stands idle.
    case = clock(count, positions=1, handling_min=2.0, leg_min=4.0, builds=True)
    trips = case.played().trips
    cycle_min = 4.0 + 8.0 + 3.3
    late = trips.at_site_min > START_MIN
    waits_min = (trips.position_min - trips.at_site_min)[late]
    expected_min = max(count * 4.0 - cycle_min, 0.0)
    assert np.nanmean(waits_min) == pytest.approx(expected_min, abs=0.05)
