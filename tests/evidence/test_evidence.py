"""Hand-made properties and fill sites on each side of each published figure.

Distances lie along one straight road, so they can be read off; sources of the figures stand in
test_schedules.py.
"""

import math

import numpy as np
import pandas as pd
import pytest
from shapely import Point

from by_hand import Row, engine, hydrant, inputs, parcel, road, road_point, station, tanker
from haulshed.assess.working import Working
from haulshed.evidence.assembled import Evidence, evidence
from haulshed.evidence.sources import BRING, MISSING
from haulshed.evidence.timing import Player, Timing, by_the_clock
from haulshed.inputs.rating_rules import read_rules
from haulshed.scenario import ClockRules, Scenario
from haulshed.tables.evidence import EVIDENCE, SOURCE_EVIDENCE
from haulshed.units import M_PER_MI

FT_PER_MI = 5280.0
#: A good fill site: 1,000 gpm of a main, its test at hand, reached in all weather.
GOOD = {"test_flow_gpm": 900.0, "all_weather": True}


def at(name: str, mile: float, **changes: object) -> Row:
    """Return a parcel whose driveway meets the road at `mile`, 50 ft of hose from its structure."""
    place = {"geometry": road_point(mile, 20.0), "access": road_point(mile)}
    return parcel(parcel_id=name, lay_ft=50.0, needed_gpm=500.0, **place) | changes


def good(name: str, mile: float, **changes: object) -> Row:
    return hydrant(name, mile) | GOOD | changes


def prepared(  # noqa: PLR0913 — one argument a table
    parcels: list[Row],
    sites: list[Row],
    *,
    rules: str = "us_current",
    apparatus: list[Row] | None = None,
    stations: list[Row] | None = None,
    scenario: Scenario | None = None,
    player: Player = by_the_clock,
) -> Evidence:
    units = [engine(1), engine(2), tanker(1, portable_tank_gal=2500.0), tanker(2)]
    district = inputs(
        sites=sites,
        stations=stations or [station(geometry=road_point(0.0))],
        apparatus=units if apparatus is None else apparatus,
        parcels=parcels,
        segments=road(-9.0, 0.0, 9.0),
        scenario=scenario,
    )
    return evidence(district, read_rules(rules), player=player, progress=lambda *_: None)


def judged(found: Evidence, name: str) -> list[str]:
    return list(found.properties[f"test_{name}"])


def site_tests(found: Evidence, name: str) -> list[str]:
    return list(found.sources[f"test_{name}"])


def test_the_tables_have_the_declared_columns_and_every_row() -> None:
    found = prepared([at("P1", 1.0), at("P2", -2.0)], [good("H1", 0.5)])
    assert list(found.properties) == [column.name for column in EVIDENCE.columns]
    assert list(found.sources) == [column.name for column in SOURCE_EVIDENCE.columns]
    assert found.properties["parcel_id"].tolist() == ["P1", "P2"]


@pytest.mark.parametrize(
    ("rules", "miles"),
    [("us_current", 5.0), ("us_washington", 7.0), ("canada_dwelling", 8000 / 1609.344)],
)
def test_road_miles_from_the_station(rules: str, miles: float) -> None:
    """5 and 7 road miles; 8 km of Canada's dwellings."""
    parcels = [at("in", miles - 0.001), at("on", miles), at("out", miles + 0.001)]
    found = prepared(parcels, [good("H1", 0.5)], rules=rules)
    assert judged(found, "station") == ["met", "met", "not met"]
    measured = found.properties["station_miles"]
    assert measured.tolist() == pytest.approx([miles - 0.001, miles, miles + 0.001], abs=1e-9)


def test_a_station_without_an_engine_that_is_called_does_not_count() -> None:
    stations = [station(geometry=road_point(0.0)), station(station_id="S2")]
    stations[1] |= {"geometry": road_point(6.0), "aid": "mutual"}
    apparatus = [engine(1), tanker(1), engine(2, station_id="S2")]
    found = prepared([at("P1", 6.1)], [good("H1", 0.5)], stations=stations, apparatus=apparatus)
    assert found.properties["station_id"].tolist() == ["S1"]


