"""What added fill sites can bring at most, so that nobody solves where nothing can change.

A plan over old and new sites is one over the old ones and one over each new one, put together. So
the fleet carries over all of them no more than over the old ones and over each new one alone, with
the engines row too, since each part uses no more drafting sites than the whole. A parcel whose need
is out of reach of that sum is not held by the plan, whatever the sites do for each other.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.options.world import World
from haulshed.shuttle.cycle import fill_min, unload_min
from haulshed.shuttle.dump_site import ENGINES_BUSY as BUSY_AT_DUMP_SITE
from haulshed.shuttle.nurse import ENGINES_BUSY as BUSY_NURSING
from haulshed.verdict import holds

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: A reach this little under the gap closes it: rounding of the solver [share of the need].
_SLACK = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reachable:
    """Of each of C sites and P parcels: what it can bring alone, beside what is missing."""

    gap_nurse_gpm: Floats  #: (P,); infinite where no water would do
    gap_dump_gpm: Floats
    alone_nurse_gpm: Floats  #: at most, (C, P)
    alone_dump_gpm: Floats
    by_line: Bools  #: a hose line from the site holds the need, (C, P)

    @property
    def matters(self) -> Bools:
        """Whether a site can change the flow of a parcel at all, (C, P)."""
        return (self.alone_nurse_gpm > 0) | (self.alone_dump_gpm > 0) | self.by_line

    @property
    def share(self) -> Floats:
        """The largest share of a parcel's gap that a site can close, at most 1, (C, P)."""
        with np.errstate(divide="ignore", invalid="ignore"):
            nurse = self.alone_nurse_gpm / self.gap_nurse_gpm
            dump = self.alone_dump_gpm / self.gap_dump_gpm
        share = np.fmax(np.nan_to_num(nurse), np.nan_to_num(dump))
        return np.clip(np.where(self.by_line, 1.0, share), 0.0, 1.0)

    def may_hold(self, sites: Ints) -> Bools:
        """Return which parcels some sites together may bring to their need, (P,)."""
        nurse = self.alone_nurse_gpm[sites].sum(axis=0) >= self.gap_nurse_gpm
        dump = self.alone_dump_gpm[sites].sum(axis=0) >= self.gap_dump_gpm
        line = self.by_line[sites].any(axis=0)
        return np.asarray(nurse | dump | line)


def in_company(reach: Reachable, world: World, sites: Ints, most: int | None) -> Bools:
    """
    Return which parcels two sites or more, `most` at most, may hold together, (P,).

    `sites` are the rows of the sites among the world's. A stage uses no more drafting sites than it
    has engines to spare; where that leaves one site of all, company is of no use.
    """
    drafting = world.sites.needs_pumper[sites][:, None]
    may = np.zeros(len(world.needed_gpm), dtype=np.bool_)
    for alone_gpm, gap_gpm, busy in (
        (reach.alone_nurse_gpm, reach.gap_nurse_gpm, BUSY_NURSING),
        (reach.alone_dump_gpm, reach.gap_dump_gpm, BUSY_AT_DUMP_SITE),
    ):
        brings = alone_gpm > 0
        drafted = np.minimum((brings & drafting).sum(axis=0), world.places.engines - busy)
        useful = np.maximum(drafted, 0) + (brings & ~drafting).sum(axis=0)
        useful = np.minimum(useful, len(sites) if most is None else most)
        largest = np.cumsum(-np.sort(-alone_gpm, axis=0), axis=0)
        at = np.maximum(useful, 1) - 1
        together = np.take_along_axis(largest, at[None, :], axis=0)[0]
        may |= (useful > 1) & (together >= gap_gpm)
    return may


