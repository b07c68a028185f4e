"""The dump-site stage: tankers unload into portable tanks, which bridge the gaps."""

import numpy as np

from haulshed.shuttle.batch import Batch, Crews
from haulshed.shuttle.drafting import Optima, Reached, best, reaches, tanker_alone_gpm
from haulshed.shuttle.kernel import Floats, Ints
from haulshed.shuttle.programme import Jobs

#: One engine attacks, one drafts at the dump site.
ENGINES_BUSY = 2

#: Flows that differ by this share are the same.
_SAME = 1e-9


def positions_with(batch: Batch, place: Ints, brought: Ints) -> Ints:
    """Return the tankers that may unload at once where tankers have brought so many tanks."""
    return np.asarray(np.minimum(batch.dump_positions[place], batch.other_tanks[place] + brought))


def dump_site_jobs(batch: Batch, crews: Crews) -> Jobs:
    """Return the programmes; nobody takes part without two engines, a portable tank and a lay."""
    place = crews.place
    brought = (crews.taking & batch.portable_tank).sum(axis=1)  # who stays away brings none
    positions = positions_with(batch, place, brought)
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


def dump_site_alone_gpm(batch: Batch, crews: Crews) -> Floats:
    """Return what each tanker would carry over its nearest site with nobody in its way, (J, n)."""
    jobs, pumpers = dump_site_jobs(batch, crews), crews.engines - ENGINES_BUSY
    return tanker_alone_gpm(batch.terms, jobs, batch.drafting, pumpers)


def dump_site_holds(batch: Batch, crews: Crews, flow_gpm: Floats) -> Reached:
    """Say whether a dump site carries a flow, which is above 0."""
    pumpers, least_gpm = crews.engines - ENGINES_BUSY, flow_gpm * (1 - _SAME)
    jobs = dump_site_jobs(batch, crews)
    return reaches(batch.terms, jobs, batch.drafting, pumpers, flow_gpm=least_gpm)
