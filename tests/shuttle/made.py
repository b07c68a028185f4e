"""Districts for the shuttle model: made by hand in a few words, or drawn at random."""

from dataclasses import dataclass, field, fields, replace

import numpy as np

from haulshed.scenario.operation import Operation
from haulshed.shuttle.flow import Flows, flows
from haulshed.shuttle.given import Places, Sites, Tankers
from haulshed.shuttle.limits import LIMITS, NURSE_LINE, PUMP, SUPPLY_LINE

INF = np.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """All that the model is given."""

    tankers: Tankers
    sites: Sites
    places: Places
    operation: Operation = field(default_factory=Operation)

    def flows(self) -> Flows:
        return flows(self.tankers, self.sites, self.places, self.operation)

    def word(self, place: int = 0) -> str:
        return LIMITS[self.flows().limit[place]]

    def with_tankers(self, **changes: object) -> "Made":
        return replace(self, tankers=replace(self.tankers, **changes))

    def with_sites(self, **changes: object) -> "Made":
        return replace(self, sites=replace(self.sites, **changes))

    def with_places(self, **changes: object) -> "Made":
        return replace(self, places=replace(self.places, **changes))

    def with_operation(self, **changes: object) -> "Made":
        return replace(self, operation=self.operation.model_copy(update=changes))

    def shuffled(self, tanker: np.ndarray, site: np.ndarray) -> "Made":
        """Return the same district with its tankers and sites in another order."""
        return replace(
            self,
            tankers=self.tankers.at(tanker),
            sites=self.sites.at(site),
            places=self.places.at(slice(None), tankers=tanker, sites=site),
        )


def tankers(count: int, **columns: object) -> Tankers:
    """Return like tankers: 2,000 gal, of which 1,800 are delivered."""
    usual = {
        "tank_gal": 2000.0,
        "usable_gal": 1800.0,
        "fill_gpm": 1000.0,
        "dump_gpm": 1000.0,
        "release_gpm": 500.0,
        "portable_tank": False,
        "weight_class": 0,
    }
    return Tankers(**{name: _column(value, (count,)) for name, value in (usual | columns).items()})


def sites(count: int, **columns: object) -> Sites:
    """Return like hydrants of 1,000 gpm, each on a main of its own."""
    usual = {
        "flow_gpm": 1000.0,
        "usable_gal": INF,
        "recharge_gpm": 0.0,
        "source": np.arange(count),
        "fill_positions": 2,
        "handling_min": 2.0,
        "needs_pumper": False,
        "open": True,
    }
    return Sites(**{name: _column(value, (count,)) for name, value in (usual | columns).items()})


def places(
    tankers: int, sites: int, count: int = 1, *, classes: int = 1, **columns: object
) -> Places:
    """Return like places: a mile of 35-mph road to every site, two engines, two portable tanks."""
    leg_min = 0.65 + 60 / 35
    usual = {
        "loaded_min": leg_min,
        "empty_min": leg_min,
        "arrival_min": np.arange(tankers) + 10.0,
        "counted": True,
        "engines": 2,
        "dump_positions": 2,
        "other_tanks": 99,
        "hose_reaches": True,
        "line_gpm": 1500.0,
        "line_bound": SUPPLY_LINE,
        "pump_off_gpm": 500.0,
        "pump_off_bound": NURSE_LINE,
        "needed_gpm": np.nan,
        "duration_min": 120.0,
        "on_road": True,
    }
    by_site, by_tanker = (count, classes, sites), (count, tankers)
    shapes = {each.name: (count,) for each in fields(Places)}
    shapes |= dict.fromkeys(("loaded_min", "empty_min"), by_site)
    shapes |= dict.fromkeys(("arrival_min", "counted", "pump_off_gpm", "pump_off_bound"), by_tanker)
    return Places(
        **{name: _column(value, shapes[name]) for name, value in (usual | columns).items()}
    )


def _column(value: object, shape: tuple[int, ...]) -> np.ndarray:
    return np.array(np.broadcast_to(value, shape))


