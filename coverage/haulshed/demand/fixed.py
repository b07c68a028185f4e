"""One needed flow for every structure, as local codes state it."""

import numpy as np

from haulshed.demand.need import DemandSource, Need
from haulshed.scenario.demand import DemandRules
from haulshed.tables.parcels import Parcels


def by_fixed(parcels: Parcels, rules: DemandRules) -> Need:
    """Return the scenario's `fixed_gpm` for each parcel; the method states no volume."""
    return Need(
        needed_gpm=np.full(len(parcels), rules.fixed_gpm),
        needed_gal=np.full(len(parcels), np.nan),
        demand_source=np.full(len(parcels), DemandSource.FIXED),
    )
