"""Sheets of a district by hand: legs and flows of the model, the call, the hose, the dump site."""

from collections.abc import Sequence

import geopandas as gpd
import numpy as np
import pytest
from shapely import LineString, Point

from by_hand import CRS, Row, engine, hydrant, inputs, parcel, road, station, tanker
from haulshed.assess.model import assess
from haulshed.assess.sheets import Sheet, ids_of, sheets
from haulshed.case import Inputs
from haulshed.errors import InputError
from haulshed.tables.segments import Segments

WEST_M, NORTH_M = 400_000.0, 4_500_000.0
#: Corners of a square of one mile a side [m].
MILE_M = 1609.344


def quiet(step: str, done: int = 0, of: int = 0) -> None:
    """Report nothing."""


def only_sheet(case: Inputs) -> Sheet:
    (one,) = sheets(case, [str(case.parcels["parcel_id"].iloc[0])], progress=quiet)
    return one


def xy(east_mi: float, north_mi: float) -> tuple[float, float]:
    return WEST_M + east_mi * MILE_M, NORTH_M + north_mi * MILE_M


def roads(*lines: Sequence[tuple[float, float]], **columns: Sequence[object]) -> Segments:
    """Return roads between corners in miles; nodes are the corners."""
    plain = road(0.0, 1.0).iloc[0].drop("geometry").to_dict()
    corners: dict[tuple[float, float], int] = {}
    rows = []
    for number, line in enumerate(lines):
        ends = [corners.setdefault(corner, len(corners)) for corner in (line[0], line[-1])]
        own = {name: values[number] for name, values in columns.items()}
        rows.append(
            plain
            | {"segment_id": number, "way_id": number, "name": f"Road {number}"}
            | {"from_node": ends[0], "to_node": ends[1]}
            | own
        )
    shapes = [LineString([xy(*corner) for corner in line]) for line in lines]
    return Segments(gpd.GeoDataFrame(rows, geometry=shapes, crs=CRS))


#: Round a square mile; the fill site is on the south side, the parcel on the north side.
SQUARE = [[(0, 0), (1, 0)], [(1, 0), (1, 1)], [(0, 1), (1, 1)], [(0, 0), (0, 1)]]


def at(east_mi: float, north_mi: float) -> Point:
    return Point(xy(east_mi, north_mi))


def case(segments: Segments, *, site: Point, home: Point, **changes: Sequence[Row]) -> Inputs:
    tables: dict[str, Sequence[Row]] = {
        "sites": [hydrant("H1", 0.0, geometry=site)],
        "stations": [station(geometry=at(0.1, 0.0))],
        "apparatus": [engine(1), engine(2), tanker(1), tanker(2), tanker(3)],
        "parcels": [parcel(geometry=home)],
    }
    return inputs(segments=segments, **{name: list(v) for name, v in (tables | changes).items()})


def test_minutes_and_miles_are_the_legs(square: Sheet, square_case: Inputs) -> None:
    (site,) = square.sites
    fixed_min = square_case.scenario.roads.leg_fixed_min
    assert site.loaded.way.minutes + fixed_min == pytest.approx(site.loaded_min, abs=1e-6)
    assert site.empty.way.minutes + fixed_min == pytest.approx(site.empty_min, abs=1e-6)
    assert square.answer["road_miles_to_site"] == pytest.approx(site.loaded.way.miles, abs=1e-6)
    for way in (site.loaded, site.empty):
        assert sum(step.miles for step in way.steps) == pytest.approx(way.way.miles, abs=1e-9)
        assert sum(step.minutes for step in way.steps) == pytest.approx(way.way.minutes, abs=1e-9)


@pytest.fixture(scope="module")
def square_case() -> Inputs:
    return case(roads(*SQUARE), site=at(0.3, -0.005), home=at(0.6, 1.01))


@pytest.fixture(scope="module")
def square(square_case: Inputs) -> Sheet:
    return only_sheet(square_case)


def test_each_tanker_more_adds_up_to_the_sustained_flow(square: Sheet, square_case: Inputs) -> None:
    """The steps are runs of their own: the district with the first one, two, three tankers."""
    flows = [one.flow_gpm for one in square.tankers]
    assert len(flows) == 3
    for count, flow_gpm in enumerate(flows, start=1):
        fewer = case(
            roads(*SQUARE),
            site=at(0.3, -0.005),
            home=at(0.6, 1.01),
            apparatus=[engine(1), engine(2), *map(tanker, range(1, count + 1))],
        )
        held = assess(fewer, progress=quiet).parcels["sustained_gpm"].iloc[0]
        assert flow_gpm == pytest.approx(held, abs=1e-6)
    assert flows[0] == 0  # one tanker never holds a flow
    needed = square.answer["tankers_needed"]
    enough = [
        n for n, flow in enumerate(flows, 1) if flow >= float(str(square.answer["needed_gpm"]))
    ]
    assert needed == (enough[0] if enough else None)
    assert assess(square_case, progress=quiet).parcels["sustained_gpm"].iloc[0] == pytest.approx(
        flows[-1], abs=1e-6
    )


def test_the_circuit_goes_round_the_square(square: Sheet) -> None:
    """West side in and east side out, or the other way: 4 miles in all."""
    assert square.dump is not None
    assert square.dump.dead_end is False
    circuit = square.dump.circuit
    assert circuit is not None
    assert circuit.loaded.way.miles + circuit.empty.way.miles == pytest.approx(4.0, abs=1e-6)
    loaded, empty = circuit.loaded.way.segments, circuit.empty.way.segments
    assert {loaded[1], empty[-2]} == {1, 3}
    # The quickest way there is 0.3 + 1 + 0.6 = 1.9 miles, and back: 0.2 miles less.
    minutes = 0.2 / 35 * 60
    assert circuit.extra_min == pytest.approx(minutes, abs=1e-6)