def test_a_thousand_feet_of_hose() -> None:
    """1,000 ft from the site along the road and 50 ft of driveway to the structure."""
    mile = 950.0 / FT_PER_MI
    parcels = [at("in", mile - 1e-5), at("out", mile + 1e-5)]
    found = prepared(parcels, [good("H1", 0.0)])
    assert judged(found, "hose") == ["met", "not met"]
    feet = found.properties["near_site_hose_ft"].tolist()
    assert feet == pytest.approx([1000 - 0.0528, 1000 + 0.0528], abs=1e-6)
    assert found.properties["near_site_id"].tolist() == ["H1", "H1"]


def test_hose_counts_the_way_from_the_site_to_its_road() -> None:
    beside = {"geometry": road_point(0.0, 30.0)}  # 98.4 ft off the road
    found = prepared([at("P1", 900.0 / FT_PER_MI)], [good("H1", 0.0, **beside)])
    assert found.properties["near_site_hose_ft"].tolist() == pytest.approx([950 + 30 / 0.3048])


@pytest.mark.parametrize(
    ("feet", "gpm"),
    [(300, 1000), (301, 670), (600, 670), (601, 250), (1000, 250), (1001, 0)],
)
def test_what_a_hydrant_counts_for_by_its_distance(feet: float, gpm: float) -> None:
    """1,000 gpm to 300 ft, 670 to 600, 250 to 1,000 (ISO letter, Indian River County FL)."""
    found = prepared([at("P1", (feet - 50 - 1e-4) / FT_PER_MI)], [good("H1", 0.0)])
    assert found.properties["by_distance_gpm"].tolist() == [gpm]


def test_a_hydrant_counts_for_no_more_than_it_gives() -> None:
    found = prepared([at("P1", 0.01)], [good("H1", 0.0, flow_gpm=400.0)])
    assert found.properties["by_distance_gpm"].tolist() == [400.0]


@pytest.mark.parametrize(("gpm", "said"), [(249.0, "not met"), (250.0, "met")])
def test_250_gpm_of_a_source(gpm: float, said: str) -> None:
    found = prepared([at("P1", 0.5)], [good("H1", 0.0, flow_gpm=gpm)])
    assert site_tests(found, "rate") == [said]
    assert (found.properties["near_site_id"].tolist() == ["H1"]) is (said == "met")


@pytest.mark.parametrize(
    ("usable_gal", "recharge_gpm", "said"),
    [(29_999.0, 0.0, "not met"), (30_000.0, 0.0, "met"), (18_000.0, 100.0, "met")],
)
def test_30_000_gallons_of_a_source(usable_gal: float, recharge_gpm: float, said: str) -> None:
    """250 gpm for 2 hours; 18,000 gal and 120 min at 100 gpm are 30,000 as well."""
    pond = {"kind": "cistern", "usable_gal": usable_gal, "recharge_gpm": recharge_gpm}
    found = prepared([at("P1", 0.5)], [good("C1", 0.0, **pond)])
    assert site_tests(found, "volume") == [said]


_FLEET = [tanker(n, portable_tank_gal=2500.0, tank_gal=3000.0) for n in range(1, 7)]


@pytest.mark.parametrize(
    ("usable_gal", "counted_gal"), [(33_000.0, 33_000.0), (90_000.0, 36_000.0)]
)
def test_two_suction_points_on_one_pond_do_not_count_its_water_twice(
    usable_gal: float, counted_gal: float
) -> None:
    """Each gives 300 gpm and so does the pond: 36,000 gal in 2 hours, or what it holds."""
    pond = {"kind": "cistern", "usable_gal": usable_gal, "source_id": "POND", "flow_gpm": 300.0}
    slow = {"handling_min": 10.0, "fill_positions": 1}
    sites = [good("C1", 1.0, **pond, **slow), good("C2", 2.0, **pond, **slow)]
    found = prepared([at("P1", 1.5)], sites, apparatus=[engine(n) for n in range(1, 5)] + _FLEET)
    assert sorted(found.properties["relies_on"].iloc[0].split("; ")) == ["C1", "C2"]
    assert found.properties["volume_gal"].tolist() == [counted_gal]


