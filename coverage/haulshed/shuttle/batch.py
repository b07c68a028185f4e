"""A batch of places, all in arrays, in an order that no file decides.

Rows of a programme stand in the order of tankers and sites, and where several plans are best, that
order picks one. So both are sorted by their own figures first: moving rows of a file about changes
no figure and no word.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from haulshed.scenario.operation import Operation
from haulshed.shuttle.cycle import fill_min, unload_min
from haulshed.shuttle.given import Places, Sites, Tankers
from haulshed.shuttle.kernel import Flags, Floats, Ints, compiled_free
from haulshed.shuttle.programme import Terms


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """The tankers and the sites, sorted."""

    tankers: Ints
    sites: Ints


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """P places, with n tankers and S sites in order."""

    terms: Terms
    by_volume: Flags  #: whether a limit of `terms.water_limit` is set by volume
    drafting: Flags  #: whether a site needs a pumper
    gives: Flags  #: whether a class can drive to a site and it gives water, (P, C, S)
    tank_gal: Floats
    dump_min: Floats  #: unloading at a dump site, by tanker; inf: cannot
    rank: Ints  #: place of each tanker in the order of arrival, (P, n); n: does not count
    engines: Ints
    portable_tank: Flags  #: whether a tanker brings a portable tank
    dump_positions: Ints
    other_tanks: Ints
    line_gpm: Floats
    line_bound: Ints
    pump_off_gpm: Floats
    pump_off_bound: Ints
    needed_gpm: Floats
    nurse_handling_min: float
    nurse_limit_gpm: float
    nurse_buffer_gal: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Crews:
    """Who works where: J cases, each at a place of the batch."""

    place: Ints
    taking: Flags  #: tankers that take part, (J, n)
    engines: Ints

    def at(self, which: Ints | Flags) -> "Crews":
        """Return some of the crews."""
        return Crews(
            place=self.place[which], taking=self.taking[which], engines=self.engines[which]
        )


def _sorted_by(*figures: Floats | Ints) -> Ints:
    """Return the order by the first figure, then the next, and last by place in the file."""
    return np.lexsort(figures[::-1]).astype(np.int64)


def order_of(tankers: Tankers, sites: Sites, places: Places) -> Order:
    """Return tankers and sites sorted by every figure that makes a difference."""
    return Order(
        tankers=_sorted_by(
            tankers.usable_gal,
            tankers.tank_gal,
            tankers.fill_gpm,
            tankers.unload_gpm,
            tankers.release_gpm,
            tankers.portable_tank.astype(np.int64),
            places.pump_off_gpm.sum(axis=0),
            tankers.weight_class,
        ),
        sites=_sorted_by(
            sites.flow_gpm,
            sites.fill_positions,
            sites.handling_min,
            sites.needs_pumper.astype(np.int64),
            sites.of_source(sites.flow_gpm),
            sites.of_source(sites.usable_gal),
            sites.of_source(sites.recharge_gpm),
        ),
    )


def _water(sites: Sites, duration_min: Floats) -> tuple[Floats, Flags, Ints]:
    """
    Return the limits at every place, which of them volume sets, and the shared source by site.

    The limits of a site: its fill positions, then its own flow, which for a source of its own is
    also bounded by volume. After all sites the sources that several share.
    """
    _, member, sites_on_it = np.unique(sites.source, return_inverse=True, return_counts=True)
    sharing = sites_on_it[member] > 1
    sources, first = np.unique(member[sharing], return_index=True)
    shared = np.where(sharing, np.searchsorted(sources, member), -1)
    flow_gpm = sites.of_source(sites.flow_gpm)
    stored_gal, recharge_gpm = (
        sites.of_source(sites.usable_gal),
        sites.of_source(sites.recharge_gpm),
    )
    lasting_gpm = stored_gal / duration_min[:, None] + recharge_gpm
    scarce = lasting_gpm < flow_gpm
    source_gpm = np.minimum(flow_gpm, lasting_gpm)
    own_gpm = np.where(sharing, sites.flow_gpm, source_gpm)
    positions = np.broadcast_to(sites.fill_positions.astype(np.float64), own_gpm.shape)
    of_shared = np.flatnonzero(sharing)[first]
    limit = np.concatenate((positions, own_gpm, source_gpm[:, of_shared]), axis=1)
    unscarce = np.zeros(positions.shape, np.bool_)
    by_volume = np.concatenate((unscarce, scarce & ~sharing, scarce[:, of_shared]), axis=1)
    return limit, by_volume, shared.astype(np.int64)


class _Away(NamedTuple):
    """What a round trip takes without unloading."""

    weight_class: Ints
    fill_min: Floats  #: (n, S)
    legs_min: Floats  #: (P, C, S)


@compiled_free
def _most_gpm(counted: Flags, usable_gal: Floats, away: _Away) -> Floats:
    """Return what the counted tankers would carry over each site, (P, S), taking turns nowhere."""
    (places, tankers), sites = counted.shape, away.fill_min.shape[1]
    gpm = np.zeros((places, sites))
    for place in range(places):
        for i in range(tankers):
            if counted[place, i]:
                legs_min = away.legs_min[place, away.weight_class[i]]
                for site in range(sites):
                    gpm[place, site] += usable_gal[i] / (legs_min[site] + away.fill_min[i, site])
    return gpm


def _useful(tankers: Tankers, places: Places, away: _Away, gives: Flags) -> Ints:
    """
    Return the sites of every place, the most useful first.

    A site is as useful as what the tankers that count would carry over it, if it were theirs alone
    and unloading took no time.
    """
    gpm = _most_gpm(places.counted, tankers.usable_gal, away)
    return np.argsort(np.where(gives, -gpm, np.inf), axis=1, kind="stable")


def _ranks(tankers: Tankers, places: Places) -> Ints:
    """Return each tanker's place in the order of arrival; of those together, larger tank first."""
    arrival_min = np.where(places.counted, places.arrival_min, np.inf)
    order = np.lexsort(
        (np.broadcast_to(-tankers.tank_gal, arrival_min.shape), arrival_min), axis=-1
    )
    rank = np.empty(order.shape, np.int64)
    np.put_along_axis(rank, order, np.arange(order.shape[1])[None, :], axis=1)
    return np.where(places.counted, rank, order.shape[1])


