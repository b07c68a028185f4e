"""Where it is posted limits, and nothing else, that leave a place without hauled water."""

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.ground import Ground
from haulshed.assess.incidents import Incidents
from haulshed.roads.both_ways import there_and_back
from haulshed.roads.points import Points
from haulshed.roads.travel import response
from haulshed.shuttle.limits import LIMITS
from haulshed.tables.answers import LimitedBy

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

_NO_ROAD, _NO_ENGINE, _NO_TANKER, _POSTED = (
    LIMITS.index(word)
    for word in (
        LimitedBy.NO_ROAD,
        LimitedBy.NO_ENGINE,
        LimitedBy.NO_TANKER,
        LimitedBy.POSTED_LIMIT,
    )
)


def named_by_posted_limits(ground: Ground, there: Incidents, limit: Ints) -> Ints:
    """
    Return the codes of what holds each flow down, the posted limit where it is that.

    It is that where there is no road, no engine or no tanker, and there would be if no limit were
    posted: the reason that comes first is looked at, others may stand behind it.
    """
    could = np.isin(limit, (_NO_ROAD, _NO_ENGINE, _NO_TANKER)) & there.access.on_road
    rows = np.flatnonzero(could)
    if len(ground.classes.networks) == 1 or not rows.size:
        return limit
    access, units = there.access.take(rows), ground.assignment
    sites = ground.site_points.take(np.flatnonzero(ground.site_serves))
    comes = _comes(ground, access)
    kept_away = np.select(
        [limit[rows] == _NO_ROAD, limit[rows] == _NO_ENGINE],
        [there_and_back(ground.network, sites, access), comes[:, units.is_engine].any(axis=1)],
        default=comes[:, units.is_tanker].any(axis=1),
    )
    named = limit.copy()
    named[rows[kept_away]] = _POSTED
    return named


def _comes(ground: Ground, access: Points) -> Bools:
    """Say which units would be there in time if no limit were posted, (places, units)."""
    units, scenario = ground.assignment, ground.inputs.scenario
    in_time_min = scenario.operation.assembly_min
    drive_min, _ = response(
        ground.network, scenario.roads, ground.station_points, access, limit_min=in_time_min
    )
    return units.called & (drive_min[units.station].T + units.turnout_min <= in_time_min)
