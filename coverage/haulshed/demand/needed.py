"""The need of every parcel, by the method that the scenario names."""

import numpy as np

from haulshed.demand.column import by_column
from haulshed.demand.fixed import by_fixed
from haulshed.demand.need import DemandSource, Need, numbers
from haulshed.demand.spacing import by_spacing
from haulshed.demand.volume import by_volume
from haulshed.scenario.demand import DemandMethod, DemandRules
from haulshed.tables.parcels import Parcels

_METHODS = {
    DemandMethod.VOLUME: by_volume,
    DemandMethod.DWELLING_SPACING: by_spacing,
    DemandMethod.FIXED: by_fixed,
    DemandMethod.COLUMN: by_column,
}


def needed(parcels: Parcels, rules: DemandRules) -> Need:
    """
    Return the need of each parcel, in the order of the parcels.

    A parcel known to have no structure (`structures` is 0) needs nothing: its flow and water are
    NaN, never 0. Where it is not known, one structure is taken to stand there.

    Parameters
    ----------
    parcels
        The district's parcels.
    rules
        The method, and what stands in for what a parcel does not say.

    Returns
    -------
    need
        Needed flow [gpm], needed water [gal], and what they rest on.
    """
    need = _METHODS[rules.method](parcels, rules)
    bare = numbers(parcels, "structures") == 0
    return Need(
        needed_gpm=np.where(bare, np.nan, need.needed_gpm),
        needed_gal=np.where(bare, np.nan, need.needed_gal),
        demand_source=np.where(bare, DemandSource.NO_STRUCTURE, need.demand_source),
    )
