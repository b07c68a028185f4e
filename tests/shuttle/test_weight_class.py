"""Tankers of another weight class drive other legs, or none at all."""

import numpy as np
import pytest

from haulshed.shuttle.solution import Stage, solution
from shuttle.made import INF, Made, drawn, places, sites, tankers

LEG_MIN = 0.65 + 60 / 35
#: Fill 2 + 2 min, dump 1.5 + 1.8 min, as the made tankers and sites have it.
AT_ENDS_MIN = 4.0 + 3.3


def two_light_two_heavy(heavy_min: float, **there: object) -> Made:
    """Return two tankers on the short legs and two that drive `heavy_min` each way."""
    leg_min = np.array([[[LEG_MIN], [heavy_min]]])
    there = {"loaded_min": leg_min, "empty_min": leg_min, "dump_positions": 9, **there}
    fleet = tankers(4, weight_class=[0, 0, 1, 1])
    site = sites(1, fill_positions=9, flow_gpm=1e5)
    return Made(tankers=fleet, sites=site, places=places(4, 1, classes=2, **there))


def test_each_tanker_drives_its_own_legs() -> None:
    # Long hose, no cap: the sum of what each carries alone.
    made = two_light_two_heavy(12.0, line_gpm=1e6)
    light, heavy = (1800 / (AT_ENDS_MIN + 2 * leg) for leg in (LEG_MIN, 12.0))
    got = made.flows()
    assert got.dump_site_gpm[0] == pytest.approx(2 * light + 2 * heavy)
    assert got.leg_class[0, 0] == 0
    trip_min = AT_ENDS_MIN + np.array([LEG_MIN, 12.0]) @ [1, 1]
    assert got.round_trip_min[0] == pytest.approx(trip_min)
    opened = solution(
        made.tankers, made.sites, made.places, made.operation, place=0, stage=Stage.DUMP_SITE
    )
    assert opened.legs_min[:, 0] == pytest.approx([2 * LEG_MIN] * 2 + [24.0] * 2)
    assert opened.carried_gpm[:, 0] == pytest.approx([light, light, heavy, heavy])


def test_what_cannot_cross_carries_nothing() -> None:
    made = two_light_two_heavy(INF)
    only = made.with_places(counted=np.array([[True, True, False, False]])).flows()
    got = made.flows()
    assert got.dump_site_gpm == pytest.approx(only.dump_site_gpm)
    assert got.nurse_gpm == pytest.approx(only.nurse_gpm)
    assert got.nurse_gpm[0] == pytest.approx(1800 / (4.0 + 2 * LEG_MIN + 2.0))  # two of them


def test_only_one_that_can_cross_is_one_tanker() -> None:
    made = two_light_two_heavy(INF, line_gpm=0.0)
    alone = made.with_places(counted=np.array([[True, False, True, True]]))
    assert alone.flows().nurse_gpm[0] == 0
    assert alone.word() == "one tanker"


def test_none_that_can_cross_is_no_road() -> None:
    made = two_light_two_heavy(INF)
    heavy = made.with_places(counted=np.array([[False, False, True, True]]))
    assert heavy.flows().sustained_gpm[0] == 0
    assert heavy.word() == "no road"


def test_the_class_that_carries_most_is_named_by_site() -> None:
    # The light tankers alone reach site 0, the heavy ones alone site 1.
    leg_min = np.array([[[LEG_MIN, INF], [INF, LEG_MIN]]])
    there = places(4, 2, classes=2, loaded_min=leg_min, empty_min=leg_min, line_gpm=1e6)
    made = Made(tankers=tankers(4, weight_class=[0, 0, 1, 1]), sites=sites(2), places=there)
    got = made.flows()
    assert (got.site_gpm[0] > 0).all()
    assert got.leg_class[0].tolist() == [0, 1]


def test_classes_of_the_drawn_districts_matter() -> None:
    # The comparisons with HiGHS mean little if the classes changed no flow there.
    lower = 0
    for seed in range(40):
        made = drawn(seed, tankers=6, sites=6, classes=3)
        light = made.with_tankers(weight_class=np.zeros(6, np.int64))
        lower += made.flows().sustained_gpm[0] < 0.99 * light.flows().sustained_gpm[0]
    assert lower > 10


def test_classes_of_one_leg_are_one_class() -> None:
    for seed in range(20):
        made = drawn(seed, tankers=6, sites=6, places=2)
        twice = {
            name: np.repeat(getattr(made.places, name), 2, axis=1)
            for name in ("loaded_min", "empty_min")
        }
        split = made.with_places(**twice).with_tankers(weight_class=np.arange(6) % 2)
        one, two = made.flows(), split.flows()
        assert two.sustained_gpm == pytest.approx(one.sustained_gpm, rel=1e-9)
        assert two.minus_one_gpm == pytest.approx(one.minus_one_gpm, rel=1e-9)
