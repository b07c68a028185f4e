"""When the schedule's flow is there and how long it breaks, by the clock."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.clock_case import scenes_of, setting_of
from haulshed.assess.working import Working
from haulshed.clock.batch import play_all
from haulshed.clock.given import Luck

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Timing:
    """
    How a flow builds up at each parcel, shape (P,).

    NaN is not known, so not judged; infinite is known: never held, never without a break.
    """

    held_from_min: Floats  #: from dispatch until the flow is there for the rest of the duration
    longest_gap_min: Floats  #: longest break, from the first water until the duration is over


class Player(Protocol):
    """Plays every incident at a flow [gpm]."""

    def __call__(self, working: Working, *, flow_gpm: float) -> Timing:
        """Return from when the flow is held at each parcel."""


def by_the_clock(working: Working, *, flow_gpm: float) -> Timing:
    """
    Play the incident at every parcel with `flow_gpm` asked for from the first water on.

    For the scenario's planned duration, at constant times, with no unit out.
    """
    setting = setting_of(working.ground)
    on_road = working.there.access.on_road
    sure = Luck.constant(setting.tankers.load_gal.size, setting.engines.tank_gal.size)
    scenes = scenes_of(working, np.full(len(on_road), flow_gpm))
    heard = play_all(setting, scenes, sure, wanted=on_road)
    watered = np.isfinite(heard.first_water_min[:, 0])
    return Timing(
        held_from_min=_never(heard.held_from_min[:, 0]),
        longest_gap_min=np.where(watered, _never(heard.longest_gap_min[:, 0]), np.inf),
    )


def _never(minutes: Floats) -> Floats:
    """Return what was played and did not happen as infinite."""
    return np.where(np.isnan(minutes), np.inf, minutes)
