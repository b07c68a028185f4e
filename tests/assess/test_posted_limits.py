"""A weight-posted bridge half way to the water, with three miles around it; all by hand.

The road runs straight from the parcel (mile 0) to the hydrant (mile 2), at 35 mph. The bridge is
from mile 0.5 to 1.5 and posted 20,000 lb; the way around it is 3 miles long.
"""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import LineString

from by_hand import CRS, Row, engine, hydrant, inputs, parcel, road_point, station, tanker
from haulshed.assess.detours import Drive
from haulshed.assess.doubts import doubts
from haulshed.assess.explain import Explanation, explain_parcel
from haulshed.assess.model import assess
from haulshed.case import Inputs, Result
from haulshed.options.road_changes import ChangeRoad
from haulshed.options.scenario_change import SetScenario
from haulshed.outputs.explanation import explanation_text
from haulshed.scenario import Scenario
from haulshed.tables.segments import Segments
from haulshed.units import M_PER_MI

MILE_MIN = 60 / 35
POSTED_LB = 20_000.0


def roads(*, bypass: bool = True, **bridge: object) -> Segments:
    """Return the road, its bridge way 2 named Old Bridge."""
    north_m = M_PER_MI  # one mile up, one along, one down
    around = [(at.x, at.y) for at in (road_point(0.5), road_point(1.5))]
    (x0, y0), (x1, y1) = around
    ways = [
        (0, 1, "Hill Road", [road_point(-1.0), road_point(0.5)], {}),
        (1, 2, "Old Bridge", [road_point(0.5), road_point(1.5)],
         {"bridge": True, "may_stop": False, "max_weight_lb": POSTED_LB, **bridge}),
        (2, 3, "Hill Road", [road_point(1.5), road_point(3.0)], {}),
        (1, 2, "Back Road", [(x0, y0), (x0, y0 + north_m), (x1, y1 + north_m), (x1, y1)], {}),
    ]  # fmt: skip
    if not bypass:
        ways = ways[:-1]
    plain = {
        "road_class": "tertiary",
        "forward_open": True,
        "backward_open": True,
        "public": True,
        "may_stop": True,
        "unpaved": False,
        "posted_mph": np.nan,
        "bridge": False,
        "max_weight_lb": np.nan,
        "max_height_ft": np.nan,
        "max_rated_lb": np.nan,
        "hgv_allowed": True,
        "posted_understood": True,
    }
    rows = [
        {"segment_id": i, "way_id": i + 1, "from_node": a, "to_node": b, "name": name,
         **plain, **more}
        for i, (a, b, name, _, more) in enumerate(ways)
    ]  # fmt: skip
    lines = [LineString(line) for *_, line, _ in ways]
    return Segments(gpd.GeoDataFrame(pd.DataFrame(rows), geometry=lines, crs=CRS))


HEAVY = {"weight_lb": 40_000.0, "empty_weight_lb": 20_000.0}
LIGHT = {"weight_lb": 19_000.0, "empty_weight_lb": 9_000.0}
CREW = [engine(1, weight_lb=19_000.0), tanker(1, **HEAVY), tanker(2, **HEAVY)]


def district(apparatus: list[Row] | None = None, *, bypass: bool = True, **more: object) -> Inputs:
    bridge = more.pop("bridge", {})
    return inputs(
        sites=[hydrant("H1", 2.0)],
        stations=[station()],
        apparatus=apparatus or CREW,
        parcels=[parcel()],
        segments=roads(bypass=bypass, **bridge),
        scenario=Scenario.model_validate({"demand": {"method": "fixed"}} | more),
    )


def solved(*args: object, **more: object) -> Result:
    return assess(district(*args, **more), progress=lambda *_: None)


def told(*args: object, **more: object) -> Explanation:
    return explain_parcel(district(*args, **more), "P1", progress=lambda *_: None)


def nurse_gpm(legs_miles: float) -> float:
    """Return what two tankers hold: 4.0 min to fill, 2.0 to couple."""
    return 1800 / (4.0 + 2.0 + 2 * 0.65 + legs_miles * MILE_MIN)


def test_full_around_the_bridge_and_empty_over_it() -> None:
    got = solved().parcels.iloc[0]
    assert got["nurse_gpm"] == pytest.approx(nurse_gpm(4 + 2), abs=0.01)
    assert got["road_miles_to_site"] == pytest.approx(4.0, abs=1e-3)


