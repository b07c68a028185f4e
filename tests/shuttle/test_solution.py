"""One place laid open: every figure can be checked with a pencil, and it is the batch's own."""

from dataclasses import replace

import numpy as np
import pytest

from haulshed.shuttle.solution import Stage, Subject, solution
from haulshed.tables.answers import LimitedBy
from shuttle.made import Made, drawn, places, sites, tankers

LEG_MIN = 0.65 + 60 / 35


def opened(made: Made, stage: Stage, place: int = 0) -> object:
    return solution(made.tankers, made.sites, made.places, made.operation, place=place, stage=stage)


def test_a_dump_site_by_hand() -> None:
    # 2 × 1,800 / 3.3 = 1,090.9, limited by the dump positions: each is worth half of it.
    made = Made(tankers=tankers(9), sites=sites(2), places=places(9, 2))
    got = opened(made, Stage.DUMP_SITE)
    assert got.flow_gpm == pytest.approx(2 * 1800 / 3.3)
    assert got.unload_min == pytest.approx(3.3)
    assert got.fill_min == pytest.approx(4.0)
    assert got.legs_min == pytest.approx(2 * LEG_MIN)
    assert got.round_trip_min == pytest.approx(3.3 + 4 + 2 * LEG_MIN)
    assert got.trips_per_min.sum() == pytest.approx(2 / 3.3)
    (row,) = [row for row in got.rows if row.price_gpm > 1e-9]
    assert row.subject is Subject.DUMP_SITE
    assert row.group is LimitedBy.DUMP_SITE
    assert (row.limit, row.use) == (2, pytest.approx(2))
    assert row.price_gpm == pytest.approx(1800 / 3.3)
    assert got.owed_gpm[LimitedBy.DUMP_SITE] == pytest.approx(got.flow_gpm)


def test_nursing_by_hand() -> None:
    # Two tankers, 1,800 / Q = 10.7286 away, so Q = 167.8 and each pumps off half of the time.
    made = Made(tankers=tankers(2), sites=sites(1), places=places(2, 1))
    got = opened(made, Stage.NURSE)
    away_min = 4.0 + 2 * LEG_MIN + 2.0
    assert got.flow_gpm == pytest.approx(1800 / away_min)
    assert got.unload_min == pytest.approx(2.0 + away_min)
    assert got.share.sum(axis=1) == pytest.approx(1.0)
    priced = {(row.subject, row.index) for row in got.rows if row.price_gpm > 1e-9}
    assert priced == {(Subject.TANKER, 0), (Subject.TANKER, 1)}


def test_a_row_for_a_shared_main() -> None:
    made = Made(tankers=tankers(9), sites=sites(2), places=places(9, 2))
    got = opened(
        made.with_sites(source=np.array([41, 41]), flow_gpm=np.array([600.0, 250.0])),
        Stage.DUMP_SITE,
    )
    (row,) = [row for row in got.rows if row.subject is Subject.SOURCE]
    assert (row.index, row.limit) == (41, 600)
    assert row.use == pytest.approx(600)
    assert [row.limit for row in got.rows if row.subject is Subject.SITE] in (
        [600, 250],
        [250, 600],
    )


def test_what_takes_no_part_stands_there_with_nothing() -> None:
    made = Made(tankers=tankers(3), sites=sites(2), places=places(3, 2))
    made = made.with_places(counted=np.array([[True, False, True]])).with_sites(
        open=np.array([True, False])
    )
    got = opened(made, Stage.DUMP_SITE)
    assert np.isinf(got.unload_min).tolist() == [False, True, False]
    assert got.carried_gpm[1].tolist() == [0, 0]
    assert got.carried_gpm[:, 1].tolist() == [0, 0, 0]
    assert {row.index for row in got.rows if row.subject is Subject.TANKER} == {0, 2}
    assert {row.index for row in got.rows if row.subject is Subject.SITE} == {0}


@pytest.mark.parametrize("seed", range(25))
def test_every_sum_comes_out(seed: int) -> None:
    made = drawn(seed + 300, tankers=7, sites=6, places=3)
    flows = made.flows()
    for p, stage in ((p, stage) for p in range(3) for stage in Stage):
        got = opened(made, stage, p)
        column = flows.nurse_gpm if stage is Stage.NURSE else flows.dump_site_gpm
        assert got.flow_gpm == pytest.approx(column[p], rel=1e-9, abs=1e-9)
        assert got.carried_gpm.sum() == pytest.approx(got.flow_gpm)
        assert all(row.use <= row.limit * (1 + 1e-9) for row in got.rows)
        owed = sum(row.price_gpm * row.limit for row in got.rows)
        assert owed == pytest.approx(got.flow_gpm, rel=1e-5)
        assert sum(got.owed_gpm.values()) == pytest.approx(owed)
        # Use, limit and price are complementary: a limit with a price is met.
        for row in got.rows:
            if row.price_gpm * row.limit > 1e-3 * got.flow_gpm:
                assert row.use == pytest.approx(row.limit, rel=1e-4)
        load = made.tankers.usable_gal[:, None]
        working = got.carried_gpm > 0
        trips = np.where(working, got.share / np.where(working, got.round_trip_min, 1), 0)
        assert got.trips_per_min == pytest.approx(trips)
        assert got.carried_gpm == pytest.approx(trips * load)
        if flows.nursing[p] == (stage is Stage.NURSE):
            assert got.carried_gpm.sum(axis=0) == pytest.approx(flows.site_gpm[p])


def test_it_is_the_same_in_another_order() -> None:
    made = drawn(5, tankers=5, sites=4)
    made = replace(made, places=replace(made.places, engines=np.array([4])))
    tanker, site = np.array([3, 1, 0, 4, 2]), np.array([2, 0, 3, 1])
    got = opened(made, Stage.NURSE)
    moved = opened(made.shuffled(tanker, site), Stage.NURSE)
    assert moved.carried_gpm.tolist() == got.carried_gpm[np.ix_(tanker, site)].tolist()
    assert moved.round_trip_min.tolist() == got.round_trip_min[np.ix_(tanker, site)].tolist()
    place = {Subject.TANKER: tanker, Subject.POSITIONS: site, Subject.SITE: site}

    def told(rows: object, order: dict[Subject, np.ndarray]) -> set[tuple[object, ...]]:
        return {
            (
                row.subject,
                int(order[row.subject][row.index]) if row.subject in order else row.index,
                row.limit,
                row.price_gpm,
            )
            for row in rows
        }

    assert told(moved.rows, place) == told(got.rows, {})
