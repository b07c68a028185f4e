"""Answers on a straight road, each worked out by hand: 35 mph, legs 0.65 min + 60/35 a mile."""

import numpy as np
import pandas as pd
import pytest

from by_hand import Row, engine, hydrant, inputs, parcel, road, road_point, station, tanker
from haulshed.assess.model import assess
from haulshed.case import Result
from haulshed.scenario import Scenario
from haulshed.tables.answers import ANSWERS


def result(
    sites: list[Row],
    apparatus: list[Row],
    parcels: list[Row] | None = None,
    **scenario: dict[str, object],
) -> Result:
    case = inputs(
        sites=sites,
        stations=[station()],
        apparatus=apparatus,
        parcels=parcels or [parcel()],
        scenario=Scenario.model_validate({"demand": {"method": "fixed"}} | scenario),
    )
    return assess(case, progress=lambda _step, _done=0, _of=0: None)


def answer(sites: list[Row], apparatus: list[Row], **scenario: dict[str, object]) -> pd.Series:
    return result(sites, apparatus, **scenario).parcels.iloc[0]


CREW = [engine(1), *(tanker(i) for i in range(5))]
NO_HOSE = engine(1, supply_hose_ft=0.0)


def test_the_table_has_the_declared_columns_in_order() -> None:
    got = result([hydrant("H1", 1.0)], CREW).parcels
    assert list(got.columns) == [*(column.name for column in ANSWERS.columns), "geometry"]


def test_times_from_dispatch() -> None:
    got = answer([hydrant("H1", 1.0)], CREW)
    # Turnout 5, a tenth of a mile at 35 mph, 0.65 fixed.
    there_min = 5 + 0.1 * 60 / 35 + 0.65
    assert got["first_engine_min"] == pytest.approx(there_min)
    assert got["first_tanker_min"] == pytest.approx(there_min)
    assert got["last_tanker_min"] == pytest.approx(there_min)


def test_the_round_trip_and_its_road() -> None:
    got = answer([hydrant("H1", 1.0)], [engine(1), tanker(1), tanker(2)])
    # Nursing at 167.77 gpm: 1,800 / 167.77 = 10.729 to pump off, and 10.729 away.
    assert got["round_trip_min"] == pytest.approx(2 * 10.7286, abs=1e-3)
    assert got["road_miles_to_site"] == pytest.approx(1.0, abs=1e-6)
    assert got["best_site_id"] == got["site_ids"] == "H1"


def test_a_hydrant_in_reach_is_a_hose_line() -> None:
    # 0.1 mi = 528 ft of road and 100 ft of lay, 1,000 ft of 5-in hose on the engine.
    got = answer([hydrant("H1", 0.1)], [engine(1)])
    assert got["verdict"] == "hose line"
    assert got["hose_site_id"] == "H1"
    assert got["hose_site_ft"] == pytest.approx(528, abs=0.01)
    # 628 ft of 5-in: 0.08 × 6.28 psi at 100 gpm². 155 psi left of 185 after 20 and 10:
    # 100 × √(155 / 0.5024) = 1,756 gpm, the pump gives 1,500 up to 150 psi; so the hydrant's
    # 1,000 gpm binds.
    assert got["hose_gpm"] == pytest.approx(1000)


@pytest.mark.parametrize("mile", [0.19, 0.2])
def test_hose_reach_is_by_road(mile: float) -> None:
    # 1,003 and 1,056 ft are beyond the 1,000 ft that the scenario allows.
    got = answer([hydrant("H1", mile)], [engine(1), engine(2)])
    assert got["hose_site_id"] is None
    assert got["verdict"] == "none"  # no tanker came either


def test_a_suction_point_needs_an_engine_to_spare() -> None:
    lake = hydrant("L1", 0.1, kind="dry_hydrant", usable_gal=1e6)
    assert answer([lake], [engine(1)])["verdict"] == "none"
    assert answer([lake], [engine(1), engine(2)])["verdict"] == "hose line"


def test_too_little_hose_is_no_hose_line() -> None:
    got = answer([hydrant("H1", 0.1)], [engine(1, supply_hose_ft=600.0)])
    assert got["hose_site_id"] is None


def test_tankers_needed_counts_in_order_of_arrival() -> None:
    # Three hold 336, four the 500 that is needed.
    got = answer([hydrant("H1", 1.0)], CREW)
    assert got["tankers_needed"] == 4
    assert got["verdict"] == "nurse"
    assert got["margin_gpm"] == pytest.approx(0)
    assert got["tight"]
    assert got["minus_one_gpm"] == pytest.approx(500)  # four still hold it


