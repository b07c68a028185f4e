"""
The shuttle worked on paper.

Formula of one round trip: NFPA 1142 Annex C (value from memory). The figures: legs of one mile at
35 mph, 2,000-gal tankers that deliver 1,800, hydrants of 1,000 gpm.

    leg         0.65 + 60 / 35         = 2.3643 min
    fill        2.0 + 2,000 / 1,000    = 4.0 min
    dump        1.5 + 1,800 / 1,000    = 3.3 min
    round trip  3.3 + 4.0 + 2 × 2.3643 = 12.0286 min
    nursing, away from the line: 4.0 + 2 × 2.3643 + 2.0 (couple and leave) = 10.7286 min
"""

import numpy as np
import pytest

from haulshed.shuttle.flow import flows, stage_flows
from haulshed.shuttle.limits import NURSE_LINE, PUMP, SUPPLY_LINE
from shuttle.made import INF, Made, places, sites, tankers

LEG_MIN = 0.65 + 60 / 35
AWAY_MIN = 4.0 + 2 * LEG_MIN + 2.0
TRIP_MIN = 3.3 + 4.0 + 2 * LEG_MIN


def made(count: int, hydrants: int = 1, *, positions: int = 2, **there: object) -> Made:
    return Made(
        tankers=tankers(count),
        sites=sites(hydrants, fill_positions=positions),
        places=places(count, hydrants, **there),
    )


@pytest.mark.parametrize(
    ("count", "positions", "held_gpm", "word"),
    [
        # Alone, a tanker drains in 1,800 / Q and is then away: a gap at any flow.
        (1, 2, 0.0, "one tanker"),
        # Each is back as the other runs dry: 1,800 / Q = 10.7286.
        (2, 2, 1800 / AWAY_MIN, "tankers"),  # 167.8
        (3, 2, 2 * 1800 / AWAY_MIN, "tankers"),  # 335.6
        # 3 × 1,800 / Q = 10.7286 would be 503.3: one stream carries 500.
        (4, 2, 500.0, "nurse line"),
        (5, 2, 500.0, "nurse line"),
        # One position fills a tanker in 4 min: 1,800 / 4.
        (5, 1, 450.0, "fill positions"),
    ],
)
def test_nursing(count: int, positions: int, held_gpm: float, word: str) -> None:
    case = made(count, positions=positions, engines=1, dump_positions=0)
    got = case.flows()
    assert got.nurse_gpm[0] == pytest.approx(held_gpm, rel=1e-9)
    assert got.dump_site_gpm[0] == 0
    assert case.word() == word


@pytest.mark.parametrize(
    ("count", "positions", "held_gpm", "word"),
    [
        # Two tankers unload at once: 2 × 1,800 / 3.3, where nine would carry 9 × 1,800 / 12.0286 =
        # 1,346.8 and the four positions 4 × 1,800 / 4.0 = 1,800.
        (9, 2, 2 * 1800 / 3.3, "dump site"),  # 1,090.9
        (9, 1, 2 * 1800 / 4.0, "fill positions"),  # 900
        (5, 2, 5 * 1800 / TRIP_MIN, "tankers"),  # 748.2
    ],
)
def test_a_dump_site(count: int, positions: int, held_gpm: float, word: str) -> None:
    case = made(count, 2, positions=positions)
    got = case.flows()
    assert got.dump_site_gpm[0] == pytest.approx(held_gpm, rel=1e-12)
    assert got.sustained_gpm[0] == got.dump_site_gpm[0]
    assert case.word() == word
    assert got.site_gpm[0].sum() == pytest.approx(held_gpm)
    assert got.round_trip_min[0] == pytest.approx(TRIP_MIN)
    assert got.legs_min[0] == pytest.approx(2 * LEG_MIN)


def test_a_tanker_without_a_dump_valve_is_not_lost() -> None:
    # It unloads at its pump-off rate: 1.5 + 1,800 / 500 = 5.1 min, 13.8286 a trip.
    case = made(2, line_gpm=INF).with_tankers(dump_gpm=np.array([np.nan, 1000.0]))
    held = 1800 / (TRIP_MIN + 1.8) + 1800 / TRIP_MIN
    assert case.flows().dump_site_gpm[0] == pytest.approx(held)
    # With no pump either, it carries nothing.
    case = case.with_tankers(release_gpm=np.array([0.0, 500.0]))
    assert case.flows().dump_site_gpm[0] == pytest.approx(1800 / TRIP_MIN)


