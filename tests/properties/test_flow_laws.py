"""Laws of the sustained flow that hold in any district."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from haulshed.shuttle.flow import Flows
from haulshed.shuttle.limits import LIMITS
from shuttle.made import Made, drawn

SEEDS = st.integers(0, 2**32 - 1)
MANY = settings(max_examples=60, deadline=None)


def district(seed: int) -> Made:
    rng = np.random.default_rng(seed)
    made = drawn(
        seed,
        tankers=int(rng.integers(1, 9)),
        sites=int(rng.integers(1, 12)),
        places=3,
        like=float(rng.choice([0.0, 0.5, 1.0])),
        classes=1 + seed % 3,
    )
    return made.with_operation(nurse_buffer_gal=float(rng.choice([0, 0, 300])))


def never_lower(before: Flows, after: Flows) -> None:
    for name in ("nurse_gpm", "dump_site_gpm"):
        less = getattr(before, name) - getattr(after, name)
        assert (less <= 1e-8 * (1 + getattr(before, name))).all(), name
    assert (before.minus_one_gpm <= before.sustained_gpm * (1 + 1e-9)).all()


@MANY
@given(SEEDS)
def test_more_tankers_never_lower_a_flow(seed: int) -> None:
    made = district(seed)
    fewer = made.places.counted.copy()
    fewer[:, ::2] = False
    never_lower(made.with_places(counted=fewer).flows(), made.flows())


@MANY
@given(SEEDS, st.floats(0.3, 1.0))
def test_faster_roads_never_lower_a_flow(seed: int, share: float) -> None:
    made = district(seed)
    faster = made.with_places(
        loaded_min=made.places.loaded_min * share, empty_min=made.places.empty_min * share
    )
    never_lower(made.flows(), faster.flows())


@MANY
@given(SEEDS)
def test_more_to_work_with_never_lowers_a_flow(seed: int) -> None:
    made = district(seed)
    before, there = made.flows(), made.places
    never_lower(before, made.with_sites(fill_positions=made.sites.fill_positions + 1).flows())
    never_lower(before, made.with_sites(flow_gpm=made.sites.flow_gpm * 1.3).flows())
    never_lower(before, made.with_sites(recharge_gpm=made.sites.recharge_gpm + 20).flows())
    never_lower(before, made.with_sites(needs_pumper=np.zeros_like(made.sites.open)).flows())
    never_lower(before, made.with_places(engines=there.engines + 1).flows())
    never_lower(before, made.with_places(dump_positions=there.dump_positions + 1).flows())
    never_lower(before, made.with_places(line_gpm=there.line_gpm * 1.2).flows())
    never_lower(before, made.with_places(pump_off_gpm=there.pump_off_gpm * 1.2).flows())
    never_lower(before, made.with_places(duration_min=there.duration_min / 2).flows())


@MANY
@given(SEEDS)
def test_a_nearer_site_never_lowers_a_flow(seed: int) -> None:
    made = district(seed)
    nearer = made.places.loaded_min.copy()
    nearer[..., 0] = np.minimum(nearer[..., 0], 1.0)
    empty = np.where(np.arange(nearer.shape[-1]) == 0, 1.0, made.places.empty_min)
    empty = np.minimum(empty, made.places.empty_min)
    never_lower(made.flows(), made.with_places(loaded_min=nearer, empty_min=empty).flows())


@MANY
@given(SEEDS)
def test_no_flow_is_above_a_cap(seed: int) -> None:
    made = district(seed)
    got, there, sites = made.flows(), made.places, made.sites
    assert (got.nurse_gpm <= made.operation.nurse_limit_gpm).all()
    assert (got.nurse_gpm <= there.pump_off_gpm.max(axis=1)).all()
    assert (got.dump_site_gpm <= there.line_gpm).all()
    assert (got.site_gpm <= sites.flow_gpm * (1 + 1e-9)).all()
    assert (got.site_gpm[:, ~sites.open] == 0).all()
    assert got.site_gpm.sum(axis=1) == pytest.approx(got.sustained_gpm)
    pumpers = there.engines - np.where(got.nursing, 1, 2)
    drafting = (got.site_gpm > 1e-6) & sites.needs_pumper
    assert (drafting.sum(axis=1) <= np.maximum(pumpers, 0)).all()
    assert ((got.limit >= 0) & (got.limit < len(LIMITS))).all()
    assert np.isnan(got.round_trip_min).tolist() == (got.sustained_gpm == 0).tolist()
    assert not (got.relies_on & ~there.counted).any()
    assert got.rescued == 0


@MANY
@given(SEEDS)
def test_the_order_of_rows_changes_nothing(seed: int) -> None:
    made = district(seed)
    rng = np.random.default_rng(seed + 1)
    tanker = rng.permutation(made.tankers.tank_gal.size)
    site = rng.permutation(made.sites.flow_gpm.size)
    got, moved = made.flows(), made.shuffled(tanker, site).flows()
    for name in ("limit", "tankers_needed", "volume_binds"):
        assert getattr(moved, name).tolist() == getattr(got, name).tolist(), name
    for name in ("nurse_gpm", "dump_site_gpm", "minus_one_gpm", "round_trip_min"):
        assert getattr(moved, name) == pytest.approx(getattr(got, name), rel=1e-9, nan_ok=True)
    assert moved.site_gpm == pytest.approx(got.site_gpm[:, site], rel=1e-9, abs=1e-9)


@MANY
@given(SEEDS)
def test_tied_limits_in_any_order(seed: int) -> None:
    # Like tankers, like sites: everything ties with everything.
    made = drawn(seed, tankers=6, sites=5, places=2, like=1.0)
    same = made.sites.at(np.zeros(5, np.int64))
    made = replace(made, sites=replace(same, source=np.array([0, 0, 1, 1, 2])))
    legs_min = np.full((2, 1, 5), 3.0)
    made = made.with_places(loaded_min=legs_min, empty_min=legs_min)
    rng = np.random.default_rng(seed)
    got = made.flows()
    for _ in range(3):
        moved = made.shuffled(rng.permutation(6), rng.permutation(5)).flows()
        assert moved.limit.tolist() == got.limit.tolist()
        assert moved.sustained_gpm == pytest.approx(got.sustained_gpm, rel=1e-9)
        assert moved.volume_binds.tolist() == got.volume_binds.tolist()


@MANY
@given(SEEDS)
def test_like_tankers_merged_are_the_same_unmerged(seed: int) -> None:
    # A hair's difference in the tanks keeps like tankers apart, and changes flows by as much.
    made = drawn(seed, tankers=6, sites=6, places=2, like=1.0)
    hair = 1 + 1e-11 * np.arange(6)
    apart = made.with_tankers(
        tank_gal=made.tankers.tank_gal * hair, usable_gal=made.tankers.usable_gal * hair
    )
    got, unmerged = made.flows(), apart.flows()
    assert unmerged.nurse_gpm == pytest.approx(got.nurse_gpm, rel=1e-8)
    assert unmerged.dump_site_gpm == pytest.approx(got.dump_site_gpm, rel=1e-8)


@MANY
@given(SEEDS)
def test_a_place_is_the_same_alone(seed: int) -> None:
    made = district(seed)
    got = made.flows()
    tanker, site = np.arange(made.tankers.tank_gal.size), np.arange(made.sites.flow_gpm.size)
    alone = replace(made, places=made.places.at(slice(1, 2), tankers=tanker, sites=site)).flows()
    for name in ("nurse_gpm", "dump_site_gpm", "limit", "minus_one_gpm", "tankers_needed"):
        assert getattr(alone, name)[0] == getattr(got, name)[1], name
