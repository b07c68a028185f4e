"""The clock in a few figures, and how sure those are that rest on draws."""

from collections.abc import Mapping

import numpy as np
import pandas as pd
from scipy.stats import beta

from haulshed.assess.clocked import HELD_SHARE, Clocked, rank_of
from haulshed.scenario import ChanceRules
from haulshed.tables.answers import Verdict

#: How sure the intervals are.
_SURE = 0.95
#: What counts as held, for those who read the figures alone.
HELD_MEANS = (
    "held: no gap that counts in the last hour of the planned duration; earlier gaps do not count"
    " against it"
)


def clock_told(rules: ChanceRules, answers: pd.DataFrame, played: Clocked) -> Mapping[str, object]:
    """Return the clock's part of the summary; the answers are those of the parcels."""
    hauled = answers["verdict"].isin([Verdict.NURSE, Verdict.DUMP_SITE])
    held = answers["held_from_min"].notna()
    no_gap = held & (answers["longest_gap_min"] == 0)
    told: dict[str, object] = {
        "verdict_nurse_or_dump_site": int(hauled.sum()),
        "of_these_held_by_the_clock": int((hauled & held).sum()),
        "of_these_held_without_a_gap": int((hauled & no_gap).sum()),
        "held_means": HELD_MEANS,
        "median_first_water_min": _rounded(answers["first_water_min"].median()),
        "median_held_from_min": _rounded(answers["held_from_min"].median()),
        "draws": rules.draws,
    }
    if rules.draws == 0:
        return told
    low, high = held_share_interval(rules.draws)
    nine_in_ten = hauled.to_numpy() & (played.held_share >= HELD_SHARE)
    return told | {
        "seed": rules.seed,
        "of_these_held_9_times_in_10": int(nine_in_ten.sum()),
        "held_90_gpm_is_held_in_a_share_of": [round(low, 3), round(high, 3)],
        "confidence": _SURE,
    }


def held_share_interval(draws: int) -> tuple[float, float]:
    """
    Return between which shares of all incidents lies the share that holds held_90_gpm.

    The share of incidents above the k-th lowest of n draws is distributed as Beta(n - k + 1, k)
    [1]_, whatever the flows; the interval is the middle 95 % of it.

    References
    ----------
    .. [1] David and Nagaraja, *Order Statistics*, 3rd ed., 2003, ch. 2 (from memory).

    Examples
    --------
    With 50 draws held_90_gpm is the 6th lowest flow:

    >>> [round(share, 2) for share in held_share_interval(50)]
    [0.78, 0.95]
    """
    lowest = rank_of(draws) + 1
    spread = (1 - _SURE) / 2
    share = beta(draws - lowest + 1, lowest)
    return float(share.ppf(spread)), float(share.ppf(1 - spread))


def _rounded(value: float) -> float | None:
    return None if np.isnan(value) else round(float(value), 1)
