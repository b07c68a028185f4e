"""The simulation by hand, and the laws that every incident keeps."""

from dataclasses import replace
from math import inf, isnan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crosscheck.incidents import UNLOAD_MIN, loop
from haulshed.crosscheck.incident import Engine, Incident, Played, Site, Source, Tanker
from haulshed.crosscheck.simulate import simulate
from haulshed.scenario import Operation
from haulshed.scenario.clock import ClockRules


def _tanker(arrives_min: float, **changes: object) -> Tanker:
    usual: dict[str, object] = {
        "load_gal": 1800.0, "take_min": (2.0,), "loaded_min": (4.0,), "empty_min": (4.0,),
        "unload_gpm": 1000.0, "pump_off_gpm": 500.0, "portable_gal": 2500.0,
    }  # fmt: skip
    return Tanker(arrives_min=arrives_min, **{**usual, **changes})  # type: ignore[arg-type]


def _engine(arrives_min: float, **changes: object) -> Engine:
    usual: dict[str, object] = {"at_site_min": (arrives_min,), "tank_gal": 1000.0, "hose_ft": 500.0}
    return Engine(arrives_min=arrives_min, **{**usual, **changes})  # type: ignore[arg-type]


NURSING = Incident(
    tankers=(_tanker(14), _tanker(14), _tanker(18), _tanker(22)),
    engines=(_engine(8), _engine(12)),
    sites=(Site(handling_min=2.5, positions=1, flow_gpm=1000),),
    sources=(Source(flow_gpm=1000),),
    asked_gpm=400,
    line_gpm=1000,
    lay_ft=800,
)


def test_nursing_by_hand() -> None:
    played = simulate(NURSING)
    # Engine at 8, water 3 min later: 150 gpm for 10 min from its own tank.
    assert played.first_water_min == 11
    first, second, *_ = (trip for trip in played.trips if trip.number == 0)
    # The second engine's hose completes the 800 ft at 12, the line is ready at 17. Both tankers
    # were called at 14 and coupled at 16; the first by row pumps off. By 17 the engine's tank gave
    # 6 × 150 = 900 gal: the tanker fills it up at 500 - 150 = 350 gpm in 2.571 min (1,285.7 gal),
    # and the last 514.3 gal run at 150 gpm until 21, then at 400: 1,800 - 500 × 2.571 - 150 × 1.429
    # = 300 gal in 0.75 min.
    assert (first.called_min, first.unloads_min) == (14, 17)
    assert first.empty_min == pytest.approx(21.75)
    assert second.unloads_min == pytest.approx(21.75)
    assert second.empty_min == pytest.approx(21.75 + 4.5)
    trip = next(trip for trip in played.trips if trip.number == 1)
    assert trip.at_site_min == pytest.approx(25.75)
    assert trip.takes_min == pytest.approx(25.75 + 2.5)
    assert trip.back_min == pytest.approx(25.75 + 2.5 + 2 + 4)
    assert played.gaps() == []


def test_a_dump_site_by_hand() -> None:
    played = simulate(replace(NURSING, builds=True))
    # Engine and people (4 + 4 of the engines) at 12, a tank at 14, ten minutes to build.
    assert played.dump_site_min == 24
    # Of the two coupled at the time, one pumps off (21.75 to 26.25) and goes on; the one called
    # after it goes back to the queue and unloads.
    nursed = [trip.nursed for trip in played.trips if trip.number == 0]
    assert nursed == [1, 1, 0, 0]


def test_a_lone_tanker_leaves_gaps() -> None:
    played = simulate(replace(NURSING, tankers=NURSING.tankers[:1]))
    assert isnan(played.held_from_min)
    assert played.gaps()
    assert played.delivered_gal(120) < 400 * 120


def test_nobody_comes() -> None:
    played = simulate(replace(NURSING, engines=(replace(NURSING.engines[0], arrives_min=inf),)))
    assert (played.trips, played.delivered_gal(120)) == ((), 0)


def test_a_tanker_that_breaks_down_takes_its_water_along() -> None:
    broken = replace(NURSING.tankers[0], down_min=30.0)
    played = simulate(replace(NURSING, tankers=(broken, *NURSING.tankers[1:])))
    own = [trip for trip in played.trips if trip.tanker == 0]
    assert own[-1].number == 1  # at minute 30 it takes water, and never leaves
    assert isnan(own[-1].full_min)
    _water_is_kept(played)


def test_a_site_that_closes_turns_tankers_back() -> None:
    sites = (Site(handling_min=2.5, positions=1, flow_gpm=1000, closes_min=26.0),)
    played = simulate(replace(NURSING, sites=sites))
    filled = [trip for trip in played.trips if trip.full_min == trip.full_min and trip.number]
    assert filled == []
    _water_is_kept(played)