def test_the_legs_are_the_limit_where_they_are_most_of_the_trip() -> None:
    # Legs of 3.65 min each way are just under half of 7.3 + 7.3, of 3.66 just over.
    for leg_min, word in ((3.64, "tankers"), (3.66, "distance")):
        assert made(2, loaded_min=leg_min, empty_min=leg_min).word() == word


@pytest.mark.parametrize(
    ("limits_gpm", "word"), [((748.0, SUPPLY_LINE), "supply line"), ((748.0, PUMP), "pump")]
)
def test_the_lay_is_the_limit(limits_gpm: tuple[float, int], word: str) -> None:
    case = made(5, 2, line_gpm=limits_gpm[0], line_bound=limits_gpm[1])
    assert case.flows().dump_site_gpm[0] == 748
    assert case.word() == word


def test_ties_go_to_the_earlier_group() -> None:
    # Five tankers carry 5 × 1,800 / 12.0286 = 748.2 exactly what the line does: "tankers".
    case = made(5, 2, line_gpm=5 * 1800 / TRIP_MIN)
    assert case.word() == "tankers"
    # A main that gives as much as its two positions fill, 2 × 1,800 / 4: "fill positions".
    case = made(12, positions=2, dump_positions=9).with_sites(flow_gpm=np.array([900.0]))
    fill_min = 2 + 2000 / 900
    case = case.with_sites(usable_gal=np.array([120 * 2 * 1800 / fill_min]))
    assert case.flows().dump_site_gpm[0] == pytest.approx(2 * 1800 / fill_min)
    assert case.word() == "fill positions"


def test_a_slow_pump_off_sits_out() -> None:
    # Two tankers pump off at 150 gpm, two at 500. All four would hold 3 × 1,800 / 10.7286 = 503,
    # but the slow ones only up to 150; the fast two hold 167.8 without them.
    slow = np.array([[150.0, 150.0, 500.0, 500.0]])
    case = made(4, engines=1, dump_positions=0, pump_off_gpm=slow)
    assert case.flows().nurse_gpm[0] == pytest.approx(1800 / AWAY_MIN)
    # With one fast tanker, which alone leaves gaps, the slow ones' 150 is the end: a drop.
    slow = np.array([[150.0, 150.0, 150.0, 500.0]])
    bound = np.array([[SUPPLY_LINE, SUPPLY_LINE, SUPPLY_LINE, NURSE_LINE]])
    case = made(4, engines=1, dump_positions=0, pump_off_gpm=slow, pump_off_bound=bound)
    assert case.flows().nurse_gpm[0] == 150
    assert case.word() == "supply line"


def test_a_buffer_at_the_inlet_lets_one_tanker_hold_a_little() -> None:
    # 200 gal bridge the gap: 1,600 / Q pumping off, 10.7286 away, one load each: Q = 200 / 10.7286.
    case = made(1, engines=1, dump_positions=0).with_operation(nurse_buffer_gal=200.0)
    assert case.flows().nurse_gpm[0] == pytest.approx(200 / AWAY_MIN)


def test_a_lake_farther_off_beats_a_weak_hydrant() -> None:
    # Firehouse article, p. 3 (secondary copy): 750 gpm needed, a 250-gpm hydrant at one mile, a
    # lake at two; the lake is better.
    leg_min = 0.65 + 60 / 35 * np.array([[1.0, 2.0]])
    both = made(8, 2, loaded_min=leg_min, empty_min=leg_min, needed_gpm=750.0).with_sites(
        flow_gpm=np.array([250.0, 1000.0])
    )
    weak, lake = (both.with_sites(open=np.array(only)) for only in ([True, False], [False, True]))
    assert weak.flows().sustained_gpm[0] == pytest.approx(250)
    assert lake.flows().tankers_needed[0] > 0
    assert weak.flows().tankers_needed[0] == -1
    weak_gpm, lake_gpm = both.flows().site_gpm[0]
    assert lake_gpm > weak_gpm


