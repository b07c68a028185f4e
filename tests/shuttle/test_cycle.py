"""One tanker, one site, by the worked examples of published texts."""

import numpy as np
import pytest

from haulshed.shuttle.cycle import fill_min, round_trip_min, shuttle_gpm, unload_min, usable_gal


def flow(tank_gal: float, fill: float, unload: float, leg: float, back: float) -> float:
    trip = round_trip_min(
        fill_min=np.array([fill]),
        unload_min=np.array([unload]),
        loaded_min=np.array([leg]),
        empty_min=np.array([back]),
    )
    return float(shuttle_gpm(usable_gal(np.array([tank_gal]), loss_share=0.10), trip)[0])


def test_a_trip_of_12_minutes() -> None:
    # Firehouse article on IFSTA, Pumping Apparatus, 1st ed. ch. 14, p. 12: 3,000 gal, 12 min.
    assert flow(3000, 4, 3, 2.5, 2.5) == pytest.approx(225)


def test_one_term_for_the_whole_drive() -> None:
    # The same, p. 13: 2,500 gal (2,250 net), 0.65 + 1.7 × 3 miles = 5.75 min, handling 9 min.
    assert flow(2500, 9, 0, 5.75, 0) == pytest.approx(152.5, abs=0.05)


def test_a_term_for_each_leg() -> None:
    # NFPA 1142 Annex C (value from memory): 1,500 gal, 2.1 miles each way at X 1.7, A 3.0, B 4.0.
    leg = 0.65 + 1.7 * 2.1
    assert leg == pytest.approx(4.22)
    assert flow(1500, 4.0, 3.0, leg, leg) == pytest.approx(87.4, abs=0.05)


def test_a_large_tanker() -> None:
    # Course notes quoting the same formula (secondary copy): 4,500 gal net, 10 min.
    assert flow(5000, 3, 2, 2.5, 2.5) == pytest.approx(450)


def test_the_slower_of_site_and_tanker_fills() -> None:
    got = fill_min(
        np.array([[1200.0]]),
        np.array([[600.0]]),
        site_gpm=np.array([300.0, 600.0, 900.0]),
        handling_min=np.array([1.0, 1.0, 1.0]),
    )
    assert got.tolist() == [[5.0, 3.0, 3.0]]


def test_no_rate_no_unloading() -> None:
    got = unload_min(np.array([1000.0, 1000.0]), np.array([0.0, 500.0]), handling_min=1.0)
    assert got.tolist() == [np.inf, 3.0]
