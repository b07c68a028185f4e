"""Incidents for the clock: made by hand in a few words, or drawn at random."""

from dataclasses import dataclass, field, fields, replace

import numpy as np

from haulshed.clock.given import Engines, Luck, Scenes, TankerCrews, Water
from haulshed.clock.setting import Setting
from haulshed.clock.story import Story
from haulshed.clock.told import tell
from haulshed.scenario import ClockRules, Operation

INF = np.inf
#: A mile of 35-mph road.
LEG_MIN = 0.65 + 60 / 35


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """All that the clock is given."""

    tankers: TankerCrews
    engines: Engines
    water: Water
    scenes: Scenes
    operation: Operation = field(default_factory=Operation)
    rules: ClockRules = field(default_factory=ClockRules)

    @property
    def setting(self) -> Setting:
        return Setting(
            tankers=self.tankers,
            engines=self.engines,
            water=self.water,
            operation=self.operation,
            rules=self.rules,
        )

    def played(self, luck: Luck | None = None) -> Story:
        sure = Luck.constant(self.tankers.load_gal.size, self.engines.tank_gal.size)
        return tell(self.setting, self.scenes, luck or sure, place=0)

    def with_keys(self, **keys: float) -> "Given":
        """Return the same with other keys of [clock] or [operation]."""
        ours = {name: keys.pop(name) for name in list(keys) if name in ClockRules.model_fields}
        return replace(
            self,
            rules=self.rules.model_copy(update=ours),
            operation=self.operation.model_copy(update=keys),
        )

    def having(self, part: str, **columns: object) -> "Given":
        """Return the same with other columns of one part."""
        whole = getattr(self, part)
        given = {
            name: _column(value, getattr(whole, name).shape).astype(getattr(whole, name).dtype)
            for name, value in columns.items()
        }
        return replace(self, **{part: replace(whole, **given)})


def _column(value: object, shape: tuple[int, ...]) -> np.ndarray:
    return np.array(np.broadcast_to(value, shape))


def made(tankers: int = 2, engines: int = 2, sites: int = 1) -> Given:
    """
    Return an incident a mile from hydrants with two positions, 1,000 gpm for each tanker.

    Like tankers of 2,000 gal (1,800 usable, 2.0 min to take) arrive at minutes 10, 11, 12 …, the
    engines at 8, 9 …; the crews' setting up takes no time, an engine has no tank, 500 gpm is asked
    for from minute 8 to 128, and nothing else.
    """
    one, many = (1,), (tankers,)
    return Given(
        tankers=TankerCrews(
            load_gal=np.full(many, 1800.0),
            take_min=np.full((tankers, sites), 2.0),
            unload_gpm=np.full(many, 1000.0),
            portable_gal=np.zeros(many),
            crew=np.full(many, 2),
            weight_class=np.zeros(many, np.int64),
            turnout_min=np.full(many, 5.0),
            down_min=np.full(many, INF),
        ),
        engines=Engines(
            tank_gal=np.zeros(engines),
            portable_gal=np.full(engines, 3000.0),
            hose_ft=np.full(engines, 1000.0),
            crew=np.full(engines, 4),
            turnout_min=np.full(engines, 5.0),
            site_min=np.full((engines, sites), 12.0),
        ),
        water=Water(
            handling_min=np.full(sites, 2.0),
            positions=np.full(sites, 2),
            flow_gpm=np.full(sites, 2000.0),
            needs_pumper=np.zeros(sites, np.bool_),
            open=np.ones(sites, np.bool_),
            closes_min=np.full(sites, INF),
            source=np.arange(sites),
            source_gpm=np.full(sites, 2000.0),
            stored_gal=np.full(sites, INF),
            recharge_gpm=np.zeros(sites),
        ),
        scenes=Scenes(
            tanker_min=10.0 + np.arange(tankers, dtype=float)[None],
            engine_min=8.0 + np.arange(engines, dtype=float)[None],
            loaded_min=np.full((1, 1, sites), LEG_MIN),
            empty_min=np.full((1, 1, sites), LEG_MIN),
            lay_ft=np.full(one, 300.0),
            line_gpm=np.full(one, 1500.0),
            pump_off_gpm=np.full((1, tankers), 500.0),
            asked_gpm=np.full(one, 500.0),
            builds=np.zeros(one, np.bool_),
            plan_gpm=np.zeros((1, sites)),
            pumper_sites=np.full((1, 1), -1),
            pumper_first=np.zeros(one, np.bool_),
        ),
        rules=ClockRules(
            attack_setup_min=0,
            attack_min=0,
            overhaul_min=0,
            supply_line_min=0,
            dump_site_people=0,
            dump_site_build_min=0,
            next_tank_min=0,
            draft_setup_min=0,
            shortest_gap_min=0,
        ),
    )


