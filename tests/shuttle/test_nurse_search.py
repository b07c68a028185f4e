"""The search for the nurse flow: levels, drops and brackets."""

import numpy as np
import pytest

from haulshed.shuttle import nurse
from haulshed.shuttle.limits import NURSE_LINE
from shuttle.made import Made, drawn, places, sites, tankers


def test_a_search_that_does_not_end_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(nurse, "_STEPS", 1)
    made = Made(tankers=tankers(2), sites=sites(1), places=places(2, 1))
    with pytest.raises(ArithmeticError, match="did not end"):
        made.flows()


def test_it_takes_few_programmes() -> None:
    # Newton's method on a nearly straight line: a few steps, where halving takes some forty.
    made = drawn(3, tankers=12, sites=25, places=200, like=0.0)
    made = made.with_places(engines=np.ones(200, np.int64))
    got = made.flows()
    assert got.programmes / 200 < 20


@pytest.mark.parametrize(
    "levels", [[100, 200, 300, 400], [499, 500, 500, 501], [167, 168, 169, 170]]
)
def test_every_level_is_tried_from_the_top(levels: list[int]) -> None:
    # At a flow only tankers that pump off as fast take part: the largest k × 1,800 / away that the
    # k + 1 fastest hold, or the rate of the slowest of them where that is less.
    rates = np.array([[float(level) for level in levels]])
    made = Made(
        tankers=tankers(4),
        sites=sites(1, fill_positions=9, flow_gpm=1e4),
        places=places(4, 1, pump_off_gpm=rates, pump_off_bound=NURSE_LINE, engines=1),
    )
    made = made.with_operation(nurse_limit_gpm=1e4)
    # Filled at 1,000 gpm: 2 + 2 min; legs 2 × (0.65 + 60 / 35); coupling 2 min.
    away_min = 4 + 2 * (0.65 + 60 / 35) + 2
    fastest = sorted(levels, reverse=True)
    held_gpm = max(min(fastest[k], k * 1800 / away_min) for k in range(1, 4))
    assert made.flows().nurse_gpm[0] == pytest.approx(held_gpm, rel=1e-9)
