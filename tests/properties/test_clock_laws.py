"""Laws that hold in every incident, whatever is drawn."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clock.played import drawn, rows_of

INCIDENTS = st.tuples(
    st.integers(0, 10_000), st.integers(1, 9), st.integers(1, 5), st.integers(1, 7)
)


def played(case: tuple[int, int, int, int]):  # noqa: ANN201 — a case and its story
    seed, tankers, engines, sites = case
    incident = drawn(seed, tankers=tankers, engines=engines, sites=sites)
    return incident, incident.played()


@settings(max_examples=150, deadline=None)
@given(INCIDENTS)
def test_no_water_is_made_or_lost(case: tuple[int, int, int, int]) -> None:
    incident, story = played(case)
    ledger = story.ledger
    came_gal = ledger.brought_gal + ledger.taken_gal
    assert came_gal == pytest.approx(ledger.delivered_gal + ledger.left_gal, abs=1e-3)
    levels = story.levels
    assert (np.diff(levels.delivered_gal) >= -1e-9).all()
    assert (levels.delivered_gal <= levels.asked_gal + 1e-6).all()
    assert (levels.portable_gal <= levels.portable_room_gal + 1e-9).all()
    assert (levels.portable_gal >= 0).all()
    assert (levels.engine_tank_gal >= 0).all()
    assert (levels.source_gal >= 0).all()
    assert (levels.source_gal <= incident.water.stored_gal).all()


@settings(max_examples=150, deadline=None)
@given(INCIDENTS)
def test_what_a_source_gave_is_missing_from_it(case: tuple[int, int, int, int]) -> None:
    incident, story = played(case)
    took = ~np.isnan(story.trips.takes_min)
    source = incident.water.source[story.trips.site[took]]
    gal = np.bincount(source, story.trips.load_gal[took], incident.water.source_gpm.size)
    assert gal.sum() == pytest.approx(story.ledger.taken_gal)
    dry = (incident.water.recharge_gpm == 0) & np.isfinite(incident.water.stored_gal)
    left_gal = story.levels.source_gal[-1]
    assert left_gal[dry] == pytest.approx((incident.water.stored_gal - gal)[dry], abs=1e-6)


@settings(max_examples=150, deadline=None)
@given(INCIDENTS)
def test_places_are_never_used_twice(case: tuple[int, int, int, int]) -> None:
    incident, story = played(case)
    trips = story.trips

    def most(begin: np.ndarray, end: np.ndarray) -> int:
        """Return how many overlap at most; what ends at a moment frees its place then."""
        began = ~np.isnan(begin)
        end = np.where(np.isnan(end), np.inf, end)[began]
        moments = np.concatenate((begin[began], end))
        steps = np.repeat([1, -1], began.sum())
        order = np.lexsort((steps, np.round(moments, 7)))
        return int(np.cumsum(steps[order]).max(initial=0))

    standing = np.isinf(incident.tankers.down_min[trips.tanker])
    for site, positions in enumerate(incident.water.positions):
        here = (trips.site == site) & standing & ~np.isnan(trips.full_min)
        assert most(trips.position_min[here], trips.full_min[here]) <= positions
    nursed = (trips.nursed == 1) & standing
    assert most(trips.unloads_min[nursed], trips.empty_min[nursed]) <= 1


@settings(max_examples=60, deadline=None)
@given(INCIDENTS)
def test_littles_law_at_the_incident(case: tuple[int, int, int, int]) -> None:
    # Little (1961): the mean number there = arrivals a minute × the mean stay. The number is read
    # off moment by moment; the stays are the trips' own.
    incident, story = played(case)
    here = ~np.isnan(story.trips.back_min) & np.isinf(incident.tankers.down_min[story.trips.tanker])
    come, go = story.trips.back_min[here], story.trips.empty_min[here]
    go = np.where(np.isnan(go), story.end_min, go)
    moments = np.unique(np.concatenate(([0.0, story.end_min], come, go)))
    middle = (moments[:-1] + moments[1:]) / 2
    number = (come <= middle[:, None]).sum(axis=1) - (go <= middle[:, None]).sum(axis=1)
    mean_number = (number * np.diff(moments)).sum() / story.end_min
    rate, stay = come.size / story.end_min, (go - come).mean() if come.size else 0.0
    assert (number >= 0).all()
    assert mean_number == pytest.approx(rate * stay)


@settings(max_examples=60, deadline=None)
@given(INCIDENTS)
def test_a_tankers_moments_are_in_order(case: tuple[int, int, int, int]) -> None:
    incident, story = played(case)
    for tanker in range(incident.tankers.load_gal.size):
        moments = np.array(
            [
                row[name]
                for row in rows_of(story.trips, tanker)
                for name in (
                    *("leaves_min", "at_site_min", "position_min", "takes_min", "full_min"),
                    *("back_min", "called_min", "unloads_min", "empty_min"),
                )
            ]
        )
        assert (np.diff(moments[~np.isnan(moments)]) >= -1e-9).all()


@settings(max_examples=60, deadline=None)
@given(INCIDENTS)
def test_the_gaps_told_are_the_gaps_counted(case: tuple[int, int, int, int]) -> None:
    incident, story = played(case)
    over_min = next((b.from_min for b in story.asked if b.asked == "overhaul"), story.end_min)
    before = [gap for gap in story.gaps if gap.from_min < over_min - 1e-6]
    at = np.searchsorted(story.levels.time_min, over_min, side="right") - 1
    short_gal = story.levels.asked_gal[at] - story.levels.delivered_gal[at]
    assert story.short_gal == pytest.approx(short_gal, abs=1e-3)
    longest = max((min(gap.to_min, over_min) - gap.from_min for gap in before), default=0.0)
    counted = longest if longest >= incident.rules.shortest_gap_min else 0.0
    assert story.longest_gap_min == pytest.approx(counted, abs=1e-6)
