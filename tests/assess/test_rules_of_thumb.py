"""
The rules of thumb of hauled water, end to end, on a district that can be worked out by hand.

Common practice, no source: a tanker passes 500 gpm through its piping; the nurse stage holds up to
that while tankers keep coming; a dump site carries 1,000 to 1,500 gpm. Formula of one round trip:
NFPA 1142 Annex C (value from memory).

A 35-mph road, hydrants of 1,000 gpm one mile off, 2,000-gal tankers that deliver 1,800.

    leg            0.65 + 60 / 35            = 2.364 min
    fill           2.0 + 2,000 / 1,000       = 4.0 min
    nursing, away from the line: 2.364 + 4.0 + 2.364 + 2.0 (couple) = 10.729 min
    dump           1.5 + 1,800 / 1,000       = 3.3 min
    round trip with a dump site: 3.3 + 2.364 + 4.0 + 2.364 = 12.029 min
"""

import pandas as pd
import pytest

from by_hand import Row, engine, hydrant, inputs, parcel, station, tanker
from haulshed.assess.model import assess


def answer(sites: list[Row], apparatus: list[Row]) -> pd.Series:
    """Return the answer for the one parcel."""
    case = inputs(sites=sites, stations=[station()], apparatus=apparatus, parcels=[parcel()])
    return assess(case, progress=lambda _step, _done=0, _of=0: None).parcels.iloc[0]


@pytest.mark.parametrize(
    ("tankers", "positions", "held_gpm", "limit"),
    [
        # Alone it drains in 1,800 / Q and is away for 10.729: a gap at any flow.
        (1, 2, 0.0, "one tanker"),
        # 1,800 / Q = 10.729: each is back as the other runs dry.
        (2, 2, 1800 / 10.729, "tankers"),  # 168
        # Two others pump off while one is away: 2 × 1,800 / Q = 10.729.
        (3, 2, 2 * 1800 / 10.729, "tankers"),  # 336
        # 3 × 1,800 / Q = 10.729 would be 503: one stream carries 500.
        (4, 2, 500.0, "nurse line"),
        (5, 2, 500.0, "nurse line"),
        # One position fills a tanker in 4.0 min: 1,800 / 4.0.
        (5, 1, 450.0, "fill positions"),
    ],
)
def test_nursing(tankers: int, positions: int, held_gpm: float, limit: str) -> None:
    got = answer(
        [hydrant("H1", 1.0, fill_positions=positions)],
        [engine(1), *(tanker(i) for i in range(tankers))],
    )
    assert got["nurse_gpm"] == pytest.approx(held_gpm, abs=0.02)
    assert got["dump_site_gpm"] == 0  # one engine: none to draft at a dump site
    assert got["sustained_gpm"] == got["nurse_gpm"]
    # The legs are 4.73 of at least 12 min, so it is the tankers, not the distance.
    assert got["limited_by"] == limit


@pytest.mark.parametrize(
    ("positions", "held_gpm", "limit"),
    [
        # Two tankers unload at once, each 1,800 gal in 3.3 min. Nine tankers would carry
        # 9 × 1,800 / 12.029 = 1,347; four fill positions 4 × 1,800 / 4.0 = 1,800.
        (2, 2 * 1800 / 3.3, "dump site"),  # 1,091
        # Two fill positions in all: 2 × 1,800 / 4.0.
        (1, 900.0, "fill positions"),
    ],
)
def test_a_dump_site(positions: int, held_gpm: float, limit: str) -> None:
    tanks = [{"portable_tank_gal": 2500.0}] * 2 + [{}] * 7
    got = answer(
        [
            hydrant("H1", 1.0, fill_positions=positions),
            hydrant("H2", -1.0, fill_positions=positions),
        ],
        [engine(1), engine(2), *(tanker(i, **tank) for i, tank in enumerate(tanks))],
    )
    assert got["dump_site_gpm"] == pytest.approx(held_gpm, abs=0.01)
    assert got["limited_by"] == limit
    assert got["site_ids"] == "H1; H2"


def test_a_lake_at_two_miles_beats_a_weak_hydrant_at_one() -> None:
    """Firehouse article on IFSTA's method, p. 3 (read in a copy): 750 gpm needed, the lake wins."""
    crew = [engine(i) for i in range(3)]
    crew += [tanker(i, portable_tank_gal=2500.0 * (i < 2)) for i in range(8)]
    weak = hydrant("H1", 1.0, flow_gpm=250.0, fill_positions=1)
    lake = hydrant("L1", -2.0, kind="dry_hydrant", usable_gal=5e6, fill_positions=1)
    by_hydrant, by_lake = answer([weak], crew), answer([lake], crew)
    assert by_hydrant["sustained_gpm"] < 250
    # One position at the lake, 1,000 gpm: 1,800 / (2.0 + 2.0) = 450 a position.
    assert by_lake["sustained_gpm"] == pytest.approx(450, abs=0.01)
    both = answer([weak, lake], crew)
    assert both["best_site_id"] == "L1"
