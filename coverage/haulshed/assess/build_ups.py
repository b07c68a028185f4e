"""Every parcel's incident in few figures, for the map to draw where it is asked."""

import numpy as np

from haulshed.assess.clock_case import scenes_of, setting_of
from haulshed.assess.working import Working
from haulshed.case import BuildUps, Progress
from haulshed.clock.series import STEP_MIN, series_of

#: A map of more parcels carries no incidents: it would take too long to open.
MOST_PARCELS = 6000


def build_ups(working: Working, *, progress: Progress) -> BuildUps | None:
    """Return the incidents for the parcels' needs, else their sustained flows; None: too many."""
    needed_gpm = working.need.needed_gpm
    if len(needed_gpm) > MOST_PARCELS:
        return None
    progress("drawing the incidents")
    asked_gpm = np.where(np.isnan(needed_gpm), working.flows.sustained_gpm, needed_gpm)
    wanted = working.there.access.on_road & (asked_gpm > 0)
    scenario = working.ground.inputs.scenario
    series = series_of(setting_of(working.ground), scenes_of(working, asked_gpm), wanted=wanted)
    rules = scenario.clock
    lasts_min = rules.attack_min + scenario.operation.duration_min + rules.overhaul_min
    return BuildUps(
        step_min=STEP_MIN,
        asked_gpm=asked_gpm,
        first_water_min=series.end_min - lasts_min,
        end_min=series.end_min,
        delivered_gal=series.delivered_gal,
        stages=series.stages,
        gaps=series.gaps,
        source=series.source,
        level=series.level,
        source_names=tuple(np.unique(working.ground.sites["source_id"].astype(str))),
    )