def test_light_enough_or_nothing_posted_over_it() -> None:
    light = [engine(1), tanker(1, **LIGHT), tanker(2, **LIGHT)]
    over_gpm = pytest.approx(nurse_gpm(2 + 2), abs=0.01)
    assert solved(light).parcels["nurse_gpm"].iloc[0] == over_gpm
    assert solved(bridge={"max_weight_lb": np.nan}).parcels["nurse_gpm"].iloc[0] == over_gpm
    assert solved(roads={"posted_weights": "none"}).parcels["nurse_gpm"].iloc[0] == over_gpm


def test_the_miles_are_those_of_the_tankers_that_carry_most() -> None:
    mixed = [engine(1), engine(2), tanker(1, **HEAVY), *(tanker(i, **LIGHT) for i in (2, 3))]
    got = solved([{**unit, "portable_tank_gal": 2500.0} for unit in mixed]).parcels.iloc[0]
    assert got["dump_site_gpm"] > got["nurse_gpm"]
    assert got["road_miles_to_site"] == pytest.approx(2.0, abs=1e-3)


def test_a_unit_without_weights_is_taken_as_the_scenario_says() -> None:
    # 2,000 gal × 8.34 lb; the empty weight alone decides the empty leg.
    unknown = [engine(1), tanker(1), tanker(2)]
    both_around = pytest.approx(nurse_gpm(4 + 4), abs=0.01)
    assert solved(unknown).parcels["nurse_gpm"].iloc[0] == both_around
    light = {"assumed_empty_lb": 20_000}
    one_around = pytest.approx(nurse_gpm(4 + 2), abs=0.01)
    assert solved(unknown, roads=light).parcels["nurse_gpm"].iloc[0] == one_around
    lighter = {"assumed_empty_lb": 3_000}  # 19,680 lb full
    assert solved(unknown, roads=lighter).parcels["nurse_gpm"].iloc[0] == pytest.approx(
        nurse_gpm(2 + 2), abs=0.01
    )


def test_of_one_weight_the_other_follows_by_the_tank() -> None:
    full = [engine(1), *(tanker(i, weight_lb=36_680.0) for i in (1, 2))]  # 20,000 lb empty
    assert solved(full).parcels["nurse_gpm"].iloc[0] == pytest.approx(nurse_gpm(4 + 2), abs=0.01)


def test_no_way_around_is_a_posted_limit_not_a_missing_road() -> None:
    got = solved(bypass=False).parcels.iloc[0]
    assert (got["sustained_gpm"], got["limited_by"]) == (0, "posted weight or height")
    # The station is on this side, the parcel behind the bridge: nobody gets there at all.
    case = district(bypass=False)
    case.parcels["structure"] = gpd.GeoSeries([road_point(2.5, 20.0)], crs=CRS)
    case.parcels["access"] = gpd.GeoSeries([road_point(2.5)], crs=CRS)
    behind = assess(case, progress=lambda *_: None).parcels.iloc[0]
    assert (behind["tankers"], behind["engines"]) == (0, 1)
    assert behind["limited_by"] == "posted weight or height"


def test_the_explanation_names_the_bridge_and_the_minutes() -> None:
    said = told()
    (one,) = said.detours
    assert one.drive is Drive.LOADED
    assert one.units == ("T1", "T2")
    assert one.minutes == pytest.approx(0.65 + 4 * MILE_MIN, abs=1e-3)
    assert one.free_min == pytest.approx(0.65 + 2 * MILE_MIN, abs=1e-3)
    (way,) = one.stopped_by
    assert (way.way_id, way.name, way.bridge, way.weight_lb) == (2, "Old Bridge", True, POSTED_LB)
    text = " ".join(explanation_text(said).split())
    assert (
        "T1, T2 (40,000 lb) from H1, full: 7.5 min instead of 4.1 min by Old Bridge, bridge,"
        " way 2, posted 20,000 lb" in text
    )


def test_who_cannot_come_is_told_why() -> None:
    case = district(bypass=False)
    case.parcels["structure"] = gpd.GeoSeries([road_point(2.5, 20.0)], crs=CRS)
    case.parcels["access"] = gpd.GeoSeries([road_point(2.5)], crs=CRS)
    said = explain_parcel(case, "P1", progress=lambda *_: None)
    why = {unit.unit_id: unit.why for unit in said.units}
    assert why["T1"] == "stopped by a posted limit"
    assert why["E1"].startswith("there within")
    text = " ".join(explanation_text(said).split())
    assert "T1, T2 (40,000 lb) from S1: no way instead of" in text
    assert "by Old Bridge, bridge, way 2, posted 20,000 lb" in text


