"""Why nothing can be hauled, in the order that is written down."""

import numpy as np
import pytest

from shuttle.made import INF, Made, places, sites, tankers


def case(count: int = 3, **there: object) -> Made:
    return Made(tankers=tankers(count), sites=sites(2), places=places(count, 2, **there))


NO_LAY = {"line_gpm": 0.0, "pump_off_gpm": 0.0}


@pytest.mark.parametrize(
    ("made", "word"),
    [
        (case(on_road=False, loaded_min=INF, engines=0), "no road"),
        (case(loaded_min=INF, engines=0), "no road"),
        (case(engines=0).with_sites(open=np.zeros(2, np.bool_)), "no water"),
        (case(engines=0).with_sites(flow_gpm=np.zeros(2)), "no water"),
        (case(engines=0).with_sites(usable_gal=np.zeros(2)), "no water"),
        (case(engines=0, counted=False), "no engine"),
        (case(counted=False, **NO_LAY), "no tanker"),
        (case(1, engines=1, **NO_LAY), "one tanker"),
        (case(1, engines=1), "one tanker"),
        (case(**NO_LAY, hose_reaches=False), "supply hose too short"),
        (case(**NO_LAY), "supply line"),
        (case(engines=1).with_sites(needs_pumper=np.ones(2, np.bool_)), "engines"),
        (case(pump_off_gpm=0.0, engines=1), "engines"),
        (case(pump_off_gpm=0.0, dump_positions=0), "dump site"),
        (case(pump_off_gpm=[[0.0, 0.0, 500.0]], line_gpm=0.0), "one tanker"),
        (
            case(pump_off_gpm=0.0).with_tankers(
                dump_gpm=np.full(3, np.nan), release_gpm=np.zeros(3)
            ),
            "tankers",
        ),
    ],
)
def test_the_first_reason_that_applies(made: Made, word: str) -> None:
    got = made.flows()
    assert got.sustained_gpm[0] == 0
    assert made.word() == word
    assert got.minus_one_gpm[0] == 0
    assert not got.relies_on.any()
    assert not got.site_gpm.any()
    assert np.isnan(got.round_trip_min[0])


def test_a_closed_site_cannot_be_reached_only_the_open_ones_count() -> None:
    # The one open site has no road here; the closed one would have.
    made = case(loaded_min=[[INF, 3.0]]).with_sites(open=np.array([True, False]))
    assert made.word() == "no road"


def test_one_tanker_can_still_serve_a_dump_site() -> None:
    assert case(1).flows().dump_site_gpm[0] > 0


@pytest.mark.parametrize(("tankers_there", "sites_there"), [(0, 2), (2, 0), (0, 0)])
def test_an_empty_table_is_an_answer(tankers_there: int, sites_there: int) -> None:
    made = Made(
        tankers=tankers(tankers_there),
        sites=sites(sites_there),
        places=places(tankers_there, sites_there),
    )
    assert made.flows().sustained_gpm.tolist() == [0.0]
    assert made.word() == ("no tanker" if sites_there else "no water")


def test_no_place_no_answer() -> None:
    made = Made(tankers=tankers(2), sites=sites(2), places=places(2, 2, 0))
    assert made.flows().sustained_gpm.size == 0
    assert made.flows().site_gpm.shape == (0, 2)