def test_a_source_of_some_months_is_not_there_all_year() -> None:
    found = prepared([at("P1", 0.5)], [good("H1", 0.0, open_months="4-11"), good("H2", 3.0)])
    assert site_tests(found, "all_year") == ["not met", "met"]
    assert found.properties["near_site_id"].tolist() == ["H2"]


@pytest.mark.parametrize(
    ("weather", "said"), [(True, "met"), (False, "not met"), (None, "not judged")]
)
def test_a_source_reached_in_all_weather(weather: bool | None, said: str) -> None:  # noqa: FBT001 — the cell itself
    found = prepared([at("P1", 0.5)], [good("H1", 0.0, all_weather=weather)])
    assert site_tests(found, "all_weather") == [said]
    assert judged(found, "all_weather") == [said]


@pytest.mark.parametrize(
    ("lift_ft", "head_loss_ft", "said"),
    [
        (15.0, 20.0, ["met", "met"]),
        (15.1, 20.1, ["not met", "not met"]),
        (None, None, ["not judged", "not judged"]),
    ],
)
def test_lift_and_head_of_a_dry_hydrant(
    lift_ft: float | None, head_loss_ft: float | None, said: list[str]
) -> None:
    """Idaho: lift of 15 ft and head of 20 ft at most."""
    drafted = {"kind": "dry_hydrant", "usable_gal": 90_000.0}
    site = good("D1", 0.0, lift_ft=lift_ft, head_loss_ft=head_loss_ft, **drafted)
    found = prepared([at("P1", 0.5)], [site], rules="us_idaho")
    assert [site_tests(found, name)[0] for name in ("lift", "head_loss")] == said


@pytest.mark.parametrize(("pump_gpm", "said"), [(749.0, "not met"), (750.0, "met")])
def test_an_engine_of_750_gpm(pump_gpm: float, said: str) -> None:
    units = [engine(1, pump_gpm=pump_gpm), tanker(1)]
    assert judged(prepared([at("P1", 0.5)], [good("H1", 0.0)], apparatus=units), "pump") == [said]


@pytest.mark.parametrize(
    ("rules", "crew", "said"),
    [
        ("us_older", 3, "met"),
        ("us_older", 2, "not met"),
        ("us_washington", 2, "met"),
        ("us_washington", 1, "not met"),
    ],
)
def test_people_who_come(rules: str, crew: int, said: str) -> None:
    """Six of the older schedule, four of Washington's; two units of `crew` each, to 5 and 3."""
    units = [engine(1, crew=crew), tanker(1, crew=3 if rules == "us_older" else 2)]
    found = prepared([at("P1", 0.5)], [good("H1", 0.0)], rules=rules, apparatus=units)
    assert judged(found, "crew") == [said]


def played(held_from_min: float, longest_gap_min: float) -> Player:
    """Return a clock that says the same of every parcel."""

    def play(working: Working, *, flow_gpm: float) -> Timing:
        assert flow_gpm == 250.0
        assert working.ground.inputs.scenario.operation.duration_min == 120.0
        parcels = len(working.ground.inputs.parcels)
        return Timing(
            held_from_min=np.full(parcels, held_from_min),
            longest_gap_min=np.full(parcels, longest_gap_min),
        )

    return play


def test_five_minutes_after_the_first_engine_by_the_clock() -> None:
    """The engine rolls after 5 min and drives half a mile at 35 mph: 0.65 + 0.857 min."""
    first_min = 5 + 0.65 + 0.5 / 35 * 60
    for late_min, said in ((5.0, "met"), (5.01, "not met"), (math.inf, "not met")):
        player = played(first_min + late_min, 0.0)
        found = prepared([at("P1", 0.5)], [good("H1", 0.0)], player=player)
        assert found.properties["first_engine_min"].tolist() == pytest.approx([first_min])
        assert judged(found, "in_time") == [said]