def test_the_legs_of_every_class_are_told() -> None:
    mixed = [engine(1), tanker(1, **HEAVY), tanker(2, **LIGHT), tanker(3, **LIGHT)]
    said = told(mixed)
    (site,) = said.sites
    legs = {one.units: (one.loaded_miles, one.loaded_min) for one in site.legs}
    assert legs[("T2", "T3")][0] == pytest.approx(2.0, abs=1e-3)
    assert legs[("T1",)][0] == pytest.approx(4.0, abs=1e-3)
    assert site.legs[0].units == ("T2", "T3")
    assert "for T1" in explanation_text(said)
    # The pencil's sum: loaded + empty = legs of every trip.
    for stage in said.stages:
        for trip in stage.trips:
            assert trip.loaded_min + trip.empty_min == pytest.approx(trip.legs_min)


def test_a_low_bridge_stops_by_height() -> None:
    low = {"max_weight_lb": np.nan, "max_height_ft": 10.0}
    crew = [engine(1, height_ft=9.5), *(tanker(i, **LIGHT, height_ft=9.5) for i in (1, 2))]
    assert solved(crew, bridge=low).parcels["nurse_gpm"].iloc[0] == pytest.approx(
        nurse_gpm(2 + 2), abs=0.01
    )
    tall = [{**unit, "height_ft": 10.5} for unit in crew]
    around = pytest.approx(nurse_gpm(4 + 4), abs=0.01)
    assert solved(tall, bridge=low).parcels["nurse_gpm"].iloc[0] == around
    assert "posted 10.0 ft high" in " ".join(explanation_text(told(tall, bridge=low)).split())


def test_nothing_posted_no_word_of_it() -> None:
    said = told(bridge={"max_weight_lb": np.nan})
    assert said.detours == ()
    assert "Posted" not in explanation_text(said)


def doubted(*args: object, **more: object) -> dict[str, tuple[str, ...]]:
    found = doubts(district(*args, **more), progress=lambda *_: None).findings
    return {one.what: one.rows for one in found}


def named(found: dict[str, tuple[str, ...]], words: str) -> tuple[str, ...]:
    return next((rows for what, rows in found.items() if words in what), ())


def test_a_look_names_the_bridge_and_whose_weight_is_assumed() -> None:
    found = doubted([engine(1), tanker(1, **HEAVY), tanker(2, **LIGHT)])
    assert named(found, "posted ways that stop") == ("Old Bridge (way 2)",)
    assert named(found, "units with no weight") == ("E1",)
    assert named(found, "units with no height") == ()
    light = [engine(1, **LIGHT), tanker(1, **LIGHT), tanker(2, **LIGHT)]
    assert named(doubted(light), "posted ways that stop") == ()
    low = doubted(light, bridge={"max_height_ft": 12.0})
    assert named(low, "units with no height") == ("E1", "T1", "T2")


def test_nothing_posted_asks_for_no_weights() -> None:
    found = doubted([engine(1), tanker(1)], bridge={"max_weight_lb": np.nan})
    assert named(found, "units with no weight") == ()


def test_a_sign_that_cannot_be_read_is_shown() -> None:
    found = doubted(bridge={"max_weight_lb": np.nan, "posted_understood": False})
    assert named(found, "cannot be read") == ("Old Bridge (way 2)",)


def test_a_closed_way_is_shown() -> None:
    shut = {"forward_open": False, "backward_open": False}
    assert named(doubted(bridge=shut), "closed in this scenario") == ("Old Bridge (way 2)",)


def test_a_bridge_made_stronger_or_closed_as_an_option() -> None:
    def gpm(**change: object) -> float:
        kind = SetScenario if change["do"] == "set scenario" else ChangeRoad
        after = kind.model_validate(change).applied(district(), "an option")
        return float(assess(after, progress=lambda *_: None).parcels["nurse_gpm"].iloc[0])

    stronger = gpm(do="change road", way_ids=(2,), set={"max_weight_lb": 80_000.0})
    closed = gpm(do="set scenario", set={"roads": {"closed_ways": [2]}})
    assert stronger == pytest.approx(nurse_gpm(2 + 2), abs=0.01)
    assert closed == pytest.approx(nurse_gpm(4 + 4), abs=0.01)
