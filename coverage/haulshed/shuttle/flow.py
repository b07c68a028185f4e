"""The sustained flow at every place, and what holds it down."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from haulshed.cores import shared_out
from haulshed.scenario.operation import Operation
from haulshed.shuttle.batch import Batch, Order, batch_of, order_of
from haulshed.shuttle.dump_site import dump_site_stage
from haulshed.shuttle.fleet import (
    both_stages,
    everyone,
    limits,
    minus_one_gpm,
    relied_on,
    tankers_needed,
)
from haulshed.shuttle.given import Places, Sites, Tankers
from haulshed.shuttle.kernel import Flags, Floats, Ints
from haulshed.shuttle.limits import ENGINES
from haulshed.shuttle.nurse import nurse_stage
from haulshed.shuttle.reasons import zero_flow_reasons

_Answer = TypeVar("_Answer")
_Stages = TypeVar("_Stages", bound="StageFlows")

#: Told how many places are done, of how many.
Progress = Callable[[int, int], None]

#: Places worked out together, between two reports of progress.
_PLACES_AT_ONCE = 1000

#: Flows that differ by this share are the same.
_SAME = 1e-9


def _untold(_done: int, _places: int) -> None:
    """Report to nobody."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StageFlows:
    """The flow of both stages at each place; 0 where nothing can be hauled."""

    nurse_gpm: Floats
    dump_site_gpm: Floats
    programmes: np.int64  #: that the simplex was set
    rescued: np.int64  #: those of them that it left to HiGHS

    @property
    def sustained_gpm(self) -> Floats:
        """The larger flow of the two stages."""
        return np.maximum(self.nurse_gpm, self.dump_site_gpm)

    @property
    def nursing(self) -> Flags:
        """Whether nursing holds the larger flow, or as much as a dump site."""
        return self.nurse_gpm >= self.dump_site_gpm * (1 - _SAME)


@dataclass(frozen=True, slots=True, kw_only=True)
class Flows(StageFlows):
    """
    What the fleet holds at each place.

    `limit`, `site_gpm`, `round_trip_min`, `legs_min` and `relies_on` belong to the stage with the
    larger flow, nursing on a tie.
    """

    limit: Ints  #: code of what holds the flow down, see :data:`haulshed.shuttle.limits.LIMITS`
    minus_one_gpm: Floats  #: with the largest tanker out; of equal ones the last to arrive
    tankers_needed: Ints  #: fewest, as they arrive (together: larger tank first); -1: none do
    site_gpm: Floats  #: flow from each site, (P, S)
    leg_class: NDArray[np.int16]  #: weight class whose tankers carry most from each site, (P, S)
    round_trip_min: Floats  #: weighted by the share of each tanker's time; nan without flow
    legs_min: Floats  #: the part of it on the road
    relies_on: Flags  #: the fewest tankers, as they arrive, that hold the flow, (P, n)
    volume_binds: Flags  #: in either stage more of a source's volume would carry more


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Some of the places, with all tankers and sites, in order."""

    tankers: Tankers
    sites: Sites
    places: Places
    order: Order
    batch: Batch


def by_part(
    tankers: Tankers,
    sites: Sites,
    places: Places,
    operation: Operation,
    *,
    answer: Callable[[Part], _Answer],
) -> Iterator[_Answer]:
    """
    Yield the answers for all places, some at a time; of at least one part, which may be empty.

    The cores share the parts, and the order in which they do changes nothing.
    """
    order = order_of(tankers, sites, places)
    tankers, sites = tankers.at(order.tankers), sites.at(order.sites)

    def some(start: int) -> _Answer:
        which = slice(start, start + _PLACES_AT_ONCE)
        here = places.at(which, tankers=order.tankers, sites=order.sites)
        batch = batch_of(tankers, sites, here, operation)
        return answer(Part(tankers=tankers, sites=sites, places=here, order=order, batch=batch))

    return shared_out(some, range(0, max(places.engines.size, 1), _PLACES_AT_ONCE))


def _flows(part: Part) -> Flows:
    """Return all about the places of one part."""
    batch, crews = part.batch, everyone(part.batch)
    answers = both_stages(batch, crews)
    held = answers.larger.results
    flowing = answers.larger.flow_gpm > 0
    relies_on, spared_gpm = np.zeros_like(crews.taking), np.zeros(flowing.size)
    which = np.flatnonzero(flowing)
    at, target = crews.at(which), answers.target.at(which)
    relies_on[which] = relied_on(batch, at, target)
    spared_gpm[which] = minus_one_gpm(batch, at, target, relies_on[which])
    site = np.argsort(part.order.sites)
    limit = limits(batch, crews, answers)
    reasons = zero_flow_reasons(
        part.tankers, part.sites, part.places, engine_helps=limit == ENGINES
    )
    return Flows(
        nurse_gpm=answers.nurse.flow_gpm,
        dump_site_gpm=answers.dump_site.flow_gpm,
        limit=np.where(flowing, limit, reasons),
        minus_one_gpm=spared_gpm,
        tankers_needed=tankers_needed(batch, crews, answers),
        site_gpm=held.class_gpm.sum(axis=1)[:, site],
        leg_class=held.class_gpm.argmax(axis=1)[:, site].astype(np.int16),
        round_trip_min=held.round_trip_min,
        legs_min=held.legs_min,
        relies_on=relies_on[:, np.argsort(part.order.tankers)],
        volume_binds=answers.volume_binds,
        programmes=batch.terms.tally[0],
        rescued=batch.terms.tally[1],
    )


def _stage_flows(part: Part) -> StageFlows:
    """Return the flows alone of the places of one part."""
    batch, crews = part.batch, everyone(part.batch)
    return StageFlows(
        nurse_gpm=nurse_stage(batch, crews).flow_gpm,
        dump_site_gpm=dump_site_stage(batch, crews).flow_gpm,
        programmes=batch.terms.tally[0],
        rescued=batch.terms.tally[1],
    )


def _joined(answers: Iterator[_Stages], progress: Progress, places: int) -> _Stages:
    """Return the answers of all parts as one, telling how far it is."""
    got: list[_Stages] = []
    for answer in answers:
        got.append(answer)
        progress(min(len(got) * _PLACES_AT_ONCE, places), places)
    joined: dict[str, Any] = {}
    for field in fields(got[0]):
        values = [getattr(answer, field.name) for answer in got]
        joined[field.name] = sum(values) if field.type is np.int64 else np.concatenate(values)
    return type(got[0])(**joined)


def flows(
    tankers: Tankers,
    sites: Sites,
    places: Places,
    operation: Operation,
    *,
    progress: Progress = _untold,
) -> Flows:
    """
    Return all that the fleet programme says of every place.

    Exact for like tankers on like trips at constant times, else an upper bound. Let the sites stand
    in the order of their ids, so that of two that are alike in every figure the same one is named.
    """
    answers = by_part(tankers, sites, places, operation, answer=_flows)
    return _joined(answers, progress, places.engines.size)


def stage_flows(
    tankers: Tankers,
    sites: Sites,
    places: Places,
    operation: Operation,
    *,
    progress: Progress = _untold,
) -> StageFlows:
    """Return the two flows at every place and nothing else, which is several times faster."""
    answers = by_part(tankers, sites, places, operation, answer=_stage_flows)
    return _joined(answers, progress, places.engines.size)
