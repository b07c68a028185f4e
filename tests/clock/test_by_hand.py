"""Incidents short enough to be played with a pencil; the arithmetic stands beside each."""

import numpy as np
import pytest

from clock.played import LEG_MIN, lengths, made, rows_of
from haulshed.clock.story import Asked, Supply


def test_a_round_trip() -> None:
    story = made(tankers=1).played()
    first, second = rows_of(story.trips, 0)[:2]
    # There at 10, couples for 2 min, pumps 1,800 gal off at 500 gpm: 3.6 min.
    assert (first["called_min"], first["unloads_min"]) == (10.0, 12.0)
    assert first["empty_min"] == pytest.approx(15.6)
    # A mile empty, 2 min of handling, 2 min of taking, a mile loaded.
    assert second["at_site_min"] == pytest.approx(15.6 + LEG_MIN)
    assert second["takes_min"] == pytest.approx(15.6 + LEG_MIN + 2.0)
    assert second["full_min"] == pytest.approx(15.6 + LEG_MIN + 4.0)
    assert second["back_min"] == pytest.approx(15.6 + 2 * LEG_MIN + 4.0)


def test_one_tanker_leaves_a_gap_each_trip() -> None:
    story = made(tankers=1).played()
    # Water is asked for from 8; the first comes at 12. Then it is away 2 legs + 4 min, and couples.
    gap_min = 2 * LEG_MIN + 4.0 + 2.0
    starts = 12.0 + np.arange(9) * (gap_min + 3.6)
    assert lengths(story)[0] == pytest.approx((8.0, 4.0))
    for found, start in zip(lengths(story)[1:], starts, strict=False):
        assert found == pytest.approx((start + 3.6, gap_min))
    assert np.isnan(story.held_from_min)
    assert story.longest_gap_min == pytest.approx(gap_min)


def test_the_engines_own_tank_bridges_the_first_minutes() -> None:
    # 1,000 gal at 150 gpm last 6 min 40 s from the first water at minute 11. A tanker that comes at
    # 14 and couples for 2 min is there in time; one that comes at 17 is 1 min 20 s late.
    given = made(tankers=4).having("engines", tank_gal=1000.0).with_keys(attack_setup_min=3)
    given = given.with_keys(attack_min=20)
    came = given.having("scenes", tanker_min=[[14.0, 15.0, 16.0, 17.0]]).played()
    assert came.first_water_min == 11.0
    assert came.nurse_min == 16.0
    assert came.gaps == ()
    assert came.held_from_min == pytest.approx(31.0)
    late = given.having("scenes", tanker_min=[[17.0, 18.0, 19.0, 20.0]]).played()
    assert lengths(late)[0] == pytest.approx((11.0 + 1000 / 150, 19.0 - 11.0 - 1000 / 150))
    assert late.short_gal == pytest.approx(150 * (8.0 - 1000 / 150))


def test_the_next_tanker_couples_while_the_first_pumps_off() -> None:
    story = made(tankers=4).played()
    # From 12 on each pumps off 3.6 min; the away time, 10.73 min, is less than the 10.8 of three.
    began = np.sort(story.trips.unloads_min[~np.isnan(story.trips.unloads_min)])
    assert np.diff(began) == pytest.approx(3.6)
    assert lengths(story) == [pytest.approx((8.0, 4.0))]
    assert story.held_from_min == 12.0


def test_two_tankers_hold_what_the_formula_says() -> None:
    # Each is back and coupled as the other runs dry where 1,800 / Q = 2 legs + 4 + 2 min.
    held_gpm = 1800 / (2 * LEG_MIN + 6.0)
    assert held_gpm == pytest.approx(168, abs=0.5)  # the README's own example
    under = made().having("scenes", asked_gpm=held_gpm * 0.999).played()
    over = made().having("scenes", asked_gpm=held_gpm * 1.001).played()
    assert len(under.gaps) == 1  # until the first couples
    assert len(over.gaps) > 5
    assert over.longest_gap_min < 4.0 + 1e-9