def _water_is_kept(played: Played) -> None:
    delivered_gal = played.delivered_gal(inf)
    assert played.brought_gal + played.taken_gal == pytest.approx(delivered_gal + played.left_gal)


minutes = st.floats(1, 25)
tankers = st.builds(
    Tanker,
    load_gal=st.floats(500, 4000),
    arrives_min=minutes,
    take_min=st.tuples(st.floats(1, 6), st.floats(1, 6)),
    loaded_min=st.tuples(st.floats(1, 15), st.floats(1, 15)),
    empty_min=st.tuples(st.floats(1, 15), st.floats(1, 15)),
    unload_gpm=st.one_of(st.just(0.0), st.floats(200, 2000)),
    pump_off_gpm=st.one_of(st.just(0.0), st.floats(100, 800)),
    portable_gal=st.one_of(st.just(0.0), st.floats(1000, 4000)),
    down_min=st.one_of(st.just(inf), st.floats(1, 150)),
)
engines = st.builds(
    Engine,
    arrives_min=minutes,
    at_site_min=st.tuples(minutes, minutes),
    tank_gal=st.floats(0, 1000),
    hose_ft=st.just(1000.0),
)
sites = st.builds(
    Site,
    handling_min=st.floats(0, 5),
    positions=st.integers(1, 2),
    flow_gpm=st.floats(2000, 5000),
    source=st.integers(0, 1),
    needs_pumper=st.booleans(),
    closes_min=st.one_of(st.just(inf), st.floats(1, 150)),
)
sources = st.builds(
    Source,
    flow_gpm=st.floats(4000, 9000),
    stored_gal=st.one_of(st.just(inf), st.floats(5000, 50000)),
    recharge_gpm=st.floats(0, 300),
)
incidents = st.builds(
    Incident,
    tankers=st.lists(tankers, max_size=6).map(tuple),
    engines=st.lists(engines, min_size=1, max_size=4).map(tuple),
    sites=st.tuples(sites, sites),
    sources=st.tuples(sources, sources),
    asked_gpm=st.floats(100, 1500),
    line_gpm=st.floats(200, 1500),
    builds=st.booleans(),
    pumper_sites=st.sampled_from([(), (0,), (1, 0)]),
    pumper_first=st.booleans(),
    rules=st.just(ClockRules(overhaul_min=20)),
    operation=st.just(Operation(duration_min=90)),
)


@given(incidents)
def test_no_water_is_made_or_lost(incident: Incident) -> None:
    played = simulate(incident)
    _water_is_kept(played)
    stored = [source.stored_gal for source in incident.sources]
    for left, at_first in zip(played.source_gal, stored, strict=True):
        assert -1e-6 <= left <= at_first + 1e-6


@given(incidents)
def test_trips_are_in_order_and_nobody_is_in_two_places(incident: Incident) -> None:
    played = simulate(incident)
    for trip in played.trips:
        moments = [
            trip.leaves_min, trip.at_site_min, trip.position_min, trip.takes_min, trip.full_min,
            trip.back_min, trip.called_min, trip.unloads_min, trip.empty_min,
        ]  # fmt: skip
        known = [moment for moment in moments if not isnan(moment)]
        assert known == sorted(known)
    for at, site in enumerate(incident.sites):
        stays = [t for t in played.trips if t.site == at and not isnan(t.position_min)]
        for moment in [stay.position_min for stay in stays]:
            inside = [s for s in stays if s.position_min <= moment < s.full_min - 1e-9]
            assert len(inside) <= site.positions


@settings(max_examples=25)
@given(st.integers(1, 6), st.floats(1, 12), st.floats(0.5, 6))
def test_littles_law(count: int, leg_min: float, fill_min: float) -> None:
    # Tankers = rounds a minute × minutes of a round, over the whole rounds of a steady loop.
    played = simulate(loop(count, leg_min=leg_min, fill_min=fill_min, duration_min=400))
    backs = [t for t in played.trips if 200 < t.back_min < 380 and not isnan(t.leaves_min)]
    rounds = {t.tanker: [one.back_min for one in backs if one.tanker == t.tanker] for t in backs}
    rate = sum((len(b) - 1) / (b[-1] - b[0]) for b in rounds.values() if len(b) > 1)
    alone_min = 2 * leg_min + fill_min + 1.0 + UNLOAD_MIN
    mean_min = max(alone_min, count * fill_min, count * (1.0 + UNLOAD_MIN))
    assert rate * mean_min == pytest.approx(count, rel=1e-6)
