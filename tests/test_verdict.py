"""Verdicts at and beside each of their edges."""

import numpy as np
import pytest

from haulshed.tables.answers import Verdict
from haulshed.verdict import Held, is_tight, judge, judged_minutes


def held(
    hose: float = 0.0, nurse: float = 0.0, dump_site: float = 0.0, minus_one: float = 0.0
) -> Held:
    return Held(
        hose_gpm=np.array([hose]),
        nurse_gpm=np.array([nurse]),
        dump_site_gpm=np.array([dump_site]),
        minus_one_gpm=np.array([minus_one]),
    )


@pytest.mark.parametrize(
    ("needed", "flows", "verdict"),
    [
        (500.0, held(hose=500, nurse=500, dump_site=900), Verdict.HOSE_LINE),
        (500.0, held(hose=499, nurse=500, dump_site=900), Verdict.NURSE),
        (501.0, held(nurse=500, dump_site=501), Verdict.DUMP_SITE),
        (902.0, held(nurse=500, dump_site=901), Verdict.SHORT),
        (500.0, held(nurse=1), Verdict.SHORT),
        (500.0, held(), Verdict.NONE),
        (np.nan, held(hose=900, nurse=500), Verdict.NO_DEMAND),
        # Nothing held is nothing, even of a need of zero.
        (0.0, held(), Verdict.NONE),
    ],
)
def test_verdict(needed: float, flows: Held, verdict: Verdict) -> None:
    assert judge(np.array([needed]), flows)[0] is verdict


@pytest.mark.parametrize(
    ("flows", "tight"),
    [
        (held(nurse=600, minus_one=500), False),  # 20 % to spare, holds without the largest
        (held(nurse=600, minus_one=499), True),  # without the largest it does not
        (held(nurse=574, minus_one=500), True),  # 14.8 % to spare
        (held(nurse=575, minus_one=500), False),  # 15 %
        (held(dump_site=400), False),  # short is not tight: it does not hold at all
        (held(hose=600), False),  # nothing is hauled
    ],
)
def test_tight_at_a_need_of_500(flows: Held, *, tight: bool) -> None:
    needed = np.array([500.0])
    assert is_tight(needed, flows, judge(needed, flows))[0] == tight


def test_judged_minutes_are_the_waters_own_time_but_at_least_half_an_hour() -> None:
    gpm = np.array([500.0, 500.0, np.nan])
    gal = np.array([50_000.0, 1_000.0, np.nan])
    assert judged_minutes(gpm, gal, 120).tolist() == [100.0, 30.0, 120.0]