def _kinds(tankers: Tankers) -> Ints:
    """Return a number for each tanker: the same for the same tank, load, fill rate and class."""
    figures = np.column_stack(
        (tankers.tank_gal, tankers.usable_gal, tankers.fill_gpm, tankers.weight_class)
    )
    _, kind = np.unique(figures, axis=0, return_inverse=True)
    return kind.reshape(-1).astype(np.int64)


def _filling_min(tankers: Tankers, sites: Sites) -> Floats:
    """Return the time at the fill site of every tanker at every site, (n, S)."""
    with np.errstate(divide="ignore"):  # no flow: never full
        return fill_min(
            tankers.tank_gal[:, None],
            tankers.fill_gpm[:, None],
            site_gpm=sites.flow_gpm,
            handling_min=sites.handling_min,
        )


def reaching(batch: Batch, crews: Crews, allowed: Flags) -> Crews:
    """Return the crews less the tankers that no road takes to any allowed site with water."""
    ways = batch.gives[crews.place] & allowed[:, None, :]
    by_class: Flags = np.asarray(ways.any(axis=2))
    taking = crews.taking & by_class[:, batch.terms.weight_class]
    return Crews(place=crews.place, taking=taking, engines=crews.engines)


def _terms(tankers: Tankers, sites: Sites, places: Places, water: tuple[Floats, Ints]) -> Terms:
    """Return what the programmes are made of: `water` is the limits, and the shared sources."""
    away = _Away(
        weight_class=tankers.weight_class,
        fill_min=np.ascontiguousarray(_filling_min(tankers, sites)),
        legs_min=np.ascontiguousarray(places.loaded_min + places.empty_min),
    )
    gives: Flags = np.asarray(_gives(sites, away.legs_min).any(axis=1))
    return Terms(
        kind=_kinds(tankers),
        weight_class=tankers.weight_class,
        usable_gal=np.ascontiguousarray(tankers.usable_gal),
        fill_min=away.fill_min,
        quickest_min=away.fill_min.min(axis=1, initial=np.inf),
        shared=water[1],
        legs_min=away.legs_min,
        useful=_useful(tankers, places, away, gives),
        reached=gives.sum(axis=1),
        water_limit=np.ascontiguousarray(water[0]),
        tally=np.zeros(2, np.int64),
    )


def _gives(sites: Sites, legs_min: Floats) -> Flags:
    """Say whether a class can drive to a site and it gives water, (P, C, S)."""
    return np.isfinite(legs_min) & sites.gives_water


def batch_of(tankers: Tankers, sites: Sites, places: Places, operation: Operation) -> Batch:
    """Return the places as a batch; all three givens are in order."""
    limit, by_volume, shared = _water(sites, places.duration_min)
    terms = _terms(tankers, sites, places, (limit, shared))
    return Batch(
        terms=terms,
        by_volume=by_volume,
        drafting=sites.needs_pumper,
        gives=_gives(sites, terms.legs_min),
        tank_gal=tankers.tank_gal,
        dump_min=unload_min(
            tankers.usable_gal, tankers.unload_gpm, handling_min=operation.dump_handling_min
        ),
        rank=_ranks(tankers, places),
        engines=places.engines,
        portable_tank=tankers.portable_tank,
        dump_positions=places.dump_positions,
        other_tanks=places.other_tanks,
        line_gpm=places.line_gpm,
        line_bound=places.line_bound,
        pump_off_gpm=places.pump_off_gpm,
        pump_off_bound=places.pump_off_bound,
        needed_gpm=places.needed_gpm,
        nurse_handling_min=operation.nurse_handling_min,
        nurse_limit_gpm=operation.nurse_limit_gpm,
        nurse_buffer_gal=operation.nurse_buffer_gal,
    )
