"""Each change by hand: what it makes of a district, what it leaves, what it refuses."""

from typing import Any

import pandas as pd
import pytest
from pandas.testing import assert_frame_equal
from pyproj import Transformer

from by_hand import WEST_M, engine, hydrant, inputs, parcel, road, station, tanker
from haulshed.case import Inputs
from haulshed.errors import InputError, TableError
from haulshed.options.change import Change, clash
from haulshed.options.option import KINDS, Option, OptionBook, contradiction

TABLES = ("segments", "parcels", "fill_sites", "stations", "apparatus")


@pytest.fixture
def district() -> Inputs:
    return inputs(
        sites=[hydrant("H1", 1.0), hydrant("H2", 2.0, status="closed")],
        stations=[station(), station(station_id="S2", aid="mutual")],
        apparatus=[tanker(1), engine(1)],
        parcels=[parcel()],
        segments=road(-5.0, 0.0, 5.0),
    )


def change(**keys: Any) -> Change:
    return KINDS[keys["do"]].model_validate(keys)


def applied(district: Inputs, **keys: Any) -> Inputs:
    """Return the changed district, having seen that nothing but one table is another."""
    before = {name: getattr(district, name).copy() for name in TABLES}
    after = change(**keys).applied(district, "here")
    for name in TABLES:
        assert_frame_equal(getattr(district, name), before[name])
        assert list(getattr(after, name).dtypes) == list(before[name].dtypes)
    return after


def row_of(frame: pd.DataFrame, column: str, wanted: object) -> "pd.Series[Any]":
    rows = frame[frame[column] == wanted]
    assert len(rows) == 1
    return rows.iloc[0]


def degrees(mile: float) -> tuple[float, float]:
    turn = Transformer.from_crs("EPSG:32615", 4326, always_xy=True)
    lon, lat = turn.transform(WEST_M + mile * 1609.344, 4_500_000.0)
    return lat, lon


def test_a_new_fill_site_stands_where_it_is_said_with_the_table_s_defaults(
    district: Inputs,
) -> None:
    lat, lon = degrees(1.5)
    row = {"site_id": "P1", "kind": "pond", "lat": lat, "lon": lon, "flow_gpm": 600}
    after = applied(district, do="add fill site", row={**row, "usable_gal": 40_000})
    site = row_of(after.fill_sites, "site_id", "P1")
    assert len(after.fill_sites) == 3
    assert site.geometry.x == pytest.approx(WEST_M + 1.5 * 1609.344, abs=0.01)
    assert (site["fill_positions"], site["needs_pumper"], site["source_id"]) == (1, True, "P1")
    assert after.fill_sites.crs == district.fill_sites.crs


def test_a_fill_site_changes_in_what_is_set_and_in_nothing_else(district: Inputs) -> None:
    after = applied(
        district, do="change fill site", site_id="H2", set={"status": "open", "fill_positions": 3}
    )
    site = row_of(after.fill_sites, "site_id", "H2")
    assert (site["status"], site["fill_positions"], site["flow_gpm"]) == ("open", 3, 1000)
    other = after.fill_sites[after.fill_sites["site_id"] == "H1"]
    assert_frame_equal(other, district.fill_sites[district.fill_sites["site_id"] == "H1"])


def test_stations_are_added_and_their_aid_changed(district: Inputs) -> None:
    lat, lon = degrees(3.0)
    row = {"station_id": "S3", "lat": lat, "lon": lon, "turnout_min": 3}
    after = applied(district, do="add station", row=row)
    assert row_of(after.stations, "station_id", "S3")["aid"] == "own"
    after = applied(district, do="change station", station_id="S2", set={"aid": "automatic"})
    assert row_of(after.stations, "station_id", "S2")["aid"] == "automatic"


def test_units_are_added_changed_moved_and_retired(district: Inputs) -> None:
    row = {"unit_id": "T9", "station_id": "S2", "kind": "tanker", "tank_gal": 3000}
    after = applied(district, do="add unit", row=row)
    unit = row_of(after.apparatus, "unit_id", "T9")
    assert (unit["tank_gal"], unit["fill_gpm"], unit["alarm"]) == (3000, 1000, 1)
    after = applied(district, do="change unit", unit_id="T1", set={"tank_to_pump_gpm": 800})
    assert row_of(after.apparatus, "unit_id", "T1")["tank_to_pump_gpm"] == 800
    after = applied(district, do="move unit", unit_id="T1", to="S2")
    assert row_of(after.apparatus, "unit_id", "T1")["station_id"] == "S2"
    after = applied(district, do="retire unit", unit_id="T1")
    assert after.apparatus["unit_id"].tolist() == ["E1"]


def test_a_road_changes_on_all_segments_of_its_way(district: Inputs) -> None:
    after = applied(district, do="change road", way_ids=(1,), set={"unpaved": True})
    assert after.segments["unpaved"].tolist() == [True, True]
    assert district.segments["unpaved"].tolist() == [False, False]


