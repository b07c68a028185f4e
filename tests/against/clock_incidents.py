"""Incidents drawn at random, as the simulation takes them and as the clock does."""

from collections.abc import Sequence
from dataclasses import replace
from math import ceil, inf, isinf

import numpy as np

from haulshed.clock.given import Engines, Luck, Scenes, TankerCrews, Water
from haulshed.clock.setting import Setting
from haulshed.crosscheck.incident import Engine, Incident, Site, Source, Tanker


def _column(values: Sequence[object], kind: type = float) -> np.ndarray:
    return np.array([list(values)], dtype=kind)[0]


def setting_of(incident: Incident) -> Setting:
    """Return what does not depend on the place; every tanker is a weight class of its own."""
    tankers, engines, sites = incident.tankers, incident.engines, incident.sites
    nothing = np.zeros(len(tankers))
    return Setting(
        tankers=TankerCrews(
            load_gal=_column([t.load_gal for t in tankers]),
            take_min=np.array([t.take_min for t in tankers]).reshape(len(tankers), len(sites)),
            unload_gpm=_column([t.unload_gpm for t in tankers]),
            portable_gal=_column([t.portable_gal for t in tankers]),
            crew=_column([t.crew for t in tankers], np.int64),
            weight_class=np.arange(len(tankers)),
            turnout_min=nothing,
            down_min=_column([t.down_min for t in tankers]),
        ),
        engines=Engines(
            tank_gal=_column([e.tank_gal for e in engines]),
            portable_gal=_column([e.portable_gal for e in engines]),
            hose_ft=_column([e.hose_ft for e in engines]),
            crew=_column([e.crew for e in engines], np.int64),
            turnout_min=np.zeros(len(engines)),
            site_min=np.array([e.at_site_min for e in engines]).reshape(len(engines), len(sites)),
        ),
        water=Water(
            handling_min=_column([s.handling_min for s in sites]),
            positions=_column([s.positions for s in sites], np.int64),
            flow_gpm=_column([s.flow_gpm for s in sites]),
            needs_pumper=_column([s.needs_pumper for s in sites], np.bool_),
            open=_column([s.open for s in sites], np.bool_),
            closes_min=_column([s.closes_min for s in sites]),
            source=_column([s.source for s in sites], np.int64),
            source_gpm=_column([s.flow_gpm for s in incident.sources]),
            stored_gal=_column([s.stored_gal for s in incident.sources]),
            recharge_gpm=_column([s.recharge_gpm for s in incident.sources]),
        ),
        operation=incident.operation,
        rules=incident.rules,
    )


def scenes_of(incident: Incident) -> Scenes:
    """Return the one place."""
    legs = (1, len(incident.tankers), len(incident.sites))
    return Scenes(
        tanker_min=_column([t.arrives_min for t in incident.tankers])[None, :],
        engine_min=_column([e.arrives_min for e in incident.engines])[None, :],
        loaded_min=np.array([t.loaded_min for t in incident.tankers]).reshape(legs),
        empty_min=np.array([t.empty_min for t in incident.tankers]).reshape(legs),
        lay_ft=np.array([incident.lay_ft]),
        line_gpm=np.array([incident.line_gpm]),
        pump_off_gpm=_column([t.pump_off_gpm for t in incident.tankers])[None, :],
        asked_gpm=np.array([incident.asked_gpm]),
        builds=np.array([incident.builds]),
        plan_gpm=np.array([incident.plan_gpm], dtype=float),
        pumper_sites=np.array([incident.pumper_sites], dtype=np.int64).reshape(1, -1),
        pumper_first=np.array([incident.pumper_first]),
    )


def luck_of(incident: Incident) -> Luck:
    """Return the factors by trip; drives are the incident's own already."""
    tankers, engines = len(incident.tankers), len(incident.engines)

    def factors(name: str) -> np.ndarray:
        return np.array([[getattr(tanker, name) for tanker in incident.tankers]], dtype=float)

    return Luck(
        tanker_comes=np.ones((1, tankers), np.bool_),
        engine_comes=np.ones((1, engines), np.bool_),
        tanker_turnout=np.ones((1, tankers)),
        engine_turnout=np.ones((1, engines)),
        tanker_drive=np.ones((1, tankers)),
        engine_drive=np.ones((1, engines)),
        site_handling=factors("handling_factor"),
        taking=factors("taking_factor"),
        unload_handling=factors("unload_factor"),
    )


#: Trips after which a tanker's factors begin again.
TRIPS = 5


def drawn(rng: np.random.Generator, *, uneven: bool = False, failing: bool = False) -> Incident:
    """Return an incident of up to eight tankers and four sites, on two sources or one."""
    counts = [int(n) for n in rng.integers((1, 1, 1, 1), (9, 6, 5, 3))]
    tankers, engines, sites, sources = counts
    all_sites = tuple(_site(rng, sources, failing=failing) for _ in range(sites))
    needing = [at for at in range(sites) if all_sites[at].needs_pumper]
    order = tuple(int(at) for at in rng.permutation(needing))
    return Incident(
        tankers=tuple(
            _tanker(rng, all_sites, uneven=uneven, failing=failing) for _ in range(tankers)
        ),
        engines=tuple(_engine(rng, sites) for _ in range(engines)),
        sites=all_sites,
        sources=tuple(_source(rng) for _ in range(sources)),
        asked_gpm=float(rng.uniform(150, 1200)),
        line_gpm=float(rng.uniform(300, 1500)),
        lay_ft=float(rng.uniform(50, 2500)),
        builds=bool(rng.random() < 0.7),
        plan_gpm=tuple(float(gpm) for gpm in rng.choice([0.0, 250.0, 330.0, 470.0], sites)),
        pumper_sites=order,
        pumper_first=bool(rng.random() < 0.3),
    )


