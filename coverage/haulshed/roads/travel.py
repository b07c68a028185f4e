"""Legs, response and road distance between points on the road."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from haulshed.cores import shared_out
from haulshed.roads.elimination import Progress, build_ladder
from haulshed.roads.network import Network, sense_of
from haulshed.roads.points import Points
from haulshed.roads.search import Reach, part, search, search_by
from haulshed.scenario import RoadRules
from haulshed.units import FT_PER_MI

#: Sites from which on eliminating junctions pays for its set-up (measured on real counties).
MANY_SITES = 40
#: Arcs a junction beyond which it does not: real roads stay below 5, a full grid does not.
MESHED = 16.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Legs:
    """
    Legs between each fill site and each access point, shape (sites, access points).

    Infinite where there is no way. Minutes include ``leg_fixed_min``, once a leg.
    """

    loaded_min: NDArray[np.float64]  #: fill site → access point
    empty_min: NDArray[np.float64]  #: access point → fill site
    loaded_miles: NDArray[np.float64]  #: miles of the loaded leg's road
    empty_miles: NDArray[np.float64]  #: miles of the empty leg's road


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SiteReach:
    """What the fill sites reach: searched once, then asked for any number of access points."""

    outward: Reach
    homeward: Reach


def reach(network: Network, sites: Points, *, progress: Progress | None = None) -> SiteReach:
    """
    Return the ways from each site to every junction, and back.

    32 bytes a site and junction: 500 sites and 70,000 junctions take 1.1 GB. From
    :data:`MANY_SITES` on, junctions are eliminated first; on roads so meshed that this would not
    pay, and for fewer sites, each has a search of its own. The answers are the same but for the
    last digits.
    """

    def first_half(done: int, of: int) -> None:
        if progress is not None:
            progress(done, 2 * of)

    def second_half(done: int, of: int) -> None:
        if progress is not None:
            progress(of + done, 2 * of)

    if len(sites.segment) >= MANY_SITES:
        ladder = build_ladder(network.outward.graph, network.outward.arc_miles)
        if ladder.arcs_per_junction <= MESHED:
            homeward = ladder.turned
            return SiteReach(
                outward=search_by(ladder, network, network.outward, sites, progress=first_half),
                homeward=search_by(
                    homeward, network, network.homeward, sites, progress=second_half
                ),
            )
    return SiteReach(
        outward=search(network, network.outward, sites, progress=first_half),
        homeward=search(network, network.homeward, sites, progress=second_half),
    )


def legs_from(network: Network, rules: RoadRules, found: SiteReach, access: Points) -> Legs:
    """
    Return the legs between the sites of `found` and `access`.

    32 bytes a site and access point; ask for a slice of the access points where that is too much.
    """
    (loaded_min, loaded_miles), (empty_min, empty_miles) = shared_out(
        lambda one_way: between(network, one_way, access), (found.outward, found.homeward)
    )
    loaded_min += rules.leg_fixed_min
    empty_min += rules.leg_fixed_min
    return Legs(
        loaded_min=loaded_min,
        empty_min=empty_min,
        loaded_miles=loaded_miles,
        empty_miles=empty_miles,
    )


def usable_legs(
    network: Network,
    rules: RoadRules,
    found: SiteReach,
    access: Points,
    serves: NDArray[np.bool_],
) -> Legs:
    """Return the same without the sites that do not serve and the ways that go only one way."""
    found_legs = legs_from(network, rules, found, access)
    _both_ways(
        (found_legs.loaded_min.T, found_legs.loaded_miles.T),
        (found_legs.empty_min.T, found_legs.empty_miles.T),
        serves,
    )
    return found_legs


def legs(
    network: Network,
    rules: RoadRules,
    sites: Points,
    access: Points,
    progress: Progress | None = None,
) -> Legs:
    """
    Return the loaded and the empty leg between each of `sites` and each of `access`.

    A leg is the quickest way's minutes plus ``leg_fixed_min``; miles are that same way's. The two
    legs are found apart, as one-ways make them differ. Under ``road_distance`` the network's
    minutes are X times the miles, so a leg is the published T = 0.65 + X·D over the shortest road,
    with one fixed term a leg.
    """
    return legs_from(network, rules, reach(network, sites, progress=progress), access)


def response(
    network: Network,
    rules: RoadRules,
    stations: Points,
    access: Points,
    *,
    limit_min: float = np.inf,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """
    Return minutes and miles from each station to each of `access`, shape (stations, access).

    ``leg_fixed_min`` is in, turnout is not. Infinite where the drive takes more than `limit_min`,
    but for some that take little more.
    """
    found = search(network, network.outward, stations, limit=limit_min)
    return response_from(network, rules, found, access)


def response_from(
    network: Network, rules: RoadRules, found: Reach, access: Points
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the same where the ways from the stations to every junction are known."""
    minutes, miles = between(network, found, access)
    return minutes + rules.leg_fixed_min, miles