def test_without_a_break_by_the_clock() -> None:
    for gap_min, said in ((0.0, "met"), (0.5, "not met"), (math.nan, "not judged")):
        player = played(10.0, gap_min)
        found = prepared([at("P1", 0.5)], [good("H1", 0.0)], player=player)
        assert judged(found, "unbroken") == [said]


def near_hydrant(**changes: object) -> Evidence:
    """Return a property a mile from a good hydrant, three miles from the station."""
    fleet = [engine(n) for n in (1, 2)] + [tanker(n, portable_tank_gal=2500.0) for n in range(1, 5)]
    scenario = Scenario(clock=ClockRules(**changes))
    return prepared([at("P1", 3.0)], [good("H1", 2.0)], apparatus=fleet, scenario=scenario)


def test_tankers_on_the_first_engine_s_heels_hold_250_gpm_without_a_break() -> None:
    """Engine and tankers roll together: 3 min to water, and 1,000 gal of the engine's own tank."""
    found = near_hydrant(attack_setup_min=3.0, supply_line_min=2.0).properties.iloc[0]
    assert found["start_after_min"] == pytest.approx(3.0)
    assert [found["test_in_time"], found["test_unbroken"]] == ["met", "met"]
    assert found["longest_gap_min"] == 0


def test_six_minutes_to_the_first_water_is_too_late() -> None:
    found = near_hydrant(attack_setup_min=6.0, supply_line_min=2.0).properties.iloc[0]
    assert found["start_after_min"] == pytest.approx(6.0)
    assert [found["test_in_time"], found["test_unbroken"]] == ["not met", "met"]


def test_a_supply_line_after_the_tank_is_empty_breaks_the_flow() -> None:
    """1,000 gal at 250 gpm are gone 4 min after the first water; the line needs 12 min."""
    found = near_hydrant(attack_setup_min=2.0, supply_line_min=12.0).properties.iloc[0]
    assert found["longest_gap_min"] == pytest.approx(12 - 2 - 1000 / 250)
    assert found["start_after_min"] == pytest.approx(12.0)
    assert [found["test_in_time"], found["test_unbroken"]] == ["not met", "not met"]


def test_one_tanker_far_from_water_never_holds_it() -> None:
    found = prepared([at("P1", 6.0)], [good("H1", -6.0)]).properties.iloc[0]
    assert math.isinf(found["held_from_min"])
    assert [found["test_in_time"], found["test_unbroken"]] == ["not met", "not met"]


def test_the_scenario_s_own_clock_rules_stay_where_the_schedule_is_silent() -> None:
    """Idaho says nothing of breaks: neither is tested, and the scenario's gap counts."""
    found = prepared([at("P1", 3.0)], [good("H1", 2.0)], rules="us_idaho")
    assert found.properties["test_unbroken"].tolist() == [None]
    assert found.inputs.scenario.clock.shortest_gap_min == 0.5


def test_the_flow_is_held_over_the_schedule_s_duration_not_the_scenario_s() -> None:
    """9,000 gal of a cistern last 20 min at 450 gpm and 120 min at 75."""
    cistern = {"kind": "cistern", "usable_gal": 9_000.0}
    fleet = [*_FLEET, *(engine(n) for n in range(1, 4))]
    for rules, most_gpm, said in (("us_older", 450.0, "met"), ("us_current", 75.0, "not met")):
        found = prepared(
            [at("P1", 0.5)], [good("C1", 0.3, **cistern)], rules=rules, apparatus=fleet
        )
        assert found.properties["sustained_gpm"].tolist() == pytest.approx([most_gpm])
        assert judged(found, "steady") == [said]


