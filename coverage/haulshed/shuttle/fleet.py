"""Both stages at every place of a batch: what holds, what limits it, what could be spared."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from haulshed.shuttle.batch import Batch, Crews
from haulshed.shuttle.drafting import Optima
from haulshed.shuttle.dump_site import dump_site_holds, dump_site_stage
from haulshed.shuttle.fewest import Target, fewest, first_to_arrive
from haulshed.shuttle.kernel import Flags, Floats, Ints
from haulshed.shuttle.limits import ENGINES, name_limits, settled_prices, volume_priced
from haulshed.shuttle.nurse import nurse_holds, nurse_stage
from haulshed.shuttle.programme import Jobs, Results

#: Flows that differ by this share are the same.
_SAME = 1e-9
#: One more engine must lift the flow by this share to be named as the limit.
_WORTH_AN_ENGINE = 0.10
#: Less than this is no flow.
_SOME_GPM = 1e-3


def everyone(batch: Batch) -> Crews:
    """Return every place with all that count."""
    taking = batch.rank < batch.tank_gal.size
    return Crews(place=np.arange(batch.engines.size), taking=taking, engines=batch.engines)


def _holds(batch: Batch, crews: Crews, target: Target) -> Flags:
    """Say whether a stage that may holds the target."""
    held = target.flow_gpm <= 0
    which = np.flatnonzero(~held & target.by_dump_site)
    held[which] = dump_site_holds(batch, crews.at(which), target.flow_gpm[which]).reached
    which = np.flatnonzero(~held & target.by_nurse)
    held[which] = nurse_holds(batch, crews.at(which), target.flow_gpm[which]).reached
    return held


def sustained_gpm(batch: Batch, crews: Crews) -> Floats:
    """Return the larger flow of the two stages."""
    flow_gpm = dump_site_stage(batch, crews).flow_gpm.copy()
    nursing = np.ones(flow_gpm.size, np.bool_)
    which = np.flatnonzero(flow_gpm > 0)
    nursing[which] = nurse_holds(batch, crews.at(which), flow_gpm[which]).reached
    which = np.flatnonzero(nursing)
    nurse_gpm = nurse_stage(batch, crews.at(which)).flow_gpm
    flow_gpm[which] = np.maximum(flow_gpm[which], nurse_gpm)
    return flow_gpm


def relied_on(batch: Batch, crews: Crews, target: Target) -> Flags:
    """Return the fewest tankers, first to arrive first, that hold a target that all hold."""
    return first_to_arrive(batch, crews, fewest(batch, crews, target)).taking


def minus_one_gpm(batch: Batch, crews: Crews, target: Target, relied: Flags) -> Floats:
    """
    Return what is held with the largest tanker out, of the tankers `relied` on for a target.

    Where it is none of those, they hold the target without it, and all that are left hold no more
    than it: a tanker more never lowers a flow.
    """
    left, flow_gpm = without_largest(batch, crews), target.flow_gpm.copy()
    which = np.flatnonzero((relied & ~left.taking).any(axis=1))
    flow_gpm[which] = sustained_gpm(batch, left.at(which))
    return flow_gpm


def without_largest(batch: Batch, crews: Crews) -> Crews:
    """Return the crews less their largest tank; of equal ones the last to arrive is out."""
    tank_gal = np.where(crews.taking, batch.tank_gal, -np.inf)
    largest = tank_gal >= tank_gal.max(axis=1, initial=-np.inf)[:, None]
    rank = np.where(largest & crews.taking, batch.rank[crews.place], -1)
    out = (rank == rank.max(axis=1, initial=-1)[:, None]) & (rank >= 0)
    return Crews(place=crews.place, taking=crews.taking & ~out, engines=crews.engines)


def _larger(nurse: Optima, dump_site: Optima, nursing: Flags) -> Optima:
    """Return for every place the stage with the larger flow."""

    def chosen(one: NDArray[Any], other: NDArray[Any]) -> NDArray[Any]:
        return np.where(nursing.reshape(-1, *[1] * (one.ndim - 1)), one, other)

    return Optima(
        jobs=Jobs._make(map(chosen, nurse.jobs, dump_site.jobs)),
        results=Results._make(map(chosen, nurse.results, dump_site.results)),
        pumpers=chosen(nurse.pumpers, dump_site.pumpers),
        row_binds=nurse.row_binds | dump_site.row_binds,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """What the two stages hold at every place, and which holds more."""

    nurse: Optima
    dump_site: Optima
    nursing: Flags  #: nursing holds the larger flow, or as much
    larger: Optima
    price: Floats  #: of the rows of the larger stage, by the rule that settles ties
    volume_binds: Flags  #: in either stage more of a source's volume would carry more

    @property
    def target(self) -> Target:
        """The larger flow by its own stage."""
        return Target(
            flow_gpm=self.larger.flow_gpm, by_nurse=self.nursing, by_dump_site=~self.nursing
        )


def both_stages(batch: Batch, crews: Crews) -> Answers:
    """Return both stages."""
    nurse, dump_site = nurse_stage(batch, crews), dump_site_stage(batch, crews)
    nursing = nurse.flow_gpm >= dump_site.flow_gpm * (1 - _SAME)
    larger = _larger(nurse, dump_site, nursing)
    prices = settled_prices(batch, nurse), settled_prices(batch, dump_site)
    return Answers(
        nurse=nurse,
        dump_site=dump_site,
        nursing=nursing,
        larger=larger,
        price=np.where(nursing[:, None], *prices),
        volume_binds=volume_priced(batch, prices[0]) | volume_priced(batch, prices[1]),
    )


def engine_helps(batch: Batch, crews: Crews, answers: Answers) -> Flags:
    """Say whether one more engine would lift the flow by a tenth, or make one where none is."""
    helps = np.zeros(crews.place.size, np.bool_)
    alone = crews.engines == 1  # one more opens the dump site
    which = np.flatnonzero((crews.engines > 0) & (alone | answers.larger.row_binds))
    at, either = crews.at(which), np.ones(which.size, np.bool_)
    more = Crews(place=at.place, taking=at.taking, engines=at.engines + 1)
    lifted_gpm = np.maximum(answers.larger.flow_gpm[which] * (1 + _WORTH_AN_ENGINE), _SOME_GPM)
    target = Target(flow_gpm=lifted_gpm, by_nurse=either, by_dump_site=either)
    helps[which] = _holds(batch, more, target)
    return helps


def limits(batch: Batch, crews: Crews, answers: Answers) -> Ints:
    """Return the code of what holds each flow down; for flow 0 that of engines, or -1."""
    code = np.where(
        answers.larger.flow_gpm > 0, name_limits(batch, answers.larger, answers.price), -1
    )
    return np.where(engine_helps(batch, crews, answers), ENGINES, code)


def tankers_needed(batch: Batch, crews: Crews, answers: Answers) -> Ints:
    """Return the fewest tankers that hold the needed flow by either stage; -1 if none do."""
    needed_gpm = batch.needed_gpm[crews.place]
    count = np.full(needed_gpm.size, -1)
    which = np.flatnonzero(answers.larger.flow_gpm >= needed_gpm * (1 - _SAME))
    either = np.ones(which.size, np.bool_)
    target = Target(flow_gpm=needed_gpm[which], by_nurse=either, by_dump_site=either)
    count[which] = fewest(batch, crews.at(which), target)
    return count