def test_a_scenario_key_changes_and_its_neighbours_stay(district: Inputs) -> None:
    after = applied(
        district,
        do="set scenario",
        set={"operation": {"aid": ["own", "mutual"]}, "roads": {"speed_mph": {"tertiary": 40}}},
    )
    assert after.scenario.operation.aid == ("own", "mutual")
    assert after.scenario.operation.alarm == district.scenario.operation.alarm
    assert after.scenario.roads.speed_mph.tertiary == 40
    assert after.scenario.roads.speed_mph.primary == district.scenario.roads.speed_mph.primary


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"do": "change fill site", "site_id": "H3", "set": {}}, r"H3.*Did you mean 'H\d'"),
        ({"do": "change fill site", "site_id": "H1", "set": {"flow_gmp": 1}}, "'flow_gpm'"),
        ({"do": "change fill site", "site_id": "H1", "set": {"flow_gpm": -1}}, "greater than 0"),
        ({"do": "change fill site", "site_id": "H1", "set": {"flow_gpm": "1"}}, "be a number"),
        ({"do": "change fill site", "site_id": "H1", "set": {"kind": "pond"}}, "usable_gal"),
        ({"do": "change fill site", "site_id": "H1", "set": {"open_months": "13"}}, "months"),
        ({"do": "move unit", "unit_id": "T1", "to": "S9"}, "not in the table stations"),
        ({"do": "retire unit", "unit_id": "T7"}, "not in the table apparatus"),
        ({"do": "change road", "way_ids": (7,), "set": {}}, "no way of the district"),
        ({"do": "set scenario", "set": {"roads": {"tracks": True}}}, "roads.tracks = true decides"),
        ({"do": "change road", "way_ids": (1,), "set": {"way_id": 2}}, "not for changing"),
        (
            {"do": "add unit", "row": {"unit_id": "T1", "station_id": "S1", "kind": "engine"}},
            "is there already",
        ),
        ({"do": "add fill site", "row": {"site_id": "H9", "kind": "hydrant"}}, "lat"),
    ],
)
def test_what_the_tables_forbid_is_named(district: Inputs, keys: Any, said: str) -> None:
    with pytest.raises(TableError, match=said) as refused:
        change(**keys).applied(district, "pond, change 1")
    assert all(fault.row == "pond, change 1" for fault in refused.value.faults)


def option(name: str, *changes: Change) -> Option:
    return Option(name=name, title=name, changes=changes)


def test_contradictions_are_refused_by_name(district: Inputs) -> None:
    moves = option("moves", change(do="move unit", unit_id="T1", to="S2"))
    stays = option("stays", change(do="change unit", unit_id="T1", set={"station_id": "S1"}))
    piped = option("piped", change(do="change unit", unit_id="T1", set={"fill_gpm": 1500}))
    gone = option("gone", change(do="retire unit", unit_id="T1"))
    book = OptionBook(options=(moves, stays, piped, gone))
    assert contradiction(moves, piped) is None
    assert contradiction(piped, piped) is None
    for one, other in ((moves, stays), (gone, piped), (moves, gone)):
        assert contradiction(one, other) == contradiction(other, one) is not None
        with pytest.raises(InputError, match=f"'{one.name}'.*'{other.name}'.*T1"):
            book.together([one.name, other.name])
    both = book.together(["moves", "piped"]).applied(district)
    unit = row_of(both.apparatus, "unit_id", "T1")
    assert (unit["station_id"], unit["fill_gpm"]) == ("S2", 1500)


def test_the_same_value_twice_is_no_contradiction() -> None:
    one = change(do="set scenario", set={"operation": {"alarm": 3}})
    other = change(do="set scenario", set={"operation": {"alarm": 3, "month": 2}})
    third = change(do="set scenario", set={"operation": {"month": 3}})
    assert clash(one, other) is None
    assert clash(other, third) == "operation month"


def test_options_that_go_together_do_so_in_any_order(district: Inputs) -> None:
    lat, lon = degrees(1.5)
    row = {"site_id": "A", "kind": "hydrant", "lat": lat, "lon": lon, "flow_gpm": 600}
    options = [
        option("a", change(do="add fill site", row=row)),
        option("b", change(do="add fill site", row={**row, "site_id": "B"})),
        option("c", change(do="change unit", unit_id="T1", set={"fill_gpm": 1500})),
    ]
    forth = OptionBook(options=tuple(options)).together(["a", "b", "c"]).applied(district)
    back = OptionBook(options=tuple(options)).together(["c", "b", "a"]).applied(district)
    ordered = [
        [getattr(d, name).sort_values(key, ignore_index=True) for d in (forth, back)]
        for name, key in (("fill_sites", "site_id"), ("apparatus", "unit_id"))
    ]
    for one, other in ordered:
        assert_frame_equal(one, other)
