"""The clock's columns on a straight road: by hand, with failures, and by chance."""

import numpy as np
import pandas as pd
import pytest

from by_hand import Row, engine, hydrant, inputs, parcel, station, tanker
from haulshed.assess.clock_told import clock_told
from haulshed.assess.clocked import clocked, told
from haulshed.assess.model import assess, work_out
from haulshed.case import Inputs, Result
from haulshed.scenario import ChanceRules, Scenario

#: A tenth of a mile at 35 mph, turnout 5.
THERE_MIN = 5 + 0.1 * 60 / 35 + 0.65
#: Nothing varies, everybody comes.
SURE = {"draws": 20} | dict.fromkeys(
    ("incident_drive_cv", "drive_cv", "turnout_cv", "handling_cv", "fill_cv"), 0.0
)
CREW = [engine(1), engine(2), *(tanker(i) for i in range(4))]
SITES = [hydrant("H1", 1.0)]


def quiet(_step: str, _done: int = 0, _of: int = 0) -> None:
    """Report nothing."""


def case(sites: list[Row], apparatus: list[Row], **scenario: dict[str, object]) -> Inputs:
    keys = {"demand": {"method": "fixed", "fixed_gpm": 300}} | scenario
    return inputs(
        sites=sites,
        stations=[station()],
        apparatus=apparatus,
        parcels=[parcel()],
        scenario=Scenario.model_validate(keys),
    )


def result(sites: list[Row], apparatus: list[Row], **scenario: dict[str, object]) -> Result:
    return assess(case(sites, apparatus, **scenario), progress=quiet)


def answer(sites: list[Row], apparatus: list[Row], **scenario: dict[str, object]) -> pd.Series:
    return result(sites, apparatus, **scenario).parcels.iloc[0]


def test_the_first_water_and_the_flow_held() -> None:
    got = answer(SITES, CREW)
    # The engine's crew takes 3 min; the needed flow is asked for 10 min later, and four tankers are
    # there by then.
    assert got["first_water_min"] == pytest.approx(THERE_MIN + 3)
    assert got["held_from_min"] == pytest.approx(THERE_MIN + 13)
    assert got["longest_gap_min"] == 0.0
    assert got["short_gal"] == pytest.approx(0.0, abs=1e-6)
    # 150 gpm for 10 min, then 300 gpm to minute 120.
    assert got["delivered_120_gal"] == pytest.approx(1500 + 300 * (120 - THERE_MIN - 13))
    assert 0 < got["clock_gpm"] <= got["sustained_gpm"] + 1e-6


def test_one_tanker_leaves_gaps() -> None:
    got = answer(SITES, [engine(1), tanker(1)])
    assert np.isnan(got["held_from_min"])
    assert got["longest_gap_min"] > 3.0
    assert got["short_gal"] > 0.0
    assert got["sustained_gpm"] == got["clock_gpm"] == 0.0


def test_nobody_comes_and_nothing_is_needed() -> None:
    alone = answer(SITES, [tanker(1)])
    names = ["first_water_min", "held_from_min", "longest_gap_min", "short_gal"]
    assert alone[[*names, "delivered_120_gal"]].isna().all()
    built = case(SITES, CREW)
    empty = built.parcels.assign(structures=0)
    nothing = assess(
        Inputs(**{**{f: getattr(built, f) for f in built.__slots__}, "parcels": empty}),
        progress=quiet,
    ).parcels.iloc[0]
    assert nothing[["held_from_min", "short_gal", "held_share"]].isna().all()
    assert nothing["first_water_min"] == pytest.approx(THERE_MIN + 3)
    assert nothing["clock_gpm"] > 0


def test_without_chance_nine_in_ten_is_the_plan() -> None:
    got = answer(SITES, CREW, chance=SURE)
    assert got["held_90_gpm"] == got["clock_gpm"]
    assert got["held_share"] == 1.0
    off = answer(SITES, CREW, chance={"draws": 0})
    assert off[["held_90_gpm", "held_share"]].isna().all()


