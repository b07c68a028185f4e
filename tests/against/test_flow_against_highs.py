"""Flows, words and use of engines against the same programme written again for HiGHS (scipy)."""

from collections import Counter

import numpy as np
import pytest

from haulshed.shuttle.flow import stage_flows
from shuttle import reference
from shuttle.made import Made, drawn


def some(
    seed: int, *, tankers: int, sites: int, like: float = 0.5, classes: int | None = None
) -> Made:
    """Return a small district: one in three has a buffer at the inlet; up to 3 weight classes."""
    rng = np.random.default_rng(seed)
    made = drawn(
        seed,
        tankers=int(rng.integers(1, tankers)),
        sites=int(rng.integers(1, sites)),
        like=like,
        classes=1 + seed % 3 if classes is None else classes,
    )
    return made.with_operation(nurse_buffer_gal=400.0) if seed % 3 == 0 else made


@pytest.mark.parametrize("start", range(0, 120, 20))
def test_both_flows_where_every_set_of_sites_is_tried(start: int) -> None:
    flowing = 0
    for seed in range(start, start + 20):
        made = some(seed, tankers=9, sites=8)
        got = made.flows()
        assert got.rescued == 0
        assert got.dump_site_gpm[0] == pytest.approx(
            reference.dump_site_gpm(made, 0), rel=1e-8, abs=1e-6
        )
        # Halving stops within 500 / 2³⁶ gpm, and takes a flow for held at 1 part in 10⁹ less.
        assert got.nurse_gpm[0] == pytest.approx(reference.nurse_gpm(made, 0), rel=1e-7, abs=1e-6)
        flowing += got.sustained_gpm[0] > 0
    assert flowing > 10


@pytest.mark.parametrize("start", range(0, 100, 20))
def test_words_by_prices_of_highs(start: int) -> None:
    for seed in range(start, start + 20):
        made = some(seed + 1000, tankers=8, sites=6)
        got = made.flows()
        if got.sustained_gpm[0] > 0:
            assert got.limit[0] == reference.word_code(made, 0), seed


def test_the_words_that_come_up() -> None:
    # The test above means little if one word answers everything.
    found = Counter(
        int(some(seed + 1000, tankers=8, sites=6).flows().limit[0]) for seed in range(100)
    )
    assert len([code for code in found if code < 9]) >= 7


@pytest.mark.parametrize("seed", range(12))
def test_twelve_tankers_and_25_sites_with_binaries(seed: int) -> None:
    # HiGHS lets a binary be off by 1e-6, which is what the tolerance is for.
    made = drawn(seed, tankers=12, sites=25, like=0.3)
    pumpers = seed % 4
    made = made.with_places(
        engines=np.array([2 + pumpers]),
        dump_positions=np.array([3]),
        other_tanks=np.array([3]),
        line_gpm=np.array([1e6]),
        counted=np.ones((1, 12), np.bool_),
    )
    usable = reference.usable_sites(made, 0)
    drafting = [s for s in usable if made.sites.needs_pumper[s]]
    best = reference.dump_written(made, 0, usable).flow_with_binaries(drafting, pumpers)
    assert made.flows().dump_site_gpm[0] == pytest.approx(best, rel=1e-5)


@pytest.mark.parametrize("seed", range(20))
def test_all_sites_not_only_the_nearest_six(seed: int) -> None:
    # Single positions and weak sources make the optimum use many of 25 sites.
    made = drawn(seed + 40, tankers=12, sites=25, like=0.0).with_sites(
        flow_gpm=np.full(25, 40.0),
        usable_gal=np.full(25, np.inf),
        fill_positions=np.ones(25, np.int64),
        needs_pumper=np.zeros(25, np.bool_),
        source=np.arange(25),
    )
    made = made.with_places(
        engines=np.array([2]),
        dump_positions=np.array([9]),
        other_tanks=np.array([9]),
        line_gpm=np.array([1e6]),
    )
    got = made.flows()
    best = reference.dump_written(made, 0, reference.usable_sites(made, 0)).flow()
    assert got.dump_site_gpm[0] == pytest.approx(best, rel=1e-9)
    used = (got.site_gpm[0] > 1e-6).sum()
    assert used > 6


def weak_ponds(seed: int, sites: int, *, engines: int, places: int = 1) -> Made:
    """Return a district where every site needs a pumper and none gives much."""
    made = drawn(seed, tankers=9, sites=sites, places=places, like=0.0).with_sites(
        flow_gpm=np.linspace(150, 250, sites),
        needs_pumper=np.ones(sites, np.bool_),
        fill_positions=np.ones(sites, np.int64),
        open=np.ones(sites, np.bool_),
    )
    return made.with_places(
        engines=np.full(places, engines),
        dump_positions=np.full(places, 3),
        other_tanks=np.full(places, 3),
        line_gpm=np.full(places, 1500.0),
    )


@pytest.mark.parametrize("seed", range(8))
def test_an_engine_for_two_of_nine_weak_ponds(seed: int) -> None:
    made = weak_ponds(seed, 9, engines=4)
    got = made.flows()
    assert got.dump_site_gpm[0] == pytest.approx(reference.dump_site_gpm(made, 0), rel=1e-8)
    made = made.with_places(engines=np.array([3]))
    assert made.flows().nurse_gpm[0] == pytest.approx(reference.nurse_gpm(made, 0), rel=1e-7)


def test_two_of_25_weak_ponds_take_no_search_of_every_pair() -> None:
    made = weak_ponds(1, 25, engines=4, places=40)
    got = stage_flows(made.tankers, made.sites, made.places, made.operation)
    assert got.programmes / 40 < 150  # 300 pairs, and that in each stage


@pytest.mark.parametrize(
    "change",
    [
        # All alike and all at one place: every price can be moved about.
        {"loaded_min": np.full((1, 1, 6), 3.0), "empty_min": np.full((1, 1, 6), 3.0)},
        # Next door, and the far end of the county.
        {"loaded_min": np.array([[[1e-6, 1e-3, 1.0, 60.0, 300.0, 1200.0]]])},
    ],
)
def test_degenerate_and_badly_scaled(change: dict[str, np.ndarray]) -> None:
    made = drawn(9, tankers=6, sites=6, like=1.0).with_places(
        engines=np.array([4]),
        dump_positions=np.array([2]),
        other_tanks=np.array([2]),
        line_gpm=np.array([1e9]),
        **change,
    )
    made = made.with_sites(
        flow_gpm=np.array([1e-3, 1.0, 1e3, 1e3, 1e6, 1e6]), open=np.ones(6, np.bool_)
    )
    made = made.with_tankers(
        usable_gal=np.array([1.0, 1800.0, 1800.0, 1800.0, 1800.0, 90_000.0]),
        tank_gal=np.array([2.0, 2000.0, 2000.0, 2000.0, 2000.0, 1e5]),
    )
    got = made.flows()
    assert got.dump_site_gpm[0] == pytest.approx(reference.dump_site_gpm(made, 0), rel=1e-8)
    assert got.nurse_gpm[0] == pytest.approx(reference.nurse_gpm(made, 0), rel=1e-7, abs=1e-6)
