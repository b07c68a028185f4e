"""Legs, response and road distance between points on the road."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.roads.network import Network, Sense, sense_of
from haulshed.roads.points import Points
from haulshed.roads.search import Progress, Reach, part, search
from haulshed.scenario import RoadRules
from haulshed.units import FT_PER_MI


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

    32 bytes a site and junction: 500 sites and 70,000 junctions take 1.1 GB.
    """

    def first_half(done: int, of: int) -> None:
        if progress is not None:
            progress(done, 2 * of)

    def second_half(done: int, of: int) -> None:
        if progress is not None:
            progress(of + done, 2 * of)

    return SiteReach(
        outward=search(network, network.outward, sites, progress=first_half),
        homeward=search(network, network.homeward, sites, progress=second_half),
    )


def legs_from(network: Network, rules: RoadRules, found: SiteReach, access: Points) -> Legs:
    """
    Return the legs between the sites of `found` and `access`.

    32 bytes a site and access point; ask for a slice of the access points where that is too much.
    """
    loaded_min, loaded_miles = between(network, found.outward, access)
    empty_min, empty_miles = between(network, found.homeward, access)
    return Legs(
        loaded_min=loaded_min + rules.leg_fixed_min,
        empty_min=empty_min + rules.leg_fixed_min,
        loaded_miles=loaded_miles,
        empty_miles=empty_miles,
    )


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
    network: Network, rules: RoadRules, stations: Points, access: Points
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """
    Return minutes and miles from each station to each of `access`, shape (stations, access).

    ``leg_fixed_min`` is in, turnout is not.
    """
    found = search(network, network.outward, stations)
    minutes, miles = between(network, found, access)
    return minutes + rules.leg_fixed_min, miles


def road_feet(
    network: Network, sites: Points, access: Points, *, reach_ft: float
) -> NDArray[np.float64]:
    """
    Return feet of public road between each site and each of `access`, shape (sites, access).

    Hose lies on a road in either direction, against a one-way too. Infinite beyond `reach_ft`.
    """
    public = network.segments["public"].to_numpy(dtype=bool)
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
    row = np.flatnonzero(access.on_road)
    segment, share = access.segment[row], access.share[row]
    tail, head, length_mi = network.tail[segment], network.head[segment], network.length_mi[segment]
    from_tail = part(share, found.sense.along[segment])
    from_head = part(1 - share, found.sense.against[segment])
    cost = np.full((len(found.cost), len(access.segment)), np.inf)
    miles = np.full_like(cost, np.inf)
    for source in range(len(cost)):
        by_tail = found.cost[source, tail] + from_tail
        by_head = found.cost[source, head] + from_head
        least = np.minimum(by_tail, by_head)
        tail_miles = found.miles[source, tail] + share * length_mi
        head_miles = found.miles[source, head] + (1 - share) * length_mi
        least_miles = np.where(by_head < by_tail, head_miles, tail_miles)
        same = np.flatnonzero(segment == found.sources.segment[source])
        gap = share[same] - found.sources.share[source]
        straight = _straight(found.sense, segment[same], gap)
        better = straight <= least[same]
        least[same[better]] = straight[better]
        least_miles[same[better]] = (np.abs(gap) * length_mi[same])[better]
        cost[source, row] = least
        miles[source, row] = np.where(np.isinf(least), np.inf, least_miles)
    return cost, miles


def _straight(
    sense: Sense, segment: NDArray[np.int64], gap: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the cost of a drive that never leaves its segment: `gap` is its signed share."""
    whole = np.where(gap > 0, sense.along[segment], sense.against[segment])
    return part(np.abs(gap), whole)
