"""What the fleet could spare: the largest tanker out, the fewest that do, those relied on."""

import numpy as np
import pytest

from shuttle.made import Made, drawn, places, sites, tankers

TRIP_MIN = 3.3 + 4.0 + 2 * (0.65 + 60 / 35)  # 2,000-gal tankers at a mile, as worked out by hand


def fleet(*, tank_gal: list[float], arrival_min: list[float], **there: object) -> Made:
    tank = np.array(tank_gal)
    count = tank.size
    return Made(
        tankers=tankers(count, tank_gal=tank, usable_gal=0.9 * tank),
        sites=sites(2),
        places=places(count, 2, arrival_min=np.array([arrival_min]), **there),
    )


def only(case: Made, taking: np.ndarray) -> Made:
    return case.with_places(counted=case.places.counted & taking)


def test_the_largest_tank_is_the_one_missed() -> None:
    case = fleet(tank_gal=[1000, 3000, 2000], arrival_min=[9, 10, 11], engines=2)
    left = only(case, np.array([True, False, True]))
    assert case.flows().minus_one_gpm[0] == pytest.approx(left.flows().sustained_gpm[0])


def test_of_equal_tanks_the_last_to_arrive_is_missed() -> None:
    case = fleet(tank_gal=[3000, 3000, 2000], arrival_min=[12, 10, 11])
    # So that it shows which one is out: the first one fills slowly.
    case = case.with_tankers(fill_gpm=np.array([300.0, 1000.0, 1000.0]))
    left = only(case, np.array([False, True, True]))
    assert case.flows().minus_one_gpm[0] == pytest.approx(left.flows().sustained_gpm[0])


def test_the_only_tanker_out_leaves_nothing() -> None:
    assert fleet(tank_gal=[2000], arrival_min=[9]).flows().minus_one_gpm[0] == 0


@pytest.mark.parametrize(
    ("needed_gpm", "fewest"),
    [
        (0.0, 0),
        (149.0, 1),  # one carries 1,800 / 12.0286 = 149.6 to a dump site
        (151.0, 2),
        (4 * 1800 / TRIP_MIN, 4),
        (4 * 1800 / TRIP_MIN + 0.01, 5),
        (749.0, -1),  # five carry 748.2
        (np.nan, -1),
    ],
)
def test_the_fewest_that_hold_the_need(needed_gpm: float, fewest: int) -> None:
    case = fleet(tank_gal=[2000] * 5, arrival_min=[9, 10, 11, 12, 13], needed_gpm=needed_gpm)
    assert case.flows().tankers_needed[0] == fewest


def test_they_come_as_they_arrive_and_together_the_larger_first() -> None:
    # 1,000 gal: 900 / (1.5 + 0.9 + 2 + 1 + 4.7286) = 88.9; 3,000 gal: 2,700 / 13.9286 = 181.5 —
    # by hand: 1.5 + 2.7 dump, 2 + 3 fill, 4.7286 drive.
    case = fleet(tank_gal=[1000, 3000], arrival_min=[10, 10], needed_gpm=150.0)
    assert case.flows().tankers_needed[0] == 1
    case = fleet(tank_gal=[1000, 3000], arrival_min=[9, 10], needed_gpm=150.0)
    assert case.flows().tankers_needed[0] == 2


def test_a_flow_relies_on_no_more_than_it_takes() -> None:
    # Four nurse at the limit; a fifth and a sixth add nothing.
    case = fleet(
        tank_gal=[2000] * 6, arrival_min=[14, 13, 12, 11, 10, 9], engines=1, dump_positions=0
    )
    assert case.flows().relies_on[0].tolist() == [False, False, True, True, True, True]
    # A dump site that the tankers limit relies on all that count.
    case = fleet(tank_gal=[2000] * 5, arrival_min=[9, 10, 11, 12, 13])
    case = only(case, np.array([True, True, True, True, False]))
    assert case.flows().relies_on[0].tolist() == [True, True, True, True, False]


@pytest.mark.parametrize("seed", range(12))
def test_all_three_by_trying_every_number(seed: int) -> None:
    case = drawn(seed + 70, tankers=6, sites=5, places=4, like=0.7)
    apart_min = case.places.arrival_min + np.arange(6) / 10  # so that no two arrive together
    case = case.with_places(arrival_min=apart_min)
    got, there = case.flows(), case.places
    for p in range(4):
        order = sorted(
            np.flatnonzero(there.counted[p]),
            key=lambda i: there.arrival_min[p, i],
        )
        held, own = [], []
        for k in range(len(order) + 1):
            first = np.isin(np.arange(6), order[:k])
            flows = only(case, first).flows()
            held.append(flows.sustained_gpm[p])
            own.append((flows.nurse_gpm if got.nursing[p] else flows.dump_site_gpm)[p])
        need = there.needed_gpm[p]
        enough = [k for k, flow in enumerate(held) if flow >= need * (1 - 1e-9)]
        assert got.tankers_needed[p] == (enough[0] if enough else -1)
        same = [k for k, flow in enumerate(own) if flow >= own[-1] * (1 - 1e-9)]
        if own[-1] > 0:
            assert got.relies_on[p].sum() == same[0]
        out = max(order, key=lambda i: (case.tankers.tank_gal[i], there.arrival_min[p, i]))
        left = only(case, np.arange(6) != out).flows()
        assert got.minus_one_gpm[p] == pytest.approx(left.sustained_gpm[p], rel=1e-9, abs=1e-9)
