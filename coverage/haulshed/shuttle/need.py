"""Whether the needed flow is held, by either stage: the answer without the flow itself.

Several times faster than the flows, since nothing is searched for: the programme is solved at the
need and nowhere else.
"""

from dataclasses import dataclass

import numpy as np

from haulshed.scenario.operation import Operation
from haulshed.shuttle import nurse
from haulshed.shuttle.batch import Batch, Crews
from haulshed.shuttle.drafting import best
from haulshed.shuttle.dump_site import dump_site_holds, dump_site_stage
from haulshed.shuttle.fleet import everyone
from haulshed.shuttle.flow import Part, by_part
from haulshed.shuttle.given import Places, Sites, Tankers
from haulshed.shuttle.kernel import Flags, Floats, Ints
from haulshed.shuttle.nurse import nurse_holds, nurse_jobs


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldNeed:
    """Which stage holds the needed flow; a need of 0 or none is held by neither."""

    nurse: Flags
    dump_site: Flags


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedAtNeed:
    """
    What the fleet carries with the times that unloading takes at the needed flow.

    Nursing holds the need if `nurse_gpm` is no less, a dump site if `dump_site_gpm`, its flow, is
    no less. 0 where nothing is needed.
    """

    nurse_gpm: Floats
    dump_site_gpm: Floats


def held_need(tankers: Tankers, sites: Sites, places: Places, operation: Operation) -> HeldNeed:
    """Return which stage holds the needed flow at every place."""
    held = by_part(tankers, sites, places, operation, answer=_held)
    by_nurse, by_dump_site = zip(*held, strict=True)
    return HeldNeed(
        nurse=np.concatenate(by_nurse).astype(np.bool_),
        dump_site=np.concatenate(by_dump_site).astype(np.bool_),
    )


def carried_at_need(
    tankers: Tankers, sites: Sites, places: Places, operation: Operation
) -> CarriedAtNeed:
    """Return how near either stage comes to the needed flow at every place."""
    carried = by_part(tankers, sites, places, operation, answer=_carried)
    by_nurse, by_dump_site = zip(*carried, strict=True)
    return CarriedAtNeed(
        nurse_gpm=np.concatenate(by_nurse), dump_site_gpm=np.concatenate(by_dump_site)
    )


def _held(part: Part) -> tuple[Floats, Floats]:
    """Return 1 for each place of a part where a stage holds the need: nursing, a dump site."""
    batch, asked, crews = part.batch, *_asked(part.batch)
    needed_gpm = batch.needed_gpm[asked]
    by_nurse = nurse_holds(batch, crews, needed_gpm).reached
    by_dump_site = dump_site_holds(batch, crews, needed_gpm).reached
    return _whole(batch, asked, by_nurse), _whole(batch, asked, by_dump_site)


def _carried(part: Part) -> tuple[Floats, Floats]:
    """Return what each stage carries at the need of each place of a part."""
    batch, asked, crews = part.batch, *_asked(part.batch)
    by_nurse = _nursed_gpm(batch, crews, batch.needed_gpm[asked])
    by_dump_site = dump_site_stage(batch, crews).flow_gpm
    return _whole(batch, asked, by_nurse), _whole(batch, asked, by_dump_site)


def _asked(batch: Batch) -> tuple[Ints, Crews]:
    """Return the places where something is needed, and all that count there."""
    asked = np.flatnonzero(batch.needed_gpm > 0)
    return asked, everyone(batch).at(asked)


def _whole(batch: Batch, asked: Ints, values: Floats | Flags) -> Floats:
    """Return values of the places asked as values of all, 0 elsewhere."""
    whole = np.zeros(batch.needed_gpm.size)
    whole[asked] = values
    return whole


def _nursed_gpm(batch: Batch, crews: Crews, needed_gpm: Floats) -> Floats:
    here = np.zeros(needed_gpm.size, np.bool_)
    everywhere = np.ones((needed_gpm.size, batch.drafting.size), np.bool_)
    jobs = nurse_jobs(batch, crews, needed_gpm, above=here, allowed=everywhere)
    pumpers = crews.engines - nurse.ENGINES_BUSY
    carried_gpm = best(batch.terms, jobs, batch.drafting, pumpers).flow_gpm
    return np.where(pumpers >= 0, carried_gpm, 0.0)