def _tanker(
    rng: np.random.Generator, sites: Sequence[Site], *, uneven: bool, failing: bool
) -> Tanker:
    load_gal = float(rng.uniform(900, 3200))
    rate_gpm = float(rng.uniform(500, 1200))
    legs = rng.uniform(1.5, 14, (2, len(sites)))
    legs[:, rng.random(len(sites)) < 0.1] = inf
    tanker = Tanker(
        load_gal=load_gal,
        arrives_min=float(rng.uniform(4, 30)),
        take_min=tuple(load_gal / min(rate_gpm, site.flow_gpm) for site in sites),
        loaded_min=tuple(float(leg) for leg in legs[0]),
        empty_min=tuple(float(leg) for leg in legs[1]),
        unload_gpm=float(rng.choice([0.0, *rng.uniform(300, 1500, 5)])),
        pump_off_gpm=float(rng.choice([0.0, *rng.uniform(100, 900, 4)])),
        portable_gal=float(rng.choice([0.0, *rng.uniform(1500, 3500, 3)])),
        crew=int(rng.integers(1, 4)),
        down_min=float(rng.uniform(5, 150)) if failing and rng.random() < 0.25 else inf,
        handling_factor=(1.0,) * TRIPS,
        taking_factor=(1.0,) * TRIPS,
        unload_factor=(1.0,) * TRIPS,
    )
    return _uneven(tanker, rng) if uneven else tanker


def _uneven(tanker: Tanker, rng: np.random.Generator) -> Tanker:
    """Return a tanker whose times vary from trip to trip."""
    factors = np.exp(0.25 * rng.normal(size=(3, TRIPS))).tolist()
    handling, taking, unload = map(tuple, factors)
    return replace(tanker, handling_factor=handling, taking_factor=taking, unload_factor=unload)


def with_uneven_times(incident: Incident, rng: np.random.Generator) -> Incident:
    """Return an incident with other times from trip to trip."""
    return replace(incident, tankers=tuple(_uneven(one, rng) for one in incident.tankers))


def in_round_figures(incident: Incident) -> Incident:
    """Return an incident whose figures are so round that much falls on the same moment."""
    sites = tuple(
        replace(
            site,
            handling_min=_up(site.handling_min, 1),
            flow_gpm=_up(site.flow_gpm, 500) + 500,
            closes_min=_up(site.closes_min, 5),
        )
        for site in incident.sites
    )
    return replace(
        incident,
        tankers=tuple(_round_tanker(tanker, sites) for tanker in incident.tankers),
        engines=tuple(
            replace(
                engine,
                arrives_min=_up(engine.arrives_min, 10),
                at_site_min=tuple(_up(minute, 10) for minute in engine.at_site_min),
            )
            for engine in incident.engines
        ),
        sites=sites,
        sources=tuple(
            replace(
                source,
                flow_gpm=_up(source.flow_gpm, 500),
                stored_gal=_up(source.stored_gal, 1000),
            )
            for source in incident.sources
        ),
        asked_gpm=_up(incident.asked_gpm, 250),
        line_gpm=_up(incident.line_gpm, 250),
    )


def _round_tanker(tanker: Tanker, sites: Sequence[Site]) -> Tanker:
    load_gal = _up(tanker.load_gal, 1000)
    return replace(
        tanker,
        load_gal=load_gal,
        arrives_min=_up(tanker.arrives_min, 10),
        take_min=tuple(max(2.0, load_gal / site.flow_gpm) for site in sites),
        loaded_min=tuple(_up(leg, 5) for leg in tanker.loaded_min),
        empty_min=tuple(_up(leg, 5) for leg in tanker.empty_min),
        unload_gpm=_up(tanker.unload_gpm, 500),
        pump_off_gpm=_up(tanker.pump_off_gpm, 250),
        portable_gal=_up(tanker.portable_gal, 1000),
        down_min=_up(tanker.down_min, 5),
    )


def _up(value: float, step: float) -> float:
    return value if isinf(value) else ceil(value / step) * float(step)


def _engine(rng: np.random.Generator, sites: int) -> Engine:
    return Engine(
        arrives_min=float(rng.uniform(3, 25)),
        at_site_min=tuple(float(minute) for minute in rng.uniform(3, 30, sites)),
        tank_gal=float(rng.choice([500.0, 750.0, 1000.0])),
        portable_gal=float(rng.choice([0.0, 0.0, 2500.0])),
        hose_ft=float(rng.uniform(300, 1500)),
        crew=int(rng.integers(2, 6)),
    )


def _site(rng: np.random.Generator, sources: int, *, failing: bool) -> Site:
    return Site(
        handling_min=float(rng.uniform(0.5, 4)),
        positions=int(rng.integers(1, 4)),
        flow_gpm=float(rng.uniform(400, 2000)),
        source=int(rng.integers(0, sources)),
        needs_pumper=bool(rng.random() < 0.5),
        open=bool(rng.random() < 0.9),
        closes_min=float(rng.uniform(10, 140)) if failing and rng.random() < 0.4 else inf,
    )


def _source(rng: np.random.Generator) -> Source:
    limited = rng.random() < 0.5
    return Source(
        flow_gpm=float(rng.uniform(800, 3000)),
        stored_gal=float(rng.uniform(3000, 60000)) if limited else inf,
        recharge_gpm=float(rng.choice([0.0, 30.0, 250.0])),
    )
