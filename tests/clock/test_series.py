"""The figures that the map draws an incident from are those of its story."""

import numpy as np
import pytest

from clock.played import drawn
from haulshed.clock.given import Luck
from haulshed.clock.series import GAPS, STAGES, STEP_MIN, series_of
from haulshed.clock.story import Supply
from haulshed.clock.told import tell


@pytest.mark.parametrize("seed", range(25))
def test_a_series_is_its_story_in_steps(seed: int) -> None:
    given = drawn(seed, tankers=4, engines=3, sites=3)
    wanted = np.ones(given.scenes.asked_gpm.size, np.bool_)
    series = series_of(given.setting, given.scenes, wanted=wanted)
    luck = Luck.constant(4, 3)
    for place in range(wanted.size):
        story = tell(given.setting, given.scenes, luck, place=place)
        if np.isnan(story.end_min):
            assert np.isnan(series.end_min[place])
            continue
        levels, end_min = story.levels, series.end_min[place]
        assert end_min == pytest.approx(story.end_min)
        minutes = np.minimum(np.arange(series.delivered_gal.shape[1]) * STEP_MIN, end_min)
        assert minutes[-1] == pytest.approx(end_min)  # the series is as long as the incident
        expected_gal = np.interp(minutes, levels.time_min, levels.delivered_gal)
        assert series.delivered_gal[place] == pytest.approx(expected_gal)
        kinds = list(Supply)
        told = [(band.from_min, kinds.index(band.supply)) for band in story.supply][:STAGES]
        stages = series.stages[place]
        known = stages[np.isfinite(stages[:, 0])]
        assert [tuple(one) for one in known] == [pytest.approx(one) for one in told]
        gaps = series.gaps[place]
        shown = gaps[np.isfinite(gaps[:, 0])]
        assert len(shown) <= GAPS
        if len(story.gaps) <= GAPS:
            # Gaps that all but touch are drawn as one: what is left out is less than that.
            total_min = sum(gap.to_min - gap.from_min for gap in story.gaps)
            drawn_min = float((shown[:, 1] - shown[:, 0]).sum())
            assert total_min - 1e-6 <= drawn_min <= total_min + 0.2 * len(story.gaps)


@pytest.mark.parametrize("seed", range(25))
def test_the_source_is_the_one_that_falls_lowest(seed: int) -> None:
    given = drawn(seed, tankers=5, engines=3, sites=3)
    series = series_of(
        given.setting, given.scenes, wanted=np.ones(given.scenes.asked_gpm.size, np.bool_)
    )
    story = tell(given.setting, given.scenes, Luck.constant(5, 3), place=0)
    if np.isnan(story.end_min):
        return
    held_gal, least_gal = story.levels.source_gal[0], story.levels.source_gal.min(axis=0)
    limited = np.isfinite(held_gal) & (held_gal > 0)
    left = np.divide(least_gal, held_gal, out=np.ones_like(held_gal), where=limited)
    if left.min() > 0.99:
        assert series.source[0] == -1
    else:
        assert left[series.source[0]] == pytest.approx(left.min())
        last = series.level[0, int(story.end_min // STEP_MIN) + 1 :]
        ends = story.levels.source_gal[-1, series.source[0]] / held_gal[series.source[0]]
        assert last == pytest.approx(ends)
