"""The district's own finding, parcel by parcel."""

import numpy as np

from haulshed.demand.need import DemandSource, Need, numbers
from haulshed.demand.volume import by_volume
from haulshed.scenario.demand import DemandRules
from haulshed.tables.parcels import Parcels


def by_column(parcels: Parcels, rules: DemandRules) -> Need:
    """
    Return each parcel's own `needed_gpm`; where that is empty, the volume method's.

    `demand_source` tells them apart: only *column* is the district's own figure. An own figure
    of 0 says that nothing is needed (NaN), and states no volume.
    """
    own_gpm = numbers(parcels, "needed_gpm")
    empty = np.isnan(own_gpm)
    volume = by_volume(parcels, rules)
    return Need(
        needed_gpm=np.where(empty, volume.needed_gpm, np.where(own_gpm > 0, own_gpm, np.nan)),
        needed_gal=np.where(empty, volume.needed_gal, np.nan),
        demand_source=np.where(empty, volume.demand_source, DemandSource.COLUMN),
    )
