"""Scores of plans: each worked out once, and only at the parcels that it can change."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from haulshed.case import Inputs
from haulshed.options.objective import Objective, scores, weights
from haulshed.options.option import Option, contradiction, joined
from haulshed.options.reachable import Reachable, reachable
from haulshed.options.site_changes import with_sites
from haulshed.options.world import World, world_of

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

Plan: TypeAlias = frozenset[str]
"""Options carried out together, by name."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Ready:
    """A world with its own score and what further fill sites can bring there."""

    world: World
    weight: Floats
    base: Floats  #: score of each parcel without a further site
    reach: Reachable
    row_of: Mapping[str, int]  #: option → its site's row among the further sites
    further: Ints  #: rows of the further sites among the world's
    liftable: Bools  #: parcels that score more if every further site is there


@dataclass(kw_only=True, eq=False)
class Evaluator:
    """
    Scores of plans of a district.

    A plan's options that only add a fill site share one world with the others of their kind; each
    set of other options makes a world of its own. More fill sites never score less, so a parcel
    that has its whole score keeps it, and one that no site of the plan can reach stays as it is.
    """

    inputs: Inputs
    options: Sequence[Option]
    objective: Objective
    solved: int = 0  #: parcels solved so far
    _ready: dict[Plan, _Ready] = field(default_factory=dict)
    _scores: dict[Plan, Floats] = field(default_factory=dict)

    @cached_property
    def by_name(self) -> Mapping[str, Option]:
        """The options by their names."""
        return {option.name: option for option in self.options}

    @cached_property
    def site_of(self) -> Mapping[str, str]:
        """The site that an option adds, of those that do nothing else."""
        return {
            option.name: str(option.new_site.row["site_id"])
            for option in self.options
            if option.new_site is not None
        }

    @cached_property
    def clashes(self) -> frozenset[Plan]:
        """Pairs of options that contradict each other."""
        return frozenset(
            frozenset((one.name, other.name))
            for number, one in enumerate(self.options)
            for other in self.options[:number]
            if contradiction(one, other) is not None
        )

    def goes(self, plan: Plan, name: str) -> bool:
        """Say whether an option contradicts none of a plan."""
        return not any(frozenset((one, name)) in self.clashes for one in plan)

    def total(self, plan: Plan) -> float:
        """Return the score of a plan, all parcels together."""
        return float(self.scores(plan).sum())

    def scores(self, plan: Plan) -> Floats:
        """Return the score of every parcel under a plan."""
        if plan not in self._scores:
            self._scores[plan] = self._worked_out(plan)
        return self._scores[plan]

    def ready(self, others: Plan = frozenset()) -> _Ready:
        """Return the world of a plan without its further fill sites."""
        if others not in self._ready:
            self._ready[others] = self._made_ready(others)
        return self._ready[others]

    def _worked_out(self, plan: Plan) -> Floats:
        sites = frozenset(name for name in plan if name in self.site_of)
        here = self.ready(plan - sites)
        if not sites:
            return here.base
        known, rows = self._open(plan, sites, here)
        if not len(rows):
            return known
        further = here.further[[here.row_of[name] for name in sorted(sites)]]
        old = np.setdiff1d(np.arange(len(here.world.site_ids)), here.further)
        columns = np.sort(np.concatenate((old, further)))
        score = scores(here.world, here.weight, self.objective, rows, columns)
        self.solved += len(rows)
        found = known.copy()
        found[rows] = np.maximum(found[rows], score)
        return found

    def _open(self, plan: Plan, sites: Plan, here: _Ready) -> tuple[Floats, Ints]:
        """Return what is known of a plan from a smaller one, and the parcels left to solve."""
        own = np.array([here.row_of[name] for name in sorted(sites)])
        gains = here.reach.may_hold(own) if self.objective.by_holding else True
        known = here.base
        news = own
        smaller = [name for name in sorted(sites) if plan - {name} in self._scores]
        if smaller:
            known = self._scores[plan - {smaller[0]}]
            news = np.array([here.row_of[smaller[0]]])
        changes = here.reach.matters[news].any(axis=0)
        short = known < here.weight * (1 - _WHOLE)
        return known, np.flatnonzero(short & here.liftable & changes & gains)

    def _made_ready(self, others: Plan) -> _Ready:
        base = self.ready().world if others else None
        changed = (
            joined([self.by_name[name] for name in sorted(others)]).applied(self.inputs)
            if others
            else self.inputs
        )
        names = [name for name in sorted(self.site_of) if self.goes(others, name)]
        new = [one for name in names if (one := self.by_name[name].new_site) is not None]
        if new:
            changed = with_sites(changed, new, "candidates")
        world = world_of(changed, base)
        return self._scored(world, names)

    def _scored(self, world: World, names: Sequence[str]) -> _Ready:
        position = {site: row for row, site in enumerate(world.site_ids)}
        further = np.array([position[self.site_of[name]] for name in names], dtype=np.int64)
        every = np.arange(len(world.site_ids))
        old = np.setdiff1d(every, further)
        weight = weights(world.ground.inputs.parcels, self.objective, world.needed_gpm)
        base, asked = np.zeros(len(weight)), np.flatnonzero(weight > 0)
        base[asked] = scores(world, weight, self.objective, asked, old)
        self.solved += len(asked)
        reach = reachable(world, old, further)
        short = base < weight * (1 - _WHOLE)
        liftable = short & reach.matters.any(axis=0)
        if self.objective.by_holding:
            rows = np.flatnonzero(liftable & reach.may_hold(np.arange(len(further))))
            liftable = np.zeros(len(weight), dtype=np.bool_)
            liftable[rows] = scores(world, weight, self.objective, rows, every) > 0
            self.solved += len(rows)
        return _Ready(
            world=world,
            weight=weight,
            base=base,
            reach=reach,
            row_of={name: row for row, name in enumerate(names)},
            further=further,
            liftable=liftable,
        )


#: A score this little below the whole is the whole.
_WHOLE = 1e-9
