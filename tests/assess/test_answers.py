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


def test_without_the_largest_tanker_its_portable_tank_is_not_there() -> None:
    """Only the largest carries a portable tank, and the others have no pump to nurse with."""
    small = [tanker(i, pump_gpm=0.0) for i in range(4)]
    largest = tanker(9, tank_gal=3000.0, portable_tank_gal=3500.0)
    got = answer(
        [hydrant("H1", 1.0)],
        [engine(1), engine(2), *small, largest],
        demand={"method": "fixed", "fixed_gpm": 300},
    )
    # 1,800 in 12.029 min four times, and 2,700 in 2.5 + ... : about 800; one dump position takes
    # 1,800 / 3.3 = 545.
    assert got["dump_site_gpm"] == pytest.approx(1800 / 3.3, rel=0.06)
    assert got["verdict"] == "dump site"
    assert got["minus_one_gpm"] == 0
    assert got["tight"]


def test_tankers_needed_waits_for_the_one_with_the_portable_tank() -> None:
    far = station(station_id="S2", geometry=road_point(2.0))
    crew = [engine(1), engine(2), *(tanker(i, pump_gpm=0.0) for i in range(4))]
    crew.append(tanker(9, pump_gpm=0.0, portable_tank_gal=2500.0, station_id="S2"))
    case = inputs(
        sites=[hydrant("H1", 1.0)],
        stations=[station(), far],
        apparatus=crew,
        parcels=[parcel()],
        scenario=Scenario.model_validate({"demand": {"method": "fixed", "fixed_gpm": 300}}),
    )
    got = assess(case, progress=lambda _step, _done=0, _of=0: None).parcels.iloc[0]
    assert got["tankers_needed"] == 5  # it is the last to arrive


def test_a_closed_hydrant_gives_its_main_no_water() -> None:
    def on_main(name: str, mile: float, **changes: object) -> Row:
        return hydrant(name, mile, source_id="MAIN", **changes)

    small = [on_main("H1", 1.0, flow_gpm=300.0), on_main("H2", -1.0, flow_gpm=300.0)]
    closed = on_main("H3", 0.5, flow_gpm=2000.0, status="closed")
    assert answer(small, CREW)["nurse_gpm"] == pytest.approx(300)
    assert answer([*small, closed], CREW)["nurse_gpm"] == pytest.approx(300)


def test_a_hose_line_shares_its_sources_volume() -> None:
    stream = hydrant("ST", 0.1, kind="stream", needs_pumper=False, source_id="BROOK")
    pond = hydrant("PD", 3.0, kind="pond", usable_gal=6_000.0, source_id="BROOK")
    got = answer([stream, pond], [engine(1), engine(2)])
    assert got["hose_gpm"] == pytest.approx(6_000 / 120)


def test_a_hose_line_counts_the_way_from_the_hydrant_to_its_road() -> None:
    # 0.18 mi = 950 ft of road, 100 ft of lay: 1,050 of 1,060 ft, but the hydrant stands 197 ft off.
    far = hydrant("H1", 0.18, geometry=road_point(0.18, 60.0))
    crew = [engine(1, supply_hose_ft=1060.0)]
    assert answer([hydrant("H1", 0.18)], crew)["hose_site_id"] == "H1"
    assert answer([far], crew)["hose_site_id"] is None


def test_too_much_rise_is_no_want_of_hose() -> None:
    got = answer([hydrant("H1", 1.0)], CREW, supply_line={"rise_ft": 500})
    assert got["sustained_gpm"] == 0
    assert got["limited_by"] == "supply line"


def test_a_pond_that_the_drought_empties_is_not_open() -> None:
    pond = hydrant("P1", 1.0, kind="pond", usable_gal=9e4, needs_pumper=False)
    got = result([pond], CREW, operation={"drought_factor": 0})
    assert got.fill_sites["why_not"].tolist() == ["no flow or no water left"]
    assert got.parcels["limited_by"].tolist() == ["no water"]


def test_what_is_held_shows_a_flow_at_least_the_need_where_the_test_is_the_plan() -> None:
    got = result([hydrant("H1", 1.0)], CREW).parcels
    held = got[got["verdict"].isin(["nurse", "dump site"]) & (got["test_min"] == 120)]
    assert (held["margin_gpm"] >= 0).all()


def test_road_distance_is_the_published_line() -> None:
    """ISO, Response-Time Considerations: T = 0.65 + 1.7 D; each leg has its own term."""
    crew = [engine(1), tanker(1), tanker(2)]
    got = answer([hydrant("H1", 2.0)], crew, roads={"method": "road_distance"})
    # 2 × (0.65 + 3.4) on the road, 4.0 to fill, 2.0 to couple: each is away 14.1 min.
    assert got["nurse_gpm"] == pytest.approx(1800 / 14.1, abs=0.01)
