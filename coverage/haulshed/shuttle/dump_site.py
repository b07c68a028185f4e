"""The dump-site stage: tankers unload into portable tanks, which bridge the gaps."""

import numpy as np

from haulshed.shuttle.batch import Batch, Crews
from haulshed.shuttle.drafting import Optima, best, reaches
from haulshed.shuttle.kernel import Flags, Floats, Ints
from haulshed.shuttle.programme import Jobs

#: One engine attacks, one drafts at the dump site.
ENGINES_BUSY = 2

#: Flows that differ by this share are the same.
_SAME = 1e-9


def _positions(batch: Batch, crews: Crews) -> Ints:
    """Return the tankers that may unload at once: a tanker that stays away brings no tank."""
    brought = (crews.taking & batch.portable_tank).sum(axis=1)
    tanks = batch.other_tanks[crews.place] + brought
    return np.asarray(np.minimum(batch.dump_positions[crews.place], tanks))


def dump_site_jobs(batch: Batch, crews: Crews) -> Jobs:
    """Return the programmes; nobody takes part without two engines, a portable tank and a lay."""
    place = crews.place
    positions = _positions(batch, crews)
    ready = (crews.engines >= ENGINES_BUSY) & (positions > 0)
    taking = crews.taking & (ready & (batch.line_gpm[place] > 0))[:, None]
    return Jobs(
        place=place,
        unload_min=np.where(taking, batch.dump_min, np.inf),
        positions=positions.astype(np.float64),
        cap_gpm=batch.line_gpm[place],
        cap_bound=batch.line_bound[place],
        allowed=np.ones((place.size, batch.drafting.size), np.bool_),
    )


def dump_site_stage(batch: Batch, crews: Crews) -> Optima:
    """Return what a dump site carries."""
    jobs = dump_site_jobs(batch, crews)
    return best(batch.terms, jobs, batch.drafting, crews.engines - ENGINES_BUSY)


def dump_site_holds(batch: Batch, crews: Crews, flow_gpm: Floats) -> Flags:
    """Say whether a dump site carries a flow, which is above 0."""
    pumpers, least_gpm = crews.engines - ENGINES_BUSY, flow_gpm * (1 - _SAME)
    jobs = dump_site_jobs(batch, crews)
    return reaches(batch.terms, jobs, batch.drafting, pumpers, flow_gpm=least_gpm)