def reachable(world: World, old: Ints, new: Ints) -> Reachable:
    """Return what the sites `new` can bring beyond the sites `old`, both rows of the world's."""
    rows = np.arange(len(world.needed_gpm))
    carried = world.carried(rows, old)
    needed_gpm = np.nan_to_num(world.needed_gpm)
    operation, places = world.ground.inputs.scenario.operation, world.places
    reach_gpm = needed_gpm * (1 - _SLACK)
    nursed = needed_gpm <= operation.nurse_limit_gpm * (1 + _SLACK)
    passes = places.line_gpm >= reach_gpm
    away_min = _away_min(world, new)
    return Reachable(
        gap_nurse_gpm=np.where(nursed, reach_gpm - carried.nurse_gpm, np.inf),
        gap_dump_gpm=np.where(passes, reach_gpm - carried.dump_site_gpm, np.inf),
        alone_nurse_gpm=_alone(world, new, away_min, _nursing_min(world), BUSY_NURSING),
        alone_dump_gpm=_alone(world, new, away_min, _dumping_min(world), BUSY_AT_DUMP_SITE),
        by_line=np.asarray(holds(world.lines_gpm[new], world.needed_gpm)),
    )


def _away_min(world: World, sites: Ints) -> Floats:
    """Return both legs, by the class that drives them fastest, (C, P)."""
    loaded_min = world.places.loaded_min[:, :, sites].min(axis=1)
    empty_min = world.places.empty_min[:, :, sites].min(axis=1)
    return np.asarray((loaded_min + empty_min).T)


def _nursing_min(world: World) -> Floats:
    """Return the time that each tanker takes to nurse at the need, (P, n); infinite: too slow."""
    operation, tankers = world.ground.inputs.scenario.operation, world.tankers
    needed_gpm, rate_gpm = world.needed_gpm[:, None], world.places.pump_off_gpm
    able = (rate_gpm > 0) & (rate_gpm >= needed_gpm)
    slowest_min = (tankers.usable_gal - operation.nurse_buffer_gal) / needed_gpm
    pump_min = np.maximum(tankers.usable_gal / np.where(able, rate_gpm, np.inf), slowest_min)
    return np.where(able, operation.nurse_handling_min + pump_min, np.inf)


def _dumping_min(world: World) -> Floats:
    """Return the time that each tanker takes to unload at a dump site, (P, n)."""
    tankers = world.tankers
    handling_min = world.ground.inputs.scenario.operation.dump_handling_min
    own_min = unload_min(tankers.usable_gal, tankers.unload_gpm, handling_min=handling_min)
    return np.broadcast_to(own_min, world.places.counted.shape)


def _alone(
    world: World, sites: Ints, away_min: Floats, unloading_min: Floats, engines_busy: int
) -> Floats:
    """Return the most that each site gives if it is the only one, (C, P)."""
    tankers, places, all_sites = world.tankers, world.places, world.sites
    rate_gpm = all_sites.flow_gpm[sites]
    carried_gpm, fastest = np.zeros_like(away_min), np.zeros(len(sites))
    for one in range(tankers.tank_gal.size):
        load_gal = float(tankers.usable_gal[one])
        with np.errstate(divide="ignore"):  # no flow: never full
            filling_min = fill_min(
                tankers.tank_gal[one],
                tankers.fill_gpm[one],
                site_gpm=rate_gpm,
                handling_min=all_sites.handling_min[sites],
            )
            fastest = np.maximum(fastest, load_gal / filling_min)
        counted = places.counted[:, one]
        trip_min = away_min[:, counted] + filling_min[:, None] + unloading_min[counted, one]
        carried_gpm[:, counted] += load_gal / trip_min
    stored_gal = all_sites.of_source(all_sites.usable_gal)[sites][:, None]
    recharge = all_sites.of_source(all_sites.recharge_gpm)[sites][:, None]
    lasting_gpm = stored_gal / places.duration_min + recharge
    filled_gpm = (all_sites.fill_positions[sites] * fastest)[:, None]
    most_gpm = np.minimum(np.minimum(carried_gpm, rate_gpm[:, None]), lasting_gpm)
    takes = engines_busy + all_sites.needs_pumper[sites]
    usable = all_sites.gives_water[sites][:, None] & (places.engines >= takes[:, None])
    return np.where(usable, np.minimum(most_gpm, filled_gpm), 0.0)
