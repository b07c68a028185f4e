"""How tankers drive at one parcel: to its fill sites and back, and around its dump site."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from haulshed.assess.ground import Ground
from haulshed.assess.incidents import Incidents
from haulshed.assess.working import Working
from haulshed.roads.directions import Directions, Roads, directions, roads_of
from haulshed.roads.junctions import Junctions, junctions_of
from haulshed.roads.points import Points
from haulshed.roads.route import Way, Ways, ways_around, ways_from, ways_to

#: A site that carries less is not used [gpm].
_LEAST_GPM = 1e-6
#: Ways that differ by less take the same time [min].
_SAME_MIN = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SiteDrives:
    """One fill site, and the tankers' ways there and back."""

    row: int  #: in the fill sites' table, in the order of ids
    site_id: str
    name: str  #: empty: it has none
    kind: str
    rate_gpm: float  #: as the scenario has it
    fill_positions: int
    needs_pumper: bool
    xy: tuple[float, float]  #: where it stands [m]
    weight_class: int  #: of the tankers that drive so
    carries_gpm: float  #: of the sustained flow; 0: in reserve
    loaded_min: float  #: leg from the fill site, its fixed term in it
    empty_min: float  #: leg to it
    empty: Directions  #: access point → fill site
    loaded: Directions  #: fill site → access point
    units: tuple[str, ...]  #: tankers that drive so, of those that count
    other_units: tuple[str, ...]  #: those that posted limits send another way, or none


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Circuit:
    """In over one end of the access point's road and out over the other."""

    loaded: Directions
    empty: Directions
    extra_min: float  #: of a round trip, over the quickest ways


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DumpPlace:
    """The road at the access point, as a place for a dump site."""

    name: str  #: of the road; empty: it has none
    road_class: str
    unpaved: bool
    length_miles: float  #: of the road between its two junctions
    dead_end: bool | None  #: what drives on does not come back; None: not looked at
    circuit: Circuit | None  #: the quickest one from the first of the sites


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Driver:
    """Finds ways over a district; each search from a fill site is made once."""

    ground: Ground
    junctions: Junctions
    roads: tuple[Roads, ...]  #: by passage
    searched: dict[tuple[int, int, bool], Ways] = field(default_factory=dict)

    def ways(self, passage: int, site: int, *, towards: bool) -> Ways:
        """Return the ways from a fill site, or towards it, of a passage."""
        key = passage, site, towards
        if key not in self.searched:
            network = self.ground.classes.networks[passage]
            place = self.ground.site_points.take(np.array([site]))
            search = ways_to if towards else ways_from
            self.searched[key] = search(network, place, self.junctions)
        return self.searched[key]

    def ways_around(self, passage: int, site: int, segment: int, *, towards: bool) -> Ways:
        """Return the same with a segment that is not driven through from end to end."""
        network = self.ground.classes.networks[passage]
        place = self.ground.site_points.take(np.array([site]))
        return ways_around(network, place, segment, self.junctions, towards=towards)

    def told(self, passage: int, way: Way, place: tuple[float, float]) -> Directions:
        """Return a way in words."""
        return directions(self.roads[passage], way, place)

    def site_xy(self, site: int) -> tuple[float, float]:
        """Return where a fill site stands [m]."""
        return _xy(self.ground.inputs.fill_sites.geometry.iloc[site])


def driver(ground: Ground) -> Driver:
    """Return what finds ways over a district."""
    junctions = junctions_of(ground.network)
    return Driver(
        ground=ground,
        junctions=junctions,
        roads=tuple(roads_of(network, junctions) for network in ground.classes.networks),
    )


def site_drives(finds: Driver, working: Working, place: int, most: int) -> tuple[SiteDrives, ...]:
    """Return up to `most` fill sites: those that carry most, then those with the shortest legs."""
    found = (
        _drives(finds, working, place, site, weight_class)
        for site, weight_class in _best(working, place)[:most]
    )
    return tuple(one for one in found if one is not None)


def _best(working: Working, place: int) -> list[tuple[int, int]]:
    """Return sites with the class that drives there, best first."""
    carried_gpm = working.flows.site_gpm[place]
    legs_min = _legs_min(working.there, place)
    quickest = legs_min.argmin(axis=0)
    reached = np.flatnonzero(np.isfinite(legs_min.min(axis=0)))
    order = reached[np.lexsort((legs_min.min(axis=0)[reached], -carried_gpm[reached]))]
    carrying = carried_gpm > _LEAST_GPM
    weight_class = np.where(carrying, working.flows.leg_class[place], quickest)
    return [(site, int(weight_class[site])) for site in order.tolist()]


def _legs_min(there: Incidents, place: int) -> NDArray[np.float64]:
    """Return both legs of each class to each site, (K, S)."""
    return np.stack([one.loaded_min[:, place] + one.empty_min[:, place] for one in there.legs])