def test_a_small_cistern_is_judged_over_the_time_the_needed_water_takes() -> None:
    """8,000 gal last 120 min at 67 gpm, but 30 min at 267: enough for a need of 250 by volume."""
    cistern = hydrant("C1", 1.0, kind="cistern", usable_gal=8_000.0, needs_pumper=False)
    house = parcel(floor_area_ft2=600.0, stories=1.0)  # 2,000 gal by the floor of the method
    got = result([cistern], CREW, [house], demand={"method": "volume"}).parcels.iloc[0]
    assert got["needed_gal"] == pytest.approx(2000)
    assert got["needed_gpm"] == 250
    assert got["nurse_gpm"] == pytest.approx(8000 / 120)
    assert got["test_min"] == 30
    assert got["verdict"] == "nurse"
    assert got["limited_by"] == "source"


def test_two_suction_points_on_one_pond_do_not_count_it_twice() -> None:
    def pond(name: str, mile: float) -> Row:
        return hydrant(
            name, mile, kind="pond", usable_gal=12_000.0, source_id="POND", needs_pumper=False
        )

    got = answer([pond("P1", 1.0), pond("P2", -1.0)], CREW)
    assert got["nurse_gpm"] == pytest.approx(12_000 / 120)
    assert got["limited_by"] == "source"


def test_a_failed_dump_valve_unloads_by_pump() -> None:
    crew = [engine(1), engine(2), tanker(1, dump_gpm=np.nan, portable_tank_gal=2500.0)]
    got = answer([hydrant("H1", 1.0)], crew)
    # 1.5 + 1,800 / 500 = 5.1 at the dump site, 4.0 to fill, two legs of 2.364.
    assert got["dump_site_gpm"] == pytest.approx(1800 / (5.1 + 4.0 + 2 * 2.3643), abs=0.01)


@pytest.mark.parametrize(
    ("sites", "apparatus", "scenario", "limit"),
    [
        ([hydrant("H1", 1.0)], [engine(1), tanker(1)], {}, "one tanker"),
        ([hydrant("H1", 1.0)], [engine(1)], {}, "no tanker"),
        ([hydrant("H1", 1.0)], [tanker(1), tanker(2)], {}, "no engine"),
        ([hydrant("H1", 1.0, status="closed")], CREW, {}, "no water"),
        ([hydrant("H1", 1.0)], CREW, {"operation": {"aid": ["mutual"]}}, "no engine"),
        ([hydrant("H1", 1.0)], [NO_HOSE, *CREW[1:]], {}, "supply hose too short"),
        # The only water needs a pumper, and the one engine attacks.
        ([hydrant("L1", 1.0, kind="pond", usable_gal=1e6)], CREW, {}, "engines"),
    ],
)
def test_why_nothing_can_be_hauled(
    sites: list[Row], apparatus: list[Row], scenario: dict[str, dict[str, object]], limit: str
) -> None:
    got = answer(sites, apparatus, **scenario)
    assert got["sustained_gpm"] == 0
    assert got["verdict"] == "none"
    assert got["limited_by"] == limit
    assert np.isnan(got["last_tanker_min"])
    assert np.isnan(got["round_trip_min"])


def test_a_parcel_far_from_any_road_is_an_answer() -> None:
    far = parcel(parcel_id="FAR", geometry=road_point(0.0, 2000.0))
    got = result([hydrant("H1", 1.0)], CREW, [parcel(), far]).parcels.set_index("parcel_id")
    assert got.loc["FAR", "limited_by"] == "no road"
    assert got.loc["FAR", "verdict"] == "none"
    assert np.isnan(got.loc["FAR", "access_lon"])
    assert got.loc["P1", "verdict"] == "nurse"


def test_a_parcel_without_a_structure_needs_nothing() -> None:
    got = result([hydrant("H1", 1.0)], CREW, [parcel(structures=0.0)]).parcels.iloc[0]
    assert got["verdict"] == "no demand"
    assert np.isnan(got["needed_gpm"])


def test_a_dry_summer_can_leave_nothing() -> None:
    stream = hydrant("ST", 1.0, kind="stream", needs_pumper=False)
    got = answer([stream], CREW, operation={"drought_factor": 0})
    assert got["limited_by"] == "no water"


def test_roads_carry_the_flow_at_their_middle() -> None:
    case = inputs(
        sites=[hydrant("H1", 1.0)],
        stations=[station()],
        apparatus=CREW[:3],
        parcels=[parcel()],
        segments=road(-5.0, -1.0, 1.0, 5.0),
    )
    got = assess(case, progress=lambda _step, _done=0, _of=0: None)
    flows = got.roads["sustained_gpm"].to_numpy()
    # The middles are 4, 1 and 2 miles from the hydrant: the nearer, the more.
    assert flows[1] > flows[2] > flows[0] > 0
    assert flows[1] == pytest.approx(got.parcels["sustained_gpm"].iloc[0])  # it is at mile 0 too
