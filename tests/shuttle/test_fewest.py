"""The fewest tankers and the largest one out, by HiGHS for every number of tankers."""

from collections import Counter

import numpy as np
import pytest

from shuttle import reference
from shuttle.made import Made, drawn, places, sites, tankers


def some(seed: int) -> tuple[Made, list[int]]:
    """Return a small district, and its tankers at place 0 in the order of arrival."""
    made = drawn(seed, tankers=5, sites=4, like=0.7, classes=1 + seed % 2)
    if seed % 3 == 0:
        made = made.with_operation(nurse_buffer_gal=400.0)
    if seed % 2 == 0:  # tanks that tankers bring, at a dump site that has one or none
        made = made.with_places(
            engines=np.array([2 + seed % 3]),
            dump_positions=np.array([3]),
            other_tanks=np.array([seed % 4 // 2]),
            line_gpm=np.array([700.0]),
        ).with_tankers(portable_tank=np.arange(5) % 2 == seed // 2 % 2)
    made = made.with_places(arrival_min=made.places.arrival_min + np.arange(5) / 10)
    there = np.flatnonzero(made.places.counted[0])
    return made, sorted(there, key=lambda i: made.places.arrival_min[0, i])


def only(made: Made, taking: list[int]) -> Made:
    return made.with_places(counted=np.isin(np.arange(5), taking)[None])


def by_highs(made: Made) -> tuple[float, float]:
    """Return what nursing and a dump site hold."""
    return reference.nurse_gpm(made, 0), reference.dump_site_gpm(made, 0)


@pytest.mark.parametrize("start", range(0, 20, 10))
def test_every_number_by_highs(start: int) -> None:
    found: Counter[str] = Counter()
    for seed in range(start, start + 10):
        made, order = some(seed)
        held = [by_highs(only(made, order[:k])) for k in range(len(order) + 1)]
        got, need = made.flows(), made.places.needed_gpm[0]
        enough = [k for k, flows in enumerate(held) if max(flows) >= need * (1 - 1e-7)]
        assert got.tankers_needed[0] == (enough[0] if enough else -1), seed
        nurse, dump = held[-1]
        if max(nurse, dump) == 0:
            continue
        nursing = nurse >= dump * (1 - 1e-7)
        own = [flows[0] if nursing else flows[1] for flows in held]
        fewest = next(k for k, flow in enumerate(own) if flow >= own[-1] * (1 - 1e-7))
        assert np.flatnonzero(got.relies_on[0]).tolist() == sorted(order[:fewest]), seed
        out = max(order, key=lambda i: (made.tankers.tank_gal[i], order.index(i)))
        left = max(by_highs(only(made, [i for i in order if i != out])))
        assert got.minus_one_gpm[0] == pytest.approx(left, rel=1e-6, abs=1e-6), seed
        found[f"{'nursing' if nursing else 'dump site'}, {out in order[:fewest]}"] += 1
    assert len(found) > 1


@pytest.mark.parametrize(
    ("tanks", "needed_gpm", "fewest"),
    [(2, 600, 3), (1, 540, 3), (1, 600, 5), (1, 900, 5), (0, 540, 5)],
)
def test_a_tank_that_a_tanker_brings_is_waited_for(
    tanks: int, needed_gpm: float, fewest: int
) -> None:
    # A position takes 1,800 gal in 3.3 min, 545 gpm; a tanker carries 1,800 in 3.3 + 4 + 0.2 min,
    # 240 gpm. The fifth of six brings a tank, which is a position more.
    made = Made(
        tankers=tankers(6, portable_tank=np.arange(6) == 4),
        sites=sites(2, fill_positions=9, flow_gpm=1e4),
        places=places(
            6, 2, other_tanks=tanks, needed_gpm=needed_gpm, loaded_min=0.1, empty_min=0.1
        ),
    )
    assert made.flows().tankers_needed[0] == fewest


def test_few_numbers_are_tried() -> None:
    # Halving takes 8.7 programmes a place in all.
    made = drawn(5, tankers=16, sites=12, places=300, like=0.0)
    made = made.with_places(
        counted=np.ones((300, 16), np.bool_),
        engines=np.full(300, 9),
        dump_positions=np.full(300, 3),
        other_tanks=np.full(300, 3),
    )
    got = made.flows()
    assert got.programmes / 300 < 7
