"""Every intermediate figure of a district, kept so that answers and explanations read the same."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.ground import Ground
from haulshed.assess.hose_lines import HoseLines
from haulshed.assess.incidents import Incidents
from haulshed.demand.need import Need
from haulshed.roads.lay import Lays
from haulshed.roads.snap import Access
from haulshed.roads.travel import SiteReach
from haulshed.shuttle import Flows

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Judged:
    """The flows that the verdict rests on, over each parcel's own test minutes."""

    test_min: Floats
    rows: NDArray[np.int64]  #: parcels whose test minutes are not the planned duration
    flows: Flows  #: of those rows


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Working:
    """Everything that was worked out for the parcels, in step with them."""

    ground: Ground
    found: tuple[SiteReach, ...]  #: by weight class
    access: Access
    lay: Lays
    need: Need
    there: Incidents
    flows: Flows  #: over the planned duration
    hose: HoseLines  #: over the test minutes
    judged: Judged