def drawn(
    seed: int, *, tankers: int, sites: int, places: int = 1, like: float = 0.5, classes: int = 1
) -> Made:
    """
    Return a district with everything that can differ.

    `like` is the share of round figures. Of several weight classes the first has the shortest legs.
    """
    rng = np.random.default_rng(seed)
    tank_gal = rng.uniform(800, 4000, tankers)
    tank_gal = np.where(
        rng.random(tankers) < like, rng.choice([1500, 2000, 3000], tankers), tank_gal
    )
    release_gpm = rng.choice([0.0, 300.0, 500.0, 750.0], tankers, p=[0.1, 0.2, 0.5, 0.2])
    made_tankers = Tankers(
        tank_gal=tank_gal,
        usable_gal=0.9 * tank_gal,
        fill_gpm=rng.choice([500.0, 1000.0, 1250.0], tankers),
        dump_gpm=rng.choice([np.nan, 800.0, 1000.0, 1500.0], tankers),
        release_gpm=release_gpm,
        portable_tank=rng.random(tankers) < 0.3,
        weight_class=np.random.default_rng(seed + 1).integers(0, classes, tankers),
    )
    limited = rng.random(sites) < 0.6
    made_sites = Sites(
        flow_gpm=rng.choice(
            [0.0, 150.0, 250.0, 500.0, 1000.0], sites, p=[0.05, 0.2, 0.25, 0.3, 0.2]
        ),
        usable_gal=np.where(limited, rng.uniform(0, 60_000, sites), INF),
        recharge_gpm=rng.choice([0.0, 40.0], sites),
        source=rng.integers(0, max(1, 2 * sites // 3), sites),
        fill_positions=rng.integers(1, 4, sites),
        handling_min=rng.choice([2.0, 2.5, 3.1], sites),
        needs_pumper=rng.random(sites) < 0.5,
        open=rng.random(sites) < 0.9,
    )
    loaded_min = 0.65 + rng.exponential(6, (places, sites))
    unreached = rng.random((places, sites)) < 0.05
    through_gpm = rng.choice([250.0, 420.0, 610.0, 900.0], (places, 1))
    pump_off_gpm = np.minimum(release_gpm, through_gpm)
    empty_min = loaded_min * rng.uniform(0.9, 1.1, (places, sites))
    loaded_min = np.where(unreached, INF, loaded_min)
    made_places = Places(
        loaded_min=_by_class(loaded_min, classes, np.random.default_rng(seed + 2)),
        empty_min=_by_class(empty_min, classes, np.random.default_rng(seed + 3)),
        arrival_min=rng.integers(8, 40, (places, tankers)).astype(float),
        counted=rng.random((places, tankers)) < 0.9,
        engines=rng.integers(0, 6, places),
        dump_positions=rng.integers(0, 4, places),
        other_tanks=rng.integers(0, 3, places),
        hose_reaches=np.ones(places, np.bool_),
        line_gpm=rng.choice([0.0, 600.0, 1000.0, 1500.0], places, p=[0.05, 0.25, 0.3, 0.4]),
        line_bound=rng.choice([SUPPLY_LINE, PUMP], places),
        pump_off_gpm=pump_off_gpm,
        pump_off_bound=np.where(pump_off_gpm < release_gpm, SUPPLY_LINE, NURSE_LINE),
        needed_gpm=rng.choice([250.0, 500.0, 750.0, np.nan], places),
        duration_min=rng.choice([30.0, 120.0], places),
        on_road=np.ones(places, np.bool_),
    )
    return Made(tankers=made_tankers, sites=made_sites, places=made_places)


def _by_class(leg_min: np.ndarray, classes: int, rng: np.random.Generator) -> np.ndarray:
    """Return the legs of each class: those of the first, and for the others longer ones or none."""
    shape = (len(leg_min), classes - 1, leg_min.shape[1])
    longer = rng.choice([1.0, 1.5, 3.0, INF], shape, p=[0.3, 0.3, 0.2, 0.2])
    return np.concatenate((leg_min[:, None], leg_min[:, None] * longer), axis=1)
