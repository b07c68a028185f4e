"""The fewest tankers that hold a flow, first to arrive first.

Numbers are tried from below, and only those that may do. At a given flow no tanker carries more
than alone over its nearest site, so k tankers carry no more than the sum of that. And k that fall
short bound all larger numbers: the prices of their programme, with what it would carry alone as
the price of each tanker that joins, are worth at least a gpm for each gpm on every way of the
larger programme. So that carries no more than its limits are worth at these prices (weak duality):
what the k carry, what those that join would carry alone, and the price of a dump position for each
one that they bring. All its other limits are the same, or lower (what the nurse line takes).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from haulshed.shuttle.batch import Batch, Crews
from haulshed.shuttle.drafting import Reached
from haulshed.shuttle.dump_site import dump_site_alone_gpm, dump_site_holds, positions_with
from haulshed.shuttle.kernel import Flags, Floats, Ints
from haulshed.shuttle.nurse import nurse_alone_gpm, nurse_holds

#: A bound may be this share too low: more than the prices of HiGHS are off by.
_SLACK = 1e-5


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A flow to be held, and the stages that may hold it, by crew."""

    flow_gpm: Floats
    by_nurse: Flags
    by_dump_site: Flags

    def at(self, which: Ints) -> "Target":
        """Return some of the targets."""
        return Target(
            flow_gpm=self.flow_gpm[which],
            by_nurse=self.by_nurse[which],
            by_dump_site=self.by_dump_site[which],
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Numbers:
    """What 0, 1, … n tankers bring to a stage, (J, n + 1)."""

    alone_gpm: Floats  #: added up, each over its nearest site alone
    positions: Ints  #: to dump; 1 where the stage knows none

    def at(self, which: Ints) -> "_Numbers":
        """Return some of the cases."""
        return _Numbers(alone_gpm=self.alone_gpm[which], positions=self.positions[which])


def first_to_arrive(batch: Batch, crews: Crews, count: Ints) -> Crews:
    """Return the crews with their first tankers to arrive only."""
    taking = crews.taking & (batch.rank[crews.place] < count[:, None])
    return Crews(place=crews.place, taking=taking, engines=crews.engines)


def fewest(batch: Batch, crews: Crews, target: Target) -> Ints:
    """Return how many tankers, first to arrive first, hold a target that all of them hold."""
    count = np.where(target.flow_gpm > 0, crews.taking.sum(axis=1), 0)
    for may, holds, numbers_of in (
        (target.by_dump_site, dump_site_holds, _at_dump_site),
        (target.by_nurse, nurse_holds, _nursing),
    ):
        which = np.flatnonzero(may & (count > 0))
        at, flow_gpm = crews.at(which), target.flow_gpm[which]
        numbers = numbers_of(batch, at, flow_gpm)
        count[which] = _climb(batch, at, flow_gpm, numbers, most=count[which], holds=holds)
    return count


def _climb(
    batch: Batch,
    crews: Crews,
    flow_gpm: Floats,
    numbers: _Numbers,
    *,
    most: Ints,
    holds: Callable[[Batch, Crews, Floats], Reached],
) -> Ints:
    """Return the fewest below `most` that hold a flow; `most` where none do."""
    none = np.zeros(most.size)
    count = _next(numbers, flow_gpm, none.astype(np.int64), none, none)
    which = np.flatnonzero(count < most)
    while which.size:
        crew = first_to_arrive(batch, crews.at(which), count[which])
        tried = holds(batch, crew, flow_gpm[which])
        short = ~tried.reached
        which = which[short]
        count[which] = _next(
            numbers.at(which),
            flow_gpm[which],
            count[which],
            tried.most_gpm[short],
            tried.position_gpm[short],
        )
        which = which[count[which] < most[which]]
    return np.minimum(count, most)


def _next(
    numbers: _Numbers, flow_gpm: Floats, count: Ints, carried_gpm: Floats, position_gpm: Floats
) -> Ints:
    """Return the next number that may hold a flow where `count` carry less; n + 1 where none."""
    here = np.arange(count.size), count
    joining_gpm = numbers.alone_gpm - numbers.alone_gpm[here][:, None]
    positions = numbers.positions - numbers.positions[here][:, None]
    bound_gpm = carried_gpm[:, None] + joining_gpm + position_gpm[:, None] * positions
    every = np.arange(numbers.positions.shape[1])
    may = (every > count[:, None]) & (numbers.positions > 0)
    may &= bound_gpm * (1 + _SLACK) >= flow_gpm[:, None]
    return np.where(may.any(axis=1), may.argmax(axis=1), every.size)


def _at_dump_site(batch: Batch, crews: Crews, _flow_gpm: Floats) -> _Numbers:
    """Return what each number of tankers brings to a dump site."""
    brought = _added_up(batch, crews, crews.taking & batch.portable_tank)
    return _Numbers(
        alone_gpm=_added_up(batch, crews, dump_site_alone_gpm(batch, crews)),
        positions=positions_with(batch, crews.place[:, None], brought.astype(np.int64)),
    )


def _nursing(batch: Batch, crews: Crews, flow_gpm: Floats) -> _Numbers:
    """Return what each number of tankers brings to nursing at a flow."""
    alone_gpm = _added_up(batch, crews, nurse_alone_gpm(batch, crews, flow_gpm))
    return _Numbers(alone_gpm=alone_gpm, positions=np.ones(alone_gpm.shape, np.int64))


def _added_up(batch: Batch, crews: Crews, each: Floats | Flags) -> Floats:
    """Return the sums of what the first 0, 1, … n tankers to arrive bring, (J, n + 1)."""
    order = np.argsort(batch.rank[crews.place], axis=1)
    sums = np.zeros((order.shape[0], order.shape[1] + 1))
    np.cumsum(np.take_along_axis(each, order, axis=1), axis=1, out=sums[:, 1:])
    return sums
