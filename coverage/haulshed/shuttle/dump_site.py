"""The dump-site stage: tankers unload into portable tanks, which bridge the gaps."""

import numpy as np

from haulshed.shuttle.batch import Batch, Crews
from haulshed.shuttle.drafting import Optima, best
from haulshed.shuttle.kernel import Ints
from haulshed.shuttle.programme import Jobs

#: One engine attacks, one drafts at the dump site.
ENGINES_BUSY = 2


def _positions(batch: Batch, crews: Crews) -> Ints:
    """Return the tankers that may unload at once: a tanker that stays away brings no tank."""
    brought = (crews.taking & batch.portable_tank).sum(axis=1)
    tanks = batch.other_tanks[crews.place] + brought
    return np.asarray(np.minimum(batch.dump_positions[crews.place], tanks))


def dump_site_stage(batch: Batch, crews: Crews) -> Optima:
    """Return what a dump site carries; 0 without the two engines, a portable tank or a lay."""
    place = crews.place
    positions = _positions(batch, crews)
    ready = (crews.engines >= ENGINES_BUSY) & (positions > 0)
    taking = crews.taking & (ready & (batch.line_gpm[place] > 0))[:, None]
    jobs = Jobs(
        place=place,
        unload_min=np.where(taking, batch.dump_min, np.inf),
        positions=positions.astype(np.float64),
        cap_gpm=batch.line_gpm[place],
        cap_bound=batch.line_bound[place],
        allowed=np.ones((place.size, batch.drafting.size), np.bool_),
    )
    return best(batch.terms, jobs, batch.drafting, crews.engines - ENGINES_BUSY)