def test_one_pond_from_two_banks_is_one_pond() -> None:
    # 30,000 gal over 120 min is 250 gpm, with 50 gpm flowing in 300, from one bank or two.
    pond = {"usable_gal": np.array([30_000.0, 20_000.0]), "recharge_gpm": np.array([50.0, 0.0])}
    shared = made(9, 2).with_sites(source=np.array([7, 7]), **pond)
    apart = made(9, 2).with_sites(source=np.array([7, 8]), **pond)
    assert shared.flows().sustained_gpm[0] == pytest.approx(300)
    assert apart.flows().sustained_gpm[0] == pytest.approx(300 + 20_000 / 120)
    assert shared.word() == "source"
    assert shared.flows().volume_binds.tolist() == [True]
    # Over half an hour the pond gives 1,050 gpm: now its flow of 1,000 binds, not its volume.
    brief = shared.with_places(duration_min=np.array([30.0]))
    assert brief.flows().sustained_gpm[0] == pytest.approx(1000)
    assert brief.flows().volume_binds.tolist() == [False]


def test_sites_on_one_main_share_its_flow_and_keep_their_own() -> None:
    # The main gives 600 at its best hydrant; the other one alone gives 250.
    case = made(9, 2).with_sites(source=np.array([3, 3]), flow_gpm=np.array([600.0, 250.0]))
    assert case.flows().sustained_gpm[0] == pytest.approx(600)
    closed = case.with_sites(open=np.array([False, True]))
    assert closed.flows().sustained_gpm[0] == pytest.approx(250)
    assert not closed.flows().volume_binds[0]


@pytest.mark.parametrize(
    ("engines", "nurse_gpm", "dump_gpm", "word"),
    [
        (1, 0.0, 0.0, "engines"),
        (2, 450.0, 0.0, "engines"),  # to 500, by a ninth
        (3, 500.0, 450.0, "engines"),
        (4, 500.0, 900.0, "engines"),
        (5, 500.0, 1350.0, "fill positions"),
    ],
)
def test_an_engine_for_every_drafting_site(
    engines: int, nurse_gpm: float, dump_gpm: float, word: str
) -> None:
    # Three ponds with one position each: 1,800 / 4 = 450 gpm. One engine attacks, and with a dump
    # site one drafts there; the others draft at ponds.
    case = made(12, 3, positions=1, dump_positions=9, engines=engines)
    case = case.with_sites(needs_pumper=np.ones(3, np.bool_))
    got = case.flows()
    assert got.nurse_gpm[0] == pytest.approx(nurse_gpm)
    assert got.dump_site_gpm[0] == pytest.approx(dump_gpm)
    assert case.word() == word


def test_one_engine_more_opens_the_dump_site() -> None:
    # One engine: nursing at 500. Two: nine tankers and two portable tanks carry 1,091.
    case = made(9, 2, engines=1)
    assert case.flows().sustained_gpm[0] == 500
    assert case.word() == "engines"
    # Not where no portable tank came.
    assert made(9, 2, engines=1, dump_positions=0).word() == "nurse line"
    # And not for less than a tenth: a line that carries 549, against one that carries 551.
    assert made(9, 2, engines=1, line_gpm=549.0).word() == "nurse line"
    assert made(9, 2, engines=1, line_gpm=551.0).word() == "engines"


def test_progress_is_told() -> None:
    told: list[tuple[int, int]] = []
    case = Made(tankers=tankers(2), sites=sites(1), places=places(2, 1, 3))

    flows(
        case.tankers,
        case.sites,
        case.places,
        case.operation,
        progress=lambda done, of: told.append((done, of)),
    )
    assert told == [(3, 3)]
    alone = stage_flows(case.tankers, case.sites, case.places, case.operation)
    assert alone.nurse_gpm == pytest.approx(case.flows().nurse_gpm, rel=1e-12)
    assert alone.sustained_gpm.tolist() == case.flows().sustained_gpm.tolist()


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"fill_gpm": np.array([0.0, 1.0])}, "every fill_gpm must be above 0"),
        ({"usable_gal": np.array([np.nan, 1.0])}, "every usable_gal must be above 0"),
        ({"release_gpm": np.array([-1.0, 1.0])}, "no release_gpm may be below 0"),
        ({"dump_gpm": np.ones(3)}, r"dump_gpm has shape \(3,\), not \(2,\)"),
    ],
)
def test_a_programmers_slip_is_named(change: dict[str, np.ndarray], rule: str) -> None:
    with pytest.raises(ValueError, match=rule):
        made(2).with_tankers(**change)