def test_a_parcel_on_no_road_meets_nothing_and_is_still_a_row() -> None:
    far = at("P1", 0.5, geometry=Point(road_point(0.5).x, road_point(0.5).y + 3 * M_PER_MI))
    far |= {"access": None, "lay_ft": None}
    found = prepared([far, at("P2", 0.5)], [good("H1", 0.0)])
    lost = found.properties.iloc[0]
    assert np.isinf(lost["station_miles"])
    assert [lost["test_station"], lost["test_hose"]] == ["not met", "not met"]
    assert [lost["test_in_time"], lost["test_unbroken"]] == ["not met", "not met"]
    assert "station" in lost["not_met"]


def test_nothing_built_is_left_out_of_the_shares() -> None:
    parcels = [at("P1", 0.5), at("P2", 0.5, structures=0, needed_gpm=None)]
    found = prepared(parcels, [good("H1", 0.0)])
    assert found.properties["structure"].tolist() == [True, False]
    assert {share.of for share in found.shares} == {1}


def test_shares_are_counts_of_the_rows() -> None:
    miles = [0.5, 4.0, 6.0, 8.0]
    found = prepared([at(f"P{n}", mile) for n, mile in enumerate(miles)], [good("H1", 0.0)])
    share = next(one for one in found.shares if one.requirement.name == "station")
    assert (share.met, share.not_met, share.not_judged, share.of) == (2, 2, 0, 4)


def test_a_test_that_a_schedule_does_not_ask_is_empty() -> None:
    found = prepared([at("P1", 0.5)], [good("H1", 0.0)], rules="us_older")
    assert found.properties["test_station"].tolist() == [None]
    assert "station" not in {share.requirement.name for share in found.shares}


def test_what_an_inspector_asks_for() -> None:
    certified = {"certificate": "Survey", "certified_year": 2019, "lift_ft": 9.0}
    drafted = {"kind": "dry_hydrant", "usable_gal": 90_000.0, "test_flow_gpm": None}
    sites = [good("D1", 0.0, **drafted, **certified), good("D2", 0.1, **drafted)]
    found = prepared([at("P1", 0.5)], sites, rules="us_idaho")
    said = {(paper.site_id, paper.what.split(",")[0][:24]): paper.at_hand for paper in found.papers}
    assert said["D1", "50-year drought certific"] == "Survey, 2019"
    assert said["D2", "50-year drought certific"] == MISSING
    assert said["D1", "lift"] == "9.0"
    assert said["D1", "usable volume: not the 2"] == BRING


def test_papers_missing_are_those_of_the_sites_relied_on() -> None:
    sites = [good("H1", 0.0), good("H2", 0.1, test_flow_gpm=None)]
    found = prepared([at("P1", 0.01), at("P2", 0.09)], sites)
    assert found.properties["relies_on"].tolist() == ["H1", "H2"]
    assert found.properties["papers_missing"].tolist() == [0, 1]
    assert judged(found, "papers") == ["met", "not met"]


def test_the_department_is_asked_once() -> None:
    found = prepared([at("P1", 0.5)], [good("H1", 0.0), good("H2", 0.2)])
    once = [paper for paper in found.papers if paper.site_id == ""]
    assert [paper.at_hand for paper in once] == [BRING]


def test_a_closed_source_counts_for_nothing_and_shows_its_own_figures() -> None:
    pond = {"kind": "pond", "usable_gal": 70_000.0, "status": "closed"}
    found = prepared([at("P1", 0.5)], [good("P", 0.0, **pond), good("H1", 2.0)])
    closed = found.sources.set_index("site_id").loc["P"]
    assert closed["test_usable"] == "not met"
    assert closed["usable_gal"] == 70_000.0
    assert found.properties["near_site_id"].tolist() == ["H1"]


def test_nothing_is_called_a_class() -> None:
    """Evidence only: no column states what a bureau decides."""
    words = " ".join(column.name for column in (*EVIDENCE.columns, *SOURCE_EVIDENCE.columns))
    assert "class" not in words
    assert "grade" not in words


def test_no_fill_site_at_all() -> None:
    found = prepared([at("P1", 0.5)], [])
    assert judged(found, "hose") == ["not met"]
    assert isinstance(found.sources, pd.DataFrame)
