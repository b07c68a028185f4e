"""The verdict on a parcel: what its needed flow can be held by, and how firmly."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from haulshed.tables.answers import Verdict

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Verdicts = npt.NDArray[np.object_]

#: Below this margin over the needed flow an answer is tight. Assumption of this project.
TIGHT_MARGIN_SHARE = 0.15
#: The needed water is asked for over at least this long [min]. Assumption of this project.
SHORTEST_TEST_MIN = 30.0
#: A flow this little under the need still holds it: the solver's own rounding [gpm].
HELD_WITHIN_GPM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """Flows that each way of supply holds, one value a parcel; zero where there is none."""

    hose_gpm: Floats
    nurse_gpm: Floats
    dump_site_gpm: Floats
    minus_one_gpm: Floats  #: the larger hauled flow with the largest tanker out

    @property
    def sustained_gpm(self) -> Floats:
        """The larger of the two hauled flows."""
        return np.maximum(self.nurse_gpm, self.dump_site_gpm)


def judged_minutes(needed_gpm: Floats, needed_gal: Floats, duration_min: float) -> Floats:
    """
    Return the time [min] over which a parcel is judged where the source's volume binds.

    The needed water at the needed flow, but not less than 30 min; the planned duration where the
    method states no volume. Shape (n,) like the arguments.

    Examples
    --------
    >>> gpm, gal = np.array([500.0, 750.0, 500.0]), np.array([24000, 15000, np.nan])
    >>> judged_minutes(gpm, gal, 120).tolist()
    [48.0, 30.0, 120.0]
    """
    asked_min = np.maximum(needed_gal / needed_gpm, SHORTEST_TEST_MIN)
    return np.where(np.isfinite(asked_min), asked_min, duration_min)


def holds(flow_gpm: Floats, needed_gpm: Floats) -> Bools:
    """Return where a flow [gpm] holds the needed flow [gpm]; nowhere if the need is not known."""
    return flow_gpm >= needed_gpm - HELD_WITHIN_GPM


def judge(needed_gpm: Floats, held: Held) -> Verdicts:
    """
    Return each parcel's :class:`Verdict`; a parcel with no needed flow (NaN) is *no demand*.

    Examples
    --------
    >>> zeros = np.zeros(3)
    >>> held = Held(hose_gpm=zeros, nurse_gpm=np.array([500.0, 300, 0]),
    ...             dump_site_gpm=np.array([900.0, 700, 0]), minus_one_gpm=zeros)
    >>> [str(v) for v in judge(np.array([500.0, 750, 500]), held)]
    ['nurse', 'short', 'none']
    """
    verdicts: list[StrEnum] = [
        Verdict.NO_DEMAND,
        Verdict.HOSE_LINE,
        Verdict.NURSE,
        Verdict.DUMP_SITE,
        Verdict.SHORT,
    ]
    conditions = [
        np.isnan(needed_gpm),
        holds(held.hose_gpm, needed_gpm) & (held.hose_gpm > 0),
        holds(held.nurse_gpm, needed_gpm) & (held.nurse_gpm > 0),
        holds(held.dump_site_gpm, needed_gpm) & (held.dump_site_gpm > 0),
        held.sustained_gpm > 0,
    ]
    codes = np.select(conditions, range(len(verdicts)), default=len(verdicts))
    answers: Verdicts = np.array([*verdicts, Verdict.NONE], dtype=object)[codes]
    return answers


def is_tight(needed_gpm: Floats, held: Held, verdicts: Verdicts) -> Bools:
    """
    Return where hauled water holds the need, but barely.

    With the largest tanker out it no longer does, or the margin is under 15 % of the need.
    """
    hauled = np.isin(verdicts, [Verdict.NURSE, Verdict.DUMP_SITE])
    margin_gpm = held.sustained_gpm - needed_gpm
    return hauled & (
        ~holds(held.minus_one_gpm, needed_gpm) | (margin_gpm < TIGHT_MARGIN_SHARE * needed_gpm)
    )