def test_who_stays_away_is_missing() -> None:
    # One engine that comes to 70 calls in 100: without it there is no water at all.
    crew = [engine(1, staffed_share=0.7), *(tanker(i) for i in range(4))]
    got = answer(SITES, crew, chance=SURE | {"draws": 400})
    assert got["held_share"] == pytest.approx(0.7, abs=3 * np.sqrt(0.7 * 0.3 / 400))
    assert got["held_90_gpm"] == 0.0


def test_the_same_seed_draws_the_same_whoever_else_is_there() -> None:
    one = answer(SITES, CREW)
    again = answer(SITES, CREW)
    assert one.drop("geometry").equals(again.drop("geometry"))
    # A tanker that is not called changes nothing of what the others draw.
    more = answer(SITES, [*CREW, tanker(9, alarm=9)])
    assert more["held_90_gpm"] == one["held_90_gpm"]
    other = answer(SITES, CREW, chance={"seed": 2})
    assert other["held_90_gpm"] != one["held_90_gpm"]


def test_a_dump_valve_that_fails_slows_and_does_not_stop() -> None:
    built = {"operation": {"nurse_limit_gpm": 100}}
    crew = [*CREW[:2], *(tanker(i, portable_tank_gal=2500.0) for i in range(4))]
    whole = answer(SITES, crew, **built)
    stuck = answer(SITES, crew, failures={"dump_valve_fails": ["T1"]}, **built)
    assert 0 < stuck["dump_site_gpm"] < whole["dump_site_gpm"]
    assert 0 < stuck["clock_gpm"] < whole["clock_gpm"]


def test_a_site_closed_from_dispatch_is_no_site() -> None:
    got = answer(SITES, CREW, failures={"site_closes_min": {"H1": 0}})
    assert got["sustained_gpm"] == 0.0
    assert got["limited_by"] == "no water"


def test_what_fails_later_is_the_clocks_alone() -> None:
    whole = answer(SITES, CREW, chance={"draws": 0})
    down = {"breaks_down_min": {"T1": 60, "T2": 60}}
    later = answer(SITES, CREW, failures=down, chance={"draws": 0})
    assert later["sustained_gpm"] == whole["sustained_gpm"]
    assert later["clock_gpm"] < whole["clock_gpm"]
    closing = {"site_closes_min": {"H1": 60}, **down}
    both = answer(SITES, CREW, failures=closing, chance={"draws": 0})
    assert both["delivered_120_gal"] < later["delivered_120_gal"]
    assert np.isnan(both["held_from_min"])


def test_an_engine_that_is_late_delays_the_first_water() -> None:
    one = [engine(1), *CREW[2:]]
    got = answer(SITES, one, failures={"engine_late_min": {"E1": 7}})
    assert got["first_water_min"] == pytest.approx(THERE_MIN + 3 + 7)


def test_the_story_says_what_the_table_says() -> None:
    got, working = answer(SITES, CREW), work_out(case(SITES, CREW), progress=quiet)
    story = told(working, 0)
    for name in ("first_water_min", "held_from_min", "longest_gap_min", "short_gal"):
        assert getattr(story, name) == pytest.approx(got[name])
    assert story.delivered_120_gal == pytest.approx(got["delivered_120_gal"])


def test_the_summary_says_how_sure_it_is() -> None:
    figures = result(SITES, CREW).summary["clock"]
    assert figures["draws"] == 50
    assert figures["held_90_gpm_is_held_in_a_share_of"] == [0.782, 0.955]
    assert figures["of_these_held_by_the_clock"] == 1
    assert "earlier gaps do not count" in figures["held_means"]


def test_held_for_the_last_hour_is_not_held_without_a_gap() -> None:
    """Three by nurse or dump site: one without a gap, one after gaps, one not held; one short."""
    table = pd.DataFrame(
        {
            "verdict": ["nurse", "dump site", "nurse", "short"],
            "held_from_min": [22.0, 80.0, np.nan, 22.0],
            "longest_gap_min": [0.0, 6.7, 4.9, 0.0],
            "first_water_min": 12.0,
        }
    )
    played = clocked(work_out(case(SITES, CREW), progress=quiet), progress=quiet)
    figures = clock_told(ChanceRules(draws=0), table, played)
    assert figures["of_these_held_by_the_clock"] == 2
    assert figures["of_these_held_without_a_gap"] == 1