def _drives(
    finds: Driver, working: Working, place: int, site: int, weight_class: int
) -> SiteDrives | None:
    full, empty = finds.ground.classes.pairs[weight_class].tolist()
    access = working.there.access.take(np.array([place]))
    back = finds.ways(full, site, towards=False).way(access)
    out = finds.ways(empty, site, towards=True).way(access)
    if back is None or out is None:
        return None
    legs = working.there.legs[weight_class]
    drive_so, others = _units(working, place, site, weight_class)
    carried_gpm = float(working.flows.site_gpm[place, site])
    row, ready = finds.ground.inputs.fill_sites.iloc[site], finds.ground.sites.iloc[site]
    return SiteDrives(
        row=site,
        site_id=str(row["site_id"]),
        name=str(row["name"]) if pd.notna(row["name"]) else "",
        kind=str(row["kind"]),
        rate_gpm=float(ready["rate_gpm"]),
        fill_positions=int(ready["fill_positions"]),
        needs_pumper=bool(ready["needs_pumper"]),
        xy=finds.site_xy(site),
        weight_class=weight_class,
        carries_gpm=carried_gpm if carried_gpm > _LEAST_GPM else 0.0,
        loaded_min=float(legs.loaded_min[site, place]),
        empty_min=float(legs.empty_min[site, place]),
        empty=finds.told(empty, out, finds.site_xy(site)),
        loaded=finds.told(full, back, _structure_xy(working, place)),
        units=drive_so,
        other_units=others,
    )


def _structure_xy(working: Working, place: int) -> tuple[float, float]:
    return _xy(working.access.structures[place])


def _xy(point: BaseGeometry) -> tuple[float, float]:
    east_m, north_m = shapely.get_coordinates(point)[0]
    return float(east_m), float(north_m)


def _units(
    working: Working, place: int, site: int, weight_class: int
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the tankers that count and drive as a class does, and those that drive otherwise."""
    units, of_tanker = working.ground.assignment, working.ground.classes.of_tanker
    ids = units.units["unit_id"].to_numpy()[units.is_tanker]
    counted = working.there.counted[place, units.is_tanker]
    minutes = np.array(
        [(one.loaded_min[site, place], one.empty_min[site, place]) for one in working.there.legs]
    )
    own = minutes[weight_class]
    apart = np.where(np.isfinite(minutes), np.abs(minutes - own), np.inf).max(axis=1)
    alike = (apart <= _SAME_MIN)[of_tanker]
    return tuple(ids[counted & alike].tolist()), tuple(ids[counted & ~alike].tolist())


def dump_place(
    finds: Driver, working: Working, place: int, sites: tuple[SiteDrives, ...]
) -> DumpPlace | None:
    """Return the road at the access point; None where no road is near enough."""
    segment = int(working.there.access.segment[place])
    if segment < 0:
        return None
    network = finds.ground.network
    row = network.segments.iloc[segment]
    plain = DumpPlace(
        name=str(row["name"] or ""),
        road_class=str(row["road_class"]),
        unpaved=bool(row["unpaved"]),
        length_miles=float(network.length_mi[segment]),
        dead_end=None,
        circuit=None,
    )
    if not sites or finds.ground.site_points.segment[sites[0].row] == segment:
        return plain
    around = min(
        _circuits(finds, working, place, sites[0]), key=lambda one: one.extra_min, default=None
    )
    return replace(plain, dead_end=around is None, circuit=around)


def _circuits(finds: Driver, working: Working, place: int, site: SiteDrives) -> Iterator[Circuit]:
    """Yield the circuits: in over either end of the road, out over the other."""
    access = working.there.access.take(np.array([place]))
    full, empty = finds.ground.classes.pairs[site.weight_class].tolist()
    quickest_min = site.loaded.way.minutes + site.empty.way.minutes
    for end in (0, 1):
        back = _by_end(finds, full, site.row, access, end, towards=False)
        out = (
            None if back is None else _by_end(finds, empty, site.row, access, 1 - end, towards=True)
        )
        if back is not None and out is not None:
            yield Circuit(
                loaded=finds.told(full, back, _structure_xy(working, place)),
                empty=finds.told(empty, out, finds.site_xy(site.row)),
                extra_min=max(back.minutes + out.minutes - quickest_min, 0.0),
            )


def _by_end(
    finds: Driver, passage: int, site: int, access: Points, end: int, *, towards: bool
) -> Way | None:
    """Return the way by one end of the access point's road that does not pass the access point."""
    segment = int(access.segment[0])
    way = finds.ways(passage, site, towards=towards).way_by(access, end)
    if way is None or (way.segments == segment).sum() <= 1:
        return way
    return finds.ways_around(passage, site, segment, towards=towards).way_by(access, end)
