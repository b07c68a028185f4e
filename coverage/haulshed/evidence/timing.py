"""What the clock is asked for: from when a flow is held, and how long it breaks."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.working import Working

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Timing:
    """
    How a flow builds up at each parcel, shape (P,).

    NaN is not known, so not judged; infinite is known: never held.
    """

    held_from_min: Floats  #: from dispatch until the flow is there
    longest_gap_min: Floats  #: longest break from then until the duration is over


class Player(Protocol):
    """Plays every incident at a flow [gpm], over a duration [min]."""

    def __call__(self, working: Working, *, flow_gpm: float, duration_min: float) -> Timing:
        """Return from when the flow is held at each parcel."""


def not_played(working: Working, *, flow_gpm: float, duration_min: float) -> Timing:  # noqa: ARG001 — a player that knows nothing
    """Return that nothing is known."""
    unknown = np.full(len(working.ground.inputs.parcels), np.nan)
    return Timing(held_from_min=unknown, longest_gap_min=unknown)
