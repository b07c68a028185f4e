"""A district made ready for many questions: everything but the choice of fill sites is done once.

What a parcel can be held by is asked here over the minutes that its needed water lasts
(:func:`haulshed.verdict.judged_minutes`), whichever limit binds. That is the full model's verdict
wherever the engines row leaves the choice of drafting sites alone: if a source's volume does not
bind over the planned duration, more of it changes no flow, so the flow over either time is the
same. The plans that come out are worked out anew by the full model in any case.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.ground import Ground, ground, site_reach
from haulshed.assess.hose_lines import flowing, laid_lines
from haulshed.assess.incidents import Incidents, incidents
from haulshed.assess.rises import parcel_rises
from haulshed.assess.shuttle_case import places_of, sites_of, tankers_of
from haulshed.case import Inputs
from haulshed.demand.needed import needed
from haulshed.roads.lay import Lays, lays
from haulshed.roads.snap import Access, access_points
from haulshed.roads.travel import SiteReach
from haulshed.scenario import Operation
from haulshed.shuttle import Places, Sites, Tankers, stage_flows
from haulshed.shuttle.need import CarriedAtNeed, HeldNeed, carried_at_need, held_need
from haulshed.verdict import holds, judged_minutes

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class World:
    """A district with every fill site that may be asked about, P parcels and S sites."""

    ground: Ground
    found: tuple[SiteReach, ...]
    access: Access
    lay: Lays
    there: Incidents
    needed_gpm: Floats  #: NaN: nothing is needed
    tankers: Tankers
    sites: Sites  #: all of them, in the order of their ids
    places: Places  #: over the minutes that the needed water lasts
    lines_gpm: Floats  #: hose line from each site to each parcel, (S, P); 0: none

    @property
    def site_ids(self) -> NDArray[np.object_]:
        """Ids of the sites, in order."""
        return self.ground.inputs.fill_sites["site_id"].to_numpy(dtype=object)

    def columns(self, without: frozenset[str]) -> Ints:
        """Return the rows of the sites but some."""
        kept = [row for row, site in enumerate(self.site_ids) if site not in without]
        return np.array(kept, dtype=np.int64)

    def held(self, rows: Ints, columns: Ints) -> Bools:
        """Return which parcels of `rows` hold their need over the sites `columns`."""
        line = holds(self.line_gpm(rows, columns), self.needed_gpm[rows])
        held = line.copy()
        left = np.flatnonzero(~line)
        shuttle = held_need(*self._case(rows[left], columns))
        held[left] = shuttle.nurse | shuttle.dump_site
        return held

    def held_by(self, rows: Ints, columns: Ints) -> HeldNeed:
        """Return by which stage the parcels of `rows` hold their need, hose lines aside."""
        return held_need(*self._case(rows, columns))

    def flow_gpm(self, rows: Ints, columns: Ints) -> Floats:
        """Return the largest flow of the parcels of `rows` over the sites `columns` [gpm]."""
        shuttle = stage_flows(*self._case(rows, columns))
        return np.maximum(self.line_gpm(rows, columns), shuttle.sustained_gpm)

    def carried(self, rows: Ints, columns: Ints) -> CarriedAtNeed:
        """Return how near either stage comes to the need of the parcels of `rows`."""
        return carried_at_need(*self._case(rows, columns))

    def line_gpm(self, rows: Ints, columns: Ints) -> Floats:
        """Return the best hose line from the sites `columns` to the parcels of `rows` [gpm]."""
        lines = self.lines_gpm[np.ix_(columns, rows)]
        return np.asarray(lines.max(axis=0, initial=0.0))

    def _case(self, rows: Ints, columns: Ints) -> tuple[Tankers, Sites, Places, Operation]:
        everyone = np.arange(self.tankers.tank_gal.size)
        return (
            self.tankers,
            self.sites.at(columns),
            self.places.at(rows, tankers=everyone, sites=columns),
            self.ground.inputs.scenario.operation,
        )


def world_of(inputs: Inputs, near: World | None = None) -> World:
    """
    Return a district made ready; what is the same in `near` is taken from there.

    Raises
    ------
    NetworkError
        If no road is open to tankers.
    """
    base = ground(inputs)
    scenario = inputs.scenario
    access, lay = _on_the_road(base, near)
    found = near.found if near is not None and _same_reach(base, near.ground) else _reach(base)
    rises = parcel_rises(inputs, access)
    there = incidents(base, found, access.points, lay.lay_ft, rises)
    need = needed(inputs.parcels, scenario.demand)
    asked_min = judged_minutes(
        need.needed_gpm, need.needed_gal, float(scenario.operation.duration_min)
    )
    laid = laid_lines(base, there)
    lines_gpm = np.zeros((len(inputs.fill_sites), len(inputs.parcels)))
    lines_gpm[laid.site, laid.parcel] = flowing(base, laid, asked_min).gpm
    return World(
        ground=base,
        found=found,
        access=access,
        lay=lay,
        there=there,
        needed_gpm=need.needed_gpm,
        tankers=tankers_of(base),
        sites=sites_of(base),
        places=places_of(base, there, need.needed_gpm, asked_min),
        lines_gpm=lines_gpm,
    )


def _on_the_road(base: Ground, near: World | None) -> tuple[Access, Lays]:
    inputs, rules = base.inputs, base.inputs.scenario
    if near is not None:
        theirs = near.ground.inputs
        same = (
            inputs.segments is theirs.segments
            and inputs.parcels is theirs.parcels
            and rules.roads == theirs.scenario.roads
            and rules.operation.parcel_snap_ft == theirs.scenario.operation.parcel_snap_ft
            and rules.supply_line.detour == theirs.scenario.supply_line.detour
        )
        if same:
            return near.access, near.lay
    access = access_points(inputs.parcels, base.network, rules.operation)
    return access, lays(inputs.parcels, access, rules.supply_line)


def _same_reach(base: Ground, other: Ground) -> bool:
    """Say whether the ways from the fill sites are the same: roads, weights and places."""
    ours, theirs = base.inputs, other.inputs
    return (
        ours.segments is theirs.segments
        and ours.scenario.roads == theirs.scenario.roads
        and ours.apparatus.equals(theirs.apparatus)
        and np.array_equal(base.site_points.segment, other.site_points.segment)
        and np.array_equal(base.site_points.share, other.site_points.share, equal_nan=True)
    )


def _reach(base: Ground) -> tuple[SiteReach, ...]:
    def silent(step: str, done: int = 0, of: int = 0) -> None:
        """Report to nobody: the caller says how far it is."""

    return site_reach(base, silent)
