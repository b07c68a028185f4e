"""Every parcel's incident in a few numbers, to be drawn where it is asked for."""

from typing import NamedTuple

import numpy as np

from haulshed.clock.batch import WHOLE, kept_of, nothing_heard, play_some
from haulshed.clock.given import Luck, Scenes
from haulshed.clock.setting import Setting, draws_of, fixed_of, many_of
from haulshed.clock.state import NO_GAP_GPM, OF_LEVELS
from haulshed.shuttle.kernel import Flags, Floats, Ints, compiled, inner

#: Time between two figures of a series [min].
STEP_MIN = 5.0
#: Gaps kept of one incident, the first ones; stages kept.
GAPS, STAGES = 12, 6
#: Less is no gap to be seen [min].
_SHORTEST_MIN = 0.2
#: A source that falls by less is not shown.
_LEAST_DRAWN = 0.01
#: Rows of the logs at first.
_ROWS = 2048


class Series(NamedTuple):
    """What is kept of each play; NaN where there was none."""

    delivered_gal: Floats  #: on the fire at each step, (P, K)
    source: Ints  #: the source that falls lowest, as a share of what it held; -1: none falls, (P,)
    level: Floats  #: its level as a share of what it held, (P, K)
    stages: Floats  #: from when on by what the fire is supplied: minute, code, (P, STAGES, 2)
    gaps: Floats  #: from, to, (P, GAPS, 2)
    end_min: Floats  #: (P,)


@inner
def _steps(times: Floats, values: Floats, scale: float, out: Floats) -> None:
    """Write the values at every step, in straight lines between the moments."""
    at = 0
    for step in range(out.size):
        minute = step * STEP_MIN
        while at + 1 < times.size and times[at + 1] < minute:
            at += 1
        if at + 1 >= times.size:
            out[step] = values[times.size - 1] * scale
            continue
        span = times[at + 1] - times[at]
        share = (minute - times[at]) / span if span > 0.0 else 1.0
        out[step] = (values[at] + (values[at + 1] - values[at]) * share) * scale


@inner
def _lowest_source(levels: Floats) -> int:
    """Return the source that falls lowest; -1 where none falls."""
    lowest, chosen = 1.0 - _LEAST_DRAWN, -1
    for source in range(levels.shape[1] - OF_LEVELS):
        held_gal = levels[0, OF_LEVELS + source]
        if np.isfinite(held_gal) and held_gal > 0.0:
            left = levels[:, OF_LEVELS + source].min() / held_gal
            if left < lowest:
                lowest, chosen = left, source
    return chosen


@inner
def _note_stages(levels: Floats, first_min: float, stages: Floats) -> None:
    """Write from when on the fire is supplied by what."""
    count, code = 0, -1.0
    for row in range(levels.shape[0] - 1):
        lasts = levels[row + 1, 0] > levels[row, 0] and levels[row + 1, 0] > first_min
        if lasts and levels[row, 6] != code and count < stages.shape[0]:
            code = levels[row, 6]
            stages[count, 0] = max(levels[row, 0], first_min)
            stages[count, 1] = code
            count += 1


@inner
def _note_gaps(levels: Floats, gaps: Floats) -> None:
    """Write from when to when less arrives than is asked for."""
    count, before_min = 0, -1.0
    for row in range(levels.shape[0] - 1):
        minutes = levels[row + 1, 0] - levels[row, 0]
        lacks = levels[row + 1, 2] - levels[row, 2] - levels[row + 1, 1] + levels[row, 1]
        if minutes <= 0.0 or lacks <= NO_GAP_GPM * minutes:
            continue
        if count > 0 and levels[row, 0] - before_min < _SHORTEST_MIN:
            gaps[count - 1, 1] = levels[row + 1, 0]
        elif count < gaps.shape[0]:
            gaps[count, 0], gaps[count, 1] = levels[row, 0], levels[row + 1, 0]
            count += 1
        else:
            break
        before_min = levels[row + 1, 0]


@compiled
def _note(levels: Floats, place: int, series: Series) -> None:
    """Write what is kept of an incident that has just been played."""
    first = 0
    while first + 1 < levels.shape[0] and levels[first + 1, 2] <= 0.0:
        first += 1
    series.end_min[place] = levels[-1, 0]
    _steps(levels[:, 0], levels[:, 1], 1.0, series.delivered_gal[place])
    source = _lowest_source(levels)
    series.source[place] = source
    if source >= 0:
        held_gal = levels[0, OF_LEVELS + source]
        _steps(levels[:, 0], levels[:, OF_LEVELS + source], 1.0 / held_gal, series.level[place])
    _note_stages(levels, levels[first, 0], series.stages[place])
    _note_gaps(levels, series.gaps[place])


def series_of(setting: Setting, scenes: Scenes, *, wanted: Flags) -> Series:
    """Return the incident at each `wanted` place, shape (P,), at constant times."""
    places, steps = wanted.size, _steps_of(setting, scenes)
    tankers, sources = setting.tankers.load_gal.size, setting.water.source_gpm.size
    sure = Luck.constant(tankers, setting.engines.tank_gal.size)
    given = fixed_of(setting), many_of(scenes), draws_of(sure)
    series = Series(
        delivered_gal=np.full((places, steps), np.nan),
        source=np.full(places, -1, np.int64),
        level=np.full((places, steps), np.nan),
        stages=np.full((places, STAGES, 2), np.nan),
        gaps=np.full((places, GAPS, 2), np.nan),
        end_min=np.full(places, np.nan),
    )
    heard, kept = nothing_heard(places, 1), kept_of(_ROWS, tankers=tankers, sources=sources)
    for place in np.flatnonzero(wanted).tolist():
        kept.rows[:] = 0
        play_some(given, wanted, (place, place + 1), heard, kept, WHOLE)
        if kept.rows.max() > len(kept.logs[1]):
            kept = kept_of(int(kept.rows.max()), tankers=tankers, sources=sources)
            play_some(given, wanted, (place, place + 1), heard, kept, WHOLE)
        if kept.rows[1] > 0:
            _note(kept.logs[1][: kept.rows[1]], place, series)
    return series


def _steps_of(setting: Setting, scenes: Scenes) -> int:
    """Return how many figures the longest series has: the last engine may be the first to come."""
    rules = setting.rules
    comes_min = scenes.engine_min[np.isfinite(scenes.engine_min)].max(initial=0.0)
    lasts_min = rules.attack_min + setting.operation.duration_min + rules.overhaul_min
    return int(np.ceil((comes_min + rules.attack_setup_min + lasts_min) / STEP_MIN)) + 1
