"""The dump-site stage: tankers unload into portable tanks, which bridge the gaps."""

import numpy as np

from haulshed.shuttle.batch import Batch, Crews
from haulshed.shuttle.drafting import Optima, best
from haulshed.shuttle.programme import Jobs

#: One engine attacks, one drafts at the dump site.
ENGINES_BUSY = 2


def dump_site_stage(batch: Batch, crews: Crews) -> Optima:
    """Return what a dump site carries; 0 without the two engines, a portable tank or a lay."""
    place = crews.place
    ready = (crews.engines >= ENGINES_BUSY) & (batch.dump_positions[place] > 0)
    taking = crews.taking & (ready & (batch.line_gpm[place] > 0))[:, None]
    jobs = Jobs(
        place=place,
        unload_min=np.where(taking, batch.dump_min, np.inf),
        positions=batch.dump_positions[place].astype(np.float64),
        cap_gpm=batch.line_gpm[place],
        cap_bound=batch.line_bound[place],
        allowed=np.ones((place.size, batch.drafting.size), np.bool_),
    )
    return best(batch.terms, jobs, batch.drafting, crews.engines - ENGINES_BUSY)