def test_a_dump_site() -> None:
    given = made(tankers=3).having("scenes", builds=True)
    given = given.with_keys(dump_site_people=6, dump_site_build_min=10, next_tank_min=5)
    story = given.played()
    # People: 4 at 8, 8 at 9. First tank with the first engine, the drafting one at 9: ready at 19.
    # The tank of the second engine stands 5 min later.
    assert story.dump_site_min == 19.0
    room = story.levels.portable_room_gal
    stands = [story.levels.time_min[room >= gal].min() for gal in (3000, 6000)]
    assert stands == [19.0, 24.0]
    bands = [(band.supply, band.from_min, band.to_min) for band in story.supply]
    # The one that pumps off at 19 goes on until it is empty: it began at 15.6 and ends at 19.2.
    assert bands == [
        (Supply.OWN_TANK, 8.0, 12.0),
        (Supply.NURSE, 12.0, pytest.approx(19.2)),
        (Supply.DUMP_SITE, pytest.approx(19.2), 128.0),
    ]
    third = rows_of(story.trips, 2)[0]
    # Coupled since 17.6, it goes back to the queue, and is called to the first dump position at 19.
    assert (third["called_min"], third["unloads_min"]) == (19.0, 20.5)
    assert third["empty_min"] == pytest.approx(20.5 + 1.8)
    assert third["nursed"] == 0


def test_a_full_portable_tank_holds_the_tanker_back() -> None:
    given = made(tankers=2).having("engines", portable_gal=[1000.0, 0.0])
    given = given.having("scenes", builds=True, asked_gpm=200.0, tanker_min=[[10.0, 30.0]])
    story = given.played()
    # Ready at 9. From 11.5 on 1,000 gpm flow in and 200 out: 1,000 gal after 1.25 min, of which the
    # tanker gave 1,250; the 550 that are left come at 200 gpm: 2.75 min.
    first = rows_of(story.trips, 0)[0]
    assert first["unloads_min"] == 11.5
    assert first["empty_min"] == pytest.approx(11.5 + 1.25 + 2.75)


def test_the_dump_site_goes_out_and_nursing_goes_on() -> None:
    given = made(tankers=3).having("scenes", builds=True).with_keys(overhaul_min=30)
    story = given.played()
    over = [band.from_min for band in story.asked if band.asked is Asked.OVERHAUL]
    assert over == [128.0]
    last = story.supply[-1]
    assert last.supply is Supply.NURSE
    # What stands in the portable tanks is used first, at 100 gpm.
    at = np.flatnonzero(story.levels.time_min == 128.0)[-1]
    left_gal = story.levels.portable_gal[at]
    assert last.from_min >= 128.0 + left_gal / 100 - 1e-9
    assert story.levels.portable_gal[-1] == 0.0


def test_a_pumper_is_there_first() -> None:
    given = made(tankers=2).having("water", needs_pumper=True).with_keys(draft_setup_min=6)
    given = given.having("scenes", pumper_sites=0)
    # The second engine goes to the site, is there at 20 and gives water at 26.
    story = given.having("engines", site_min=20.0).played()
    second = rows_of(story.trips, 0)[1]
    assert second["at_site_min"] == pytest.approx(15.6 + LEG_MIN)
    assert second["position_min"] == 26.0
    # Nobody to send: the load that came along is all there is.
    alone = given.having("scenes", pumper_sites=-1).played()
    assert alone.ledger.taken_gal == 0.0
    assert alone.ledger.delivered_gal == pytest.approx(3600.0)


def test_a_queue_at_one_position() -> None:
    given = made(tankers=4).having("water", positions=1)
    story = given.played()
    # Handling and taking: 4 min each. Tankers leave every 3.6 min, so the second waits 0.4, the
    # third 0.8, the fourth 1.2.
    waits = [
        rows_of(story.trips, tanker)[1]["position_min"]
        - rows_of(story.trips, tanker)[1]["at_site_min"]
        for tanker in range(4)
    ]
    assert waits == pytest.approx([0.0, 0.4, 0.8, 1.2])


def test_a_source_gives_its_flow_to_one_at_a_time() -> None:
    # Two positions, but the main gives 1,000 gpm, of which one tanker draws 900.
    given = made(tankers=2).having("water", source_gpm=1000.0)
    given = given.having("scenes", tanker_min=10.0, pump_off_gpm=0.0, builds=True)
    story = given.played()
    one, other = rows_of(story.trips, 0)[1], rows_of(story.trips, 1)[1]
    assert one["takes_min"] == pytest.approx(10.0 + 1.5 + 1.8 + LEG_MIN + 2.0)
    assert other["position_min"] == one["position_min"]
    assert other["takes_min"] == pytest.approx(one["full_min"])


