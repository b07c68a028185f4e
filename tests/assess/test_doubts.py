"""What `check` finds doubtful or assumed, one district a doubt."""

import numpy as np
import pytest

from by_hand import Row, engine, hydrant, inputs, parcel, road_point, station, tanker
from haulshed.assess.doubts import doubts
from haulshed.assess.findings import Findings, Weight
from haulshed.scenario import Scenario

CREW = [engine(1), tanker(1, portable_tank_gal=2500.0, tank_to_pump_gpm=500.0)]


def found(
    sites: list[Row] | None = None,
    stations: list[Row] | None = None,
    apparatus: list[Row] | None = None,
    parcels: list[Row] | None = None,
    **scenario: dict[str, object],
) -> Findings:
    case = inputs(
        sites=sites or [hydrant("H1", 1.0)],
        stations=stations or [station()],
        apparatus=apparatus or CREW,
        parcels=parcels or [parcel()],
        scenario=Scenario.model_validate({"demand": {"method": "fixed"}} | scenario),
    )
    return doubts(case, progress=lambda _step, _done=0, _of=0: None)


def test_a_sound_district_has_no_doubt_and_says_what_it_assumes() -> None:
    findings = found().findings
    assert [one.what for one in findings if one.weight is Weight.DOUBTFUL] == []
    assert any("no posted speed" in one.what for one in findings)


@pytest.mark.parametrize(
    ("changes", "words", "rows"),
    [
        (
            {"sites": [hydrant("H1", 1.0), hydrant("H2", 1.0, geometry=road_point(1.0, 5000.0))]},
            "fill sites farther than 200 ft",
            ("H2",),
        ),
        (
            {"stations": [station(), station(station_id="S2", geometry=road_point(0.0, 900.0))]},
            "stations farther than 200 ft",
            ("S2",),
        ),
        (
            {"stations": [station(), station(station_id="S2")]},
            "stations without apparatus",
            ("S2",),
        ),
        (
            {"parcels": [parcel(), parcel(parcel_id="P2", geometry=road_point(0.0, 2000.0))]},
            "parcels farther than 2640 ft",
            ("P2",),
        ),
        ({"sites": [hydrant("H1", 1.0), hydrant("H2", 1.0, status="closed")]}, "not open", ("H2",)),
        (
            # By hand: 2,000 gal × 8.34 lb = 16,680 lb; 0.7 and 1.3 times that are 11,676 and
            # 21,684 lb.
            {
                "apparatus": [
                    *CREW,
                    tanker(2, tank_gal=2000.0, weight_lb=41_700.0, empty_weight_lb=30_000.0),
                    tanker(3, tank_gal=2000.0, weight_lb=41_600.0, empty_weight_lb=30_000.0),
                    tanker(4, tank_gal=2000.0, weight_lb=51_600.0, empty_weight_lb=30_000.0),
                    tanker(5, tank_gal=2000.0, weight_lb=51_700.0, empty_weight_lb=30_000.0),
                    tanker(6, tank_gal=2000.0, weight_lb=51_700.0),
                ]
            },
            "units with weights over 30% off",
            ("T3", "T5"),
        ),
        (
            {"apparatus": [*CREW, tanker(2, tank_gal=799.0), tanker(3, tank_gal=800.0)]},
            "tankers with a tank under 800 gal",
            ("T2",),
        ),
        (
            {
                "sites": [
                    hydrant("H1", 1.0, flow_gpm=5000.0),
                    hydrant("H2", 1.0, flow_gpm=5001.0),
                ]
            },
            "fill sites said to give over 5,000 gpm",
            ("H2",),
        ),
        (
            {
                "sites": [
                    hydrant("H1", 1.0, source_id="A", usable_gal=20_000.0),
                    hydrant("H2", 1.0, source_id="A", usable_gal=30_000.0),
                    hydrant("H3", 1.0, source_id="B", usable_gal=30_000.0),
                    hydrant("H4", 1.0, source_id="B", usable_gal=None),
                ]
            },
            "on one source that state different volumes",
            ("H1", "H2"),
        ),
        (
            {
                "sites": [
                    hydrant(
                        "H1",
                        1.0,
                        flow_gpm=np.nan,
                        static_psi=80.0,
                        residual_psi=78.0,
                        test_flow_gpm=400.0,
                    )
                ]
            },
            "over 2 times the flow",
            ("H1",),
        ),
        ({"apparatus": [*CREW, tanker(2, alarm=9.0)]}, "does not call", ("T2",)),
        ({"apparatus": [engine(1), tanker(1)]}, "not one carries a portable tank", ("E1", "T1")),
        ({"apparatus": [tanker(1, portable_tank_gal=2500.0)]}, "no engine among", ("T1",)),
        ({"apparatus": [engine(1, portable_tank_gal=2500.0)]}, "no tanker among", ("E1",)),
        (
            {"apparatus": [engine(1, supply_hose_ft=0.0), *CREW[1:]]},
            "carries supply hose",
            ("E1", "T1"),
        ),
        ({"operation": {"assembly_min": 1}}, "at no parcel within", ("E1", "T1")),
        (
            {"sites": [hydrant("H1", 0.3)], "roads": {"method": "road_distance"}},
            "0.5 to 8 road miles",
            ("P1",),
        ),
        (
            {"sites": [hydrant("H1", 4.0, flow_source="default"), hydrant("H2", 1.0)]},
            "whose flow nobody tested",
            ("H1",),
        ),
        (
            {"sites": [hydrant("H1", 1.0, kind="pond", usable_gal=9e4, volume_source="default")]},
            "whose volume nobody measured",
            ("H1",),
        ),
        (
            {"sites": [hydrant("H1", 1.0, positions_source="default")]},
            "one fill position by default",
            ("H1",),
        ),
        ({"apparatus": [CREW[0], tanker(1, unit_source="default")]}, "only stand in", ("T1",)),
        ({"demand": {"method": "column"}}, "without a needed_gpm of their own", ("P1",)),
    ],
)
def test_doubts(changes: dict[str, object], words: str, rows: tuple[str, ...]) -> None:
    named = {one.what: one for one in found(**changes).findings}
    (what,) = [what for what in named if words in what]
    assert named[what].rows == rows
    assert named[what].cure


def test_untested_hydrants_stand_in_the_order_of_the_parcels_that_are_nearest_to_them() -> None:
    """By hand: of three parcels two lie nearest to H2 and one to H3; H1 is nearest to none."""
    sites = [
        hydrant(f"H{n}", mile, flow_source="default") for n, mile in ((1, -4.0), (2, 1.0), (3, 4.0))
    ]
    parcels = [
        parcel(parcel_id=f"P{n}", geometry=road_point(mile, 100.0))
        for n, mile in enumerate((0.8, 1.2, 4.1))
    ]
    named = {one.what: one for one in found(sites=sites, parcels=parcels).findings}
    (untested,) = [one for what, one in named.items() if "nobody tested" in what]
    assert untested.ids == ("H2", "H3", "H1")


@pytest.mark.parametrize("empty", ["sites", "apparatus"])
def test_a_table_without_a_row_is_said_first(empty: str) -> None:
    case = inputs(
        sites=[] if empty == "sites" else [hydrant("H1", 1.0)],
        stations=[station()],
        apparatus=[] if empty == "apparatus" else CREW,
        parcels=[parcel()],
        scenario=Scenario(),
    )
    first = doubts(case, progress=lambda _step, _done=0, _of=0: None).findings[0]
    assert first.ids == ({"sites": "fill_sites"}.get(empty, empty),)
    assert "no water is hauled" in first.what