def drawn(seed: int, *, tankers: int, engines: int, sites: int) -> Given:
    """Return an incident in which everything that can differ does."""
    rng = np.random.default_rng(seed)
    sources = rng.integers(0, max(1, 2 * sites // 3 + 1), sites)
    _, sources = np.unique(sources, return_inverse=True)
    many = int(sources.max()) + 1
    load_gal = 0.9 * rng.choice([1500.0, 2000.0, 2000.0, 3000.0], tankers)
    fill_gpm = rng.choice([500.0, 1000.0], tankers)
    flow_gpm = rng.choice([250.0, 500.0, 1000.0, 1800.0], sites)
    rate_gpm = np.minimum(fill_gpm[:, None], flow_gpm)
    source_gpm = np.zeros(many)
    np.maximum.at(source_gpm, sources, flow_gpm)
    legs_min = 0.65 + rng.exponential(5, (1, 2, sites))
    pumper_sites = rng.permutation(sites)[None, : min(3, sites)]
    empty_gal = rng.random(many) < 0.5
    return Given(
        tankers=TankerCrews(
            load_gal=load_gal,
            take_min=load_gal[:, None] / 0.9 / rate_gpm,
            unload_gpm=rng.choice([500.0, 1000.0, 1500.0], tankers),
            portable_gal=rng.choice([0.0, 2000.0, 3000.0], tankers),
            crew=rng.integers(1, 4, tankers),
            weight_class=rng.integers(0, 2, tankers),
            turnout_min=np.full(tankers, 5.0),
            down_min=np.where(rng.random(tankers) < 0.1, rng.uniform(5, 120, tankers), INF),
        ),
        engines=Engines(
            tank_gal=rng.choice([500.0, 750.0, 1000.0], engines),
            portable_gal=rng.choice([0.0, 2500.0], engines),
            hose_ft=rng.choice([600.0, 1000.0], engines),
            crew=rng.integers(2, 6, engines),
            turnout_min=np.full(engines, 5.0),
            site_min=5.0 + rng.exponential(8, (engines, sites)),
        ),
        water=Water(
            handling_min=rng.choice([2.0, 2.5, 3.1], sites),
            positions=rng.integers(1, 4, sites),
            flow_gpm=flow_gpm,
            needs_pumper=rng.random(sites) < 0.5,
            open=rng.random(sites) < 0.9,
            closes_min=np.where(rng.random(sites) < 0.15, rng.uniform(0, 120, sites), INF),
            source=sources,
            source_gpm=source_gpm,
            stored_gal=np.where(empty_gal, rng.uniform(0, 40_000, many), INF),
            recharge_gpm=rng.choice([0.0, 40.0], many),
        ),
        scenes=Scenes(
            tanker_min=np.where(
                rng.random((1, tankers)) < 0.9, 5.0 + rng.exponential(12, (1, tankers)), INF
            ),
            engine_min=5.0 + rng.exponential(8, (1, engines)),
            loaded_min=np.where(rng.random((1, 2, sites)) < 0.05, INF, legs_min),
            empty_min=legs_min * rng.uniform(0.9, 1.1, (1, 2, sites)),
            lay_ft=rng.uniform(50, 1200, 1),
            line_gpm=rng.choice([600.0, 1000.0, 1500.0], 1),
            pump_off_gpm=rng.choice([0.0, 250.0, 500.0, 500.0], (1, tankers)),
            asked_gpm=rng.choice([250.0, 500.0, 1000.0], 1),
            builds=rng.random(1) < 0.6,
            plan_gpm=np.where(rng.random((1, sites)) < 0.5, rng.uniform(10, 500, (1, sites)), 0),
            pumper_sites=pumper_sites,
            pumper_first=rng.random(1) < 0.5,
        ),
    )


def lengths(story: Story) -> list[tuple[float, float]]:
    """Return where the gaps of a story begin and how long they are."""
    return [(gap.from_min, gap.to_min - gap.from_min) for gap in story.gaps]


def rows_of(trips: object, tanker: int) -> list[dict[str, float]]:
    """Return the trips of one tanker, a row each."""
    columns = {each.name: getattr(trips, each.name) for each in fields(trips)}  # type: ignore[arg-type] — the Trips of a story
    return [
        {name: values[row] for name, values in columns.items()}
        for row in np.flatnonzero(columns["tanker"] == tanker)
    ]