def road_feet(
    network: Network, sites: Points, access: Points, *, reach_ft: float
) -> NDArray[np.float64]:
    """
    Return feet of public road between each site and each of `access`, shape (sites, access).

    Hose lies on a road in either direction, against a one-way too, but on none that is closed in
    both. Infinite beyond `reach_ft`.
    """
    public = network.segments["public"].to_numpy(dtype=bool) & ~network.closed
    feet = np.where(public, network.length_mi * FT_PER_MI, np.inf)
    sense = sense_of(
        network.tail, network.head, network.length_mi, (feet, feet), nodes=len(network.node_ids)
    )
    found = search(network, sense, sites, limit=reach_ft)
    distance_ft, _ = between(network, found, access)
    return np.where(distance_ft <= reach_ft, distance_ft, np.inf)


def between(
    network: Network, found: Reach, access: Points
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """
    Return cost and miles from each source of `found` to each of `access`, as its sense goes.

    The last segment is entered at either end, where it may be driven from there; a source on the
    same segment may also drive straight along it. Of equal ways the straight one counts, then the
    one by the segment's first end. Infinite where there is no way.
    """
    segment = np.where(access.on_road, access.segment, 0)
    length_mi, share = network.length_mi[segment], access.share
    shape = (len(segment), len(found.cost))
    cost, miles = np.empty(shape), np.empty(shape)
    ends = _Ends(
        junction=np.stack((network.tail[segment], network.head[segment]), axis=1),
        cost=np.stack(
            (
                part(share, found.sense.along[segment]),
                part(1 - share, found.sense.against[segment]),
            ),
            axis=1,
        ),
        miles=np.stack((share * length_mi, (1 - share) * length_mi), axis=1),
    )
    _enter(access.on_road, ends, (found.cost.T, found.miles.T), (cost, miles))
    _straight(found, access, network.length_mi, (cost, miles))
    return cost.T, miles.T


class _Ends(NamedTuple):
    """What is left of the way from either end of each access point's segment, (access, 2)."""

    junction: NDArray[np.int64]
    cost: NDArray[np.float64]
    miles: NDArray[np.float64]


_CostAndMiles = tuple[NDArray[np.float64], NDArray[np.float64]]


@njit(cache=True, nogil=True)
def _enter(
    on_road: NDArray[np.bool_], ends: _Ends, to_junction: _CostAndMiles, there: _CostAndMiles
) -> None:
    """Enter each access point's segment at the better of its ends, for every source."""
    (to_cost, to_miles), (cost, miles) = to_junction, there
    for row in range(len(on_road)):
        if not on_road[row]:
            cost[row], miles[row] = np.inf, np.inf
            continue
        tail, head = ends.junction[row]
        for source in range(cost.shape[1]):
            by_tail = to_cost[tail, source] + ends.cost[row, 0]
            by_head = to_cost[head, source] + ends.cost[row, 1]
            tail_miles = to_miles[tail, source] + ends.miles[row, 0]
            head_miles = to_miles[head, source] + ends.miles[row, 1]
            cost[row, source] = min(by_tail, by_head)
            way = head_miles if by_head < by_tail else tail_miles
            miles[row, source] = way if cost[row, source] < np.inf else np.inf


@njit(cache=True)
def _both_ways(loaded: _CostAndMiles, empty: _CostAndMiles, serves: NDArray[np.bool_]) -> None:
    """Take out what cannot be driven both ways, and the sources that do not serve."""
    (loaded_min, loaded_miles), (empty_min, empty_miles) = loaded, empty
    for row in range(len(loaded_min)):
        for source in range(len(serves)):
            both = loaded_min[row, source] < np.inf and empty_min[row, source] < np.inf
            if not (both and serves[source]):
                loaded_min[row, source] = empty_min[row, source] = np.inf
                loaded_miles[row, source] = empty_miles[row, source] = np.inf


def _straight(
    found: Reach,
    access: Points,
    length_mi: NDArray[np.float64],
    there: _CostAndMiles,
) -> None:
    """Put in the drives that never leave their segment, where none is better."""
    cost, miles = there
    source, row = _same_segment(found.sources, access)
    segment = access.segment[row]
    gap = access.share[row] - found.sources.share[source]
    whole = np.where(gap > 0, found.sense.along[segment], found.sense.against[segment])
    straight = part(np.abs(gap), whole)
    better = np.flatnonzero(straight <= cost[row, source])
    place = row[better], source[better]
    cost[place] = straight[better]
    miles[place] = np.where(
        np.isinf(straight[better]), np.inf, (np.abs(gap) * length_mi[segment])[better]
    )


def _same_segment(sources: Points, access: Points) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the source and the access point of each pair that lies on one segment."""
    rows = np.flatnonzero(access.on_road)
    rows = rows[np.argsort(access.segment[rows], kind="stable")]
    segments = access.segment[rows]
    from_, to = (np.searchsorted(segments, sources.segment, side) for side in ("left", "right"))
    count = np.where(sources.on_road, to - from_, 0)
    source = np.repeat(np.arange(len(count)), count)
    within = np.arange(len(source)) - np.repeat(np.cumsum(count) - count, count)
    return source, rows[np.repeat(from_, count) + within]