def test_what_is_left_of_a_main_goes_to_the_next() -> None:
    # Of 1,500 gpm one tanker draws 900, the next the 600 that are left: 3 min for 1,800 gal.
    given = made(tankers=2).having("water", source_gpm=1500.0)
    given = given.having("scenes", tanker_min=10.0, pump_off_gpm=0.0, builds=True)
    story = given.played()
    one, other = rows_of(story.trips, 0)[1], rows_of(story.trips, 1)[1]
    assert other["takes_min"] == one["takes_min"]
    assert one["full_min"] == pytest.approx(one["takes_min"] + 2.0)
    assert other["full_min"] == pytest.approx(other["takes_min"] + 3.0)


def test_a_pond_runs_out() -> None:
    given = made(tankers=2).having("water", stored_gal=5000.0, recharge_gpm=0.0)
    story = given.played()
    assert story.ledger.taken_gal == 3600.0  # two loads; a third is not in it
    assert story.levels.source_gal[-1] == [pytest.approx(1400.0)]
    assert np.isnan(story.held_from_min)


def test_a_pond_that_refills_is_waited_for() -> None:
    given = made(tankers=1).having("water", stored_gal=2000.0, recharge_gpm=50.0)
    story = given.played()
    trips = rows_of(story.trips, 0)
    # The first load leaves 200 gal; 1,600 more take 32 min.
    assert trips[2]["takes_min"] == pytest.approx(trips[1]["takes_min"] + 32.0)


def test_a_tanker_goes_to_the_site_that_has_it_back_first() -> None:
    # The second site is half a minute farther, so it is worth it once a position is waited for.
    given = made(tankers=3, sites=2).having("water", positions=1)
    given = given.having("scenes", loaded_min=[[[LEG_MIN, LEG_MIN + 0.5]]])
    story = given.played()
    went = [rows_of(story.trips, tanker)[1]["site"] for tanker in range(3)]
    # Empty at 15.6, 19.2 and 22.8. The second would wait 0.4 at the first site, the third 0.8.
    assert went == [0, 0, 1]


def test_a_breakdown() -> None:
    given = made(tankers=2).having("tankers", down_min=[13.0, np.inf])
    story = given.played()
    # It has pumped off for a minute: 500 gal are on the fire, 1,300 in a tanker at the road side.
    assert story.ledger.lost_gal == pytest.approx(1300.0)
    assert rows_of(story.trips, 1)[0]["unloads_min"] == 13.0


def test_a_site_that_closes_sends_tankers_back_empty() -> None:
    given = made(tankers=1, sites=2).having("water", closes_min=[17.0, np.inf])
    given = given.having("scenes", loaded_min=[[[LEG_MIN, 9.0]]], empty_min=[[[LEG_MIN, 9.0]]])
    story = given.played()
    second, third = rows_of(story.trips, 0)[1:3]
    # On its way at 17, it turns round at 15.6 + leg and starts again from the incident.
    assert (second["site"], third["site"]) == (0, 1)
    assert np.isnan(second["position_min"])
    assert third["leaves_min"] == pytest.approx(15.6 + 2 * LEG_MIN)


def test_a_slow_tanker_is_passed_over() -> None:
    given = made(tankers=4).having("scenes", pump_off_gpm=[[250.0, 500.0, 500.0, 500.0]])
    # There first, the slow one is called, since nobody else is, and pumps off until 19.2; the three
    # that give 500 go on until 30.0. It is back at 27.9, but is called only as the line runs dry.
    story = given.played()
    nursed = rows_of(story.trips, 0)
    assert nursed[0]["unloads_min"] == 12.0
    assert nursed[1]["back_min"] == pytest.approx(19.2 + 2 * LEG_MIN + 4.0)
    assert nursed[1]["called_min"] == pytest.approx(30.0)


def test_nobody_comes() -> None:
    story = made().having("scenes", engine_min=np.inf).played()
    assert np.isnan(story.first_water_min)
    assert story.levels.time_min.size == 0
    assert story.delivered_120_gal == 0.0


def test_tankers_that_would_wait_go_by_the_plan() -> None:
    # The second site is an hour farther: nobody is back sooner by it. But of 1,800-gal loads that
    # would wait at the first one, the plan sends every fourth there.
    given = made(tankers=8, sites=2).having("water", positions=1, handling_min=4.0)
    given = given.having("scenes", loaded_min=[[[LEG_MIN, 62.0]]], plan_gpm=[[300.0, 100.0]])
    trips = given.played().trips
    assert set(trips.site[trips.number > 0].tolist()) == {0, 1}
    waited = (trips.position_min > trips.at_site_min + 1e-9)[trips.site == 0]
    assert waited.any()
    plain = given.having("scenes", plan_gpm=0.0).played().trips
    assert set(plain.site[plain.number > 0].tolist()) == {0}
