"""Needed flow of dwellings by the distance between them (ISO's rating schedule)."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from haulshed.demand.need import Need, numbers, source_by_known
from haulshed.scenario.demand import DemandRules, SpacingEdition
from haulshed.tables.parcels import Parcels

#: Distance up to and with which a flow holds [ft], nearest first; the last flow holds beyond.
UP_TO_FT = {
    SpacingEdition.BEFORE_2013: (10.0, 30.0, 100.0),  # vanshaver.com, secondary copy
    SpacingEdition.FROM_2013: (10.0, 20.0, 30.0),  # value from memory
}
#: The flows of both editions [gpm].
SPACING_GPM = (1500.0, 1000.0, 750.0, 500.0)


def spacing_gpm(spacing_ft: ArrayLike, edition: SpacingEdition) -> NDArray[np.float64]:
    """
    Return the needed flow [gpm] of a one- or two-family dwelling.

    The published bands are in whole feet (11 to 30, 31 to 100); a distance between two of them
    counts with the farther band.

    Parameters
    ----------
    spacing_ft
        Distance to the nearest other dwelling [ft].
    edition
        Which edition's bands.

    Examples
    --------
    >>> spacing_gpm([10, 11, 30, 31, 100, 101], SpacingEdition.BEFORE_2013).tolist()
    [1500.0, 1000.0, 1000.0, 750.0, 750.0, 500.0]
    >>> spacing_gpm([10, 11, 20, 21, 30, 31], SpacingEdition.FROM_2013).tolist()
    [1500.0, 1000.0, 1000.0, 750.0, 750.0, 500.0]
    """
    band = np.searchsorted(UP_TO_FT[edition], np.asarray(spacing_ft, float), side="left")
    return np.asarray(np.array(SPACING_GPM)[band])


def by_spacing(parcels: Parcels, rules: DemandRules) -> Need:
    """Return the need of each parcel's dwelling by its spacing; the method states no volume."""
    given_ft = numbers(parcels, "spacing_ft")
    unknown = np.isnan(given_ft)
    spacing_ft = np.where(unknown, rules.default_spacing_ft, given_ft)
    return Need(
        needed_gpm=spacing_gpm(spacing_ft, rules.spacing_edition),
        needed_gal=np.full(len(parcels), np.nan),
        demand_source=source_by_known(~unknown[:, None]),
    )