def test_a_dead_end_is_told() -> None:
    stub = [*SQUARE, [(0, 1), (0, 2)]]
    told = only_sheet(case(roads(*stub), site=at(0.3, -0.005), home=at(0.01, 1.6)))
    assert told.dump is not None
    assert (told.dump.dead_end, told.dump.circuit, told.dump.name) == (True, None, "Road 4")


def test_one_ways_send_the_loaded_over_other_roads() -> None:
    """Round the square one way, against the clock: 1.9 miles there, the other 2.1 back."""
    forward, backward = [True, True, False, False], [False, False, True, True]
    drawn = roads(*SQUARE, forward_open=forward, backward_open=backward)
    told = only_sheet(case(drawn, site=at(0.3, -0.005), home=at(0.6, 1.01)))
    (site,) = told.sites
    assert site.loaded.way.miles == pytest.approx(0.7 + 1 + 0.4, abs=1e-6)
    assert site.empty.way.miles == pytest.approx(0.6 + 1 + 0.3, abs=1e-6)
    assert [step.name for step in site.loaded.steps] == ["Road 0", "Road 1", "Road 2"]
    assert [step.turn.value for step in site.loaded.steps] == ["start", "turn left", "turn left"]


def test_a_posted_weight_sends_full_tankers_another_way() -> None:
    """The west side bears an empty tanker only: out by it, back loaded by the longer east side."""
    weak = [np.nan, np.nan, np.nan, 25_000.0]
    heavy = [
        tanker(n, weight_lb=40_000.0, empty_weight_lb=22_000.0, height_ft=10.0) for n in (1, 2, 3)
    ]
    light = [engine(1, weight_lb=20_000.0), engine(2, weight_lb=20_000.0)]
    drawn = roads(*SQUARE, max_weight_lb=weak)
    told = only_sheet(
        case(drawn, site=at(0.2, -0.005), home=at(0.2, 1.01), apparatus=[*light, *heavy])
    )
    (site,) = told.sites
    assert 3 in site.empty.way.segments
    assert 3 not in site.loaded.way.segments
    assert site.empty.way.miles == pytest.approx(1.4, abs=1e-6)
    assert site.loaded.way.miles == pytest.approx(2.6, abs=1e-6)
    assert site.other_units == ()
    # It is a circuit already: what is quickest comes in by one end and leaves by the other.
    assert told.dump is not None
    assert told.dump.circuit is not None
    assert told.dump.circuit.extra_min == pytest.approx(0.0, abs=1e-9)


def test_the_first_hose_there_is_laid_first_and_what_lacks_is_known() -> None:
    told = only_sheet(
        case(
            roads(*SQUARE),
            site=at(0.3, -0.005),
            home=at(0.6, 1.01),
            parcels=[parcel(geometry=at(0.6, 1.01), lay_ft=1700.0)],
            apparatus=[
                engine(1, supply_hose_in=4.0, supply_hose_ft=800.0),
                engine(2, supply_hose_in=5.0, supply_hose_ft=1000.0),
                tanker(1),
                tanker(2),
            ],
        )
    )
    laid = [(one.unit_id, one.diameter_in, one.laid_ft) for one in told.hose]
    assert laid == [("E2", 5.0, 1000.0), ("E1", 4.0, 700.0)]


def test_without_roads_or_water_a_sheet_is_still_a_sheet() -> None:
    far = only_sheet(case(roads(*SQUARE), site=at(0.3, -0.005), home=at(9, 9)))
    assert (far.access, far.sites, far.dump, far.tankers) == (None, (), None, ())
    assert far.played.first_water_min is None
    dry = only_sheet(
        case(
            roads(*SQUARE),
            site=at(0.3, 0),
            home=at(0.6, 1.01),
            sites=[hydrant("H1", 0.0, geometry=at(0.3, 0), status="closed")],
        )
    )
    assert dry.sites == ()
    assert dry.dump is not None
    assert dry.dump.dead_end is None


def test_a_source_that_runs_out_is_told() -> None:
    pond = {
        "site_id": "P1",
        "kind": "pond",
        "geometry": at(0.3, -0.005),
        "flow_gpm": 1000.0,
        "usable_gal": 9_000.0,
        "fill_positions": 2,
    }
    told = only_sheet(
        case(
            roads(*SQUARE),
            site=at(0.3, 0),
            home=at(0.6, 1.01),
            sites=[pond],
            apparatus=[engine(1), engine(2), engine(3), tanker(1), tanker(2), tanker(3)],
        )
    )
    (dry,) = told.played.dry
    # 9,000 gal are five loads of 1,800 gal; the fifth leaves less than one.
    assert (dry.source_id, dry.site_ids) == ("P1", ("P1",))
    assert dry.from_min > 0
    assert told.played.gaps[-1].to_min == told.played.overhaul_min


def test_unknown_parcels_are_named_at_once() -> None:
    with pytest.raises(InputError) as raised:
        sheets(case(roads(*SQUARE), site=at(0, 0), home=at(0, 1)), ["P11", "Q"], progress=quiet)
    assert "'P11'" in str(raised.value)
    assert "'Q'" in str(raised.value)


def test_those_of_a_kind_are_the_table_s(square_case: Inputs) -> None:
    table = assess(square_case, progress=quiet).parcels
    expected = table.loc[table["verdict"] == "short", "parcel_id"].tolist()
    assert list(ids_of(square_case, only_short=True, area=None, progress=quiet)) == expected
    assert ids_of(square_case, only_short=False, area="S1", progress=quiet) == ("P1",)
    with pytest.raises(InputError, match=r"no parcel is in an area 'S2'\. There are: S1\."):
        ids_of(square_case, only_short=False, area="S2", progress=quiet)
