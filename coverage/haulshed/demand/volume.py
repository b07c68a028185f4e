"""Volume method of the rural water-supply standard (NFPA 1142, before it NFPA 1231)."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from haulshed.demand.need import Need, numbers, source_by_known
from haulshed.scenario.demand import DemandRules
from haulshed.tables.parcels import Parcels

#: Least water supply without and with an exposure [gal] (Estes Park fire chief's memo, 1 August
#: 2007; NFPA 1142, 2001, 7.3.2).
LEAST_GAL = 2000.0
LEAST_EXPOSED_GAL = 3000.0
#: An exposure multiplies the water by this (the same memo).
EXPOSURE_FACTOR = 1.5

#: A structure as near as this is an exposure if it is 100 ft² or more, to the occupancy hazard
#: classes up to 4 of any size [ft] (NFPA 1142 review slides, studylib 9501653).
EXPOSURE_FT = 50.0
ANY_SIZE_HAZARD = 4

#: Delivery rate by needed water: below the first volume [gal] the first rate [gpm], and so on; from
#: the last volume on, the last rate (NFPA 1142, table 4.6.1, value from memory).
DELIVERY_FROM_GAL = (2500.0, 10_000.0, 20_000.0)
DELIVERY_GPM = (250.0, 500.0, 750.0, 1000.0)

#: Occupancy hazard class of dwellings, and the factor that some editions cap theirs at.
DWELLING_HAZARD = 7
DWELLING_CAP = 1.0


def needed_water_gal(
    volume_ft3: ArrayLike,
    *,
    occupancy_hazard: ArrayLike,
    construction_class: ArrayLike,
    exposure: ArrayLike,
) -> NDArray[np.float64]:
    r"""
    Return the least water supply [gal] of a structure with no sprinklers.

    .. math:: W = V / \text{OHC} \times \text{CC}

    times 1.5 with an exposure; at least 2,000 gal, with an exposure 3,000 gal. Not rounded.

    Parameters
    ----------
    volume_ft3
        Volume of the structure, half the roof's rise included [ft³].
    occupancy_hazard
        Occupancy hazard class, 3 (severe) to 7 (light); the most hazardous use governs.
    construction_class
        Construction class factor, 0.5 to 1.5; the highest governs.
    exposure
        Whether a structure of 100 ft² or more stands within 50 ft (class 3 or 4: of any size).

    Examples
    --------
    50 by 24 ft, two 8-ft storeys and half of an 8-ft rise, 24,000 ft³ (value from memory):

    >>> needed_water_gal(
    ...     [24000, 24000],
    ...     occupancy_hazard=7,
    ...     construction_class=1.0,
    ...     exposure=[False, True],
    ... ).round().tolist()
    [3429.0, 5143.0]
    """
    exposed = np.asarray(exposure, bool)
    built = np.asarray(volume_ft3, float) * np.asarray(construction_class, float)
    water = built / np.asarray(occupancy_hazard, float)
    water = np.where(exposed, water * EXPOSURE_FACTOR, water)
    return np.asarray(np.maximum(water, np.where(exposed, LEAST_EXPOSED_GAL, LEAST_GAL)))


def delivery_gpm(needed_gal: ArrayLike) -> NDArray[np.float64]:
    """
    Return the rate [gpm] at which the needed water [gal] is to be delivered.

    Examples
    --------
    NFPA 1142, table 4.6.1 (value from memory):

    >>> delivery_gpm([2499, 2500, 9999, 10000, 19999, 20000]).tolist()
    [250.0, 500.0, 500.0, 750.0, 750.0, 1000.0]
    """
    band = np.searchsorted(DELIVERY_FROM_GAL, np.asarray(needed_gal, float), side="right")
    return np.asarray(np.array(DELIVERY_GPM)[band])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VolumeTerms:
    """What the method reckons with, one value a parcel."""

    floor_area_ft2: NDArray[np.float64]
    height_ft: NDArray[np.float64]  #: mean height, half of the roof's rise included
    occupancy_hazard: NDArray[np.float64]
    construction_class: NDArray[np.float64]
    exposure: NDArray[np.bool_]
    known: NDArray[np.bool_]  #: whether a term is the parcel's own, shape (parcels, 5)


def volume_terms(parcels: Parcels, rules: DemandRules) -> VolumeTerms:
    """
    Return the terms of each parcel's structure, by its own data and the default dwelling's.

    Volume = floor area times the height given, else times storeys and storey height and half of the
    roof's rise. A parcel that gives its storeys counts as giving its height. The parcels do not
    tell dwellings from other light hazards, so the cap of the construction class, where the
    scenario sets it, holds for the whole class 7. Whether there is an exposure is as given, else by
    the distance to the nearest structure that counts for the hazard class.
    """
    floor_area_ft2 = numbers(parcels, "floor_area_ft2")
    stories = numbers(parcels, "stories")
    height_ft = numbers(parcels, "height_ft")
    hazard = numbers(parcels, "occupancy_hazard")
    construction = numbers(parcels, "construction_class")
    exposure = _exposure(parcels, _or(hazard, rules.default_occupancy_hazard))
    fields = (floor_area_ft2, np.fmax(height_ft, stories), hazard, construction, exposure)
    known = ~np.isnan(np.column_stack(fields))

    built_ft = _or(stories, rules.default_stories) * rules.story_height_ft + rules.roof_rise_ft / 2
    hazard = _or(hazard, rules.default_occupancy_hazard)
    construction = _or(construction, rules.default_construction_class)
    if rules.dwelling_construction_cap:
        capped = np.minimum(construction, DWELLING_CAP)
        construction = np.where(hazard == DWELLING_HAZARD, capped, construction)
    return VolumeTerms(
        floor_area_ft2=_or(floor_area_ft2, rules.default_floor_area_ft2),
        height_ft=_or(height_ft, built_ft),
        occupancy_hazard=hazard,
        construction_class=construction,
        exposure=_or(exposure, rules.default_exposure).astype(np.bool_),
        known=known,
    )


def by_volume(parcels: Parcels, rules: DemandRules) -> Need:
    """Return the need of each parcel's structure, as :func:`volume_terms` describes it."""
    terms = volume_terms(parcels, rules)
    needed_gal = needed_water_gal(
        terms.floor_area_ft2 * terms.height_ft,
        occupancy_hazard=terms.occupancy_hazard,
        construction_class=terms.construction_class,
        exposure=terms.exposure,
    )
    return Need(
        needed_gpm=delivery_gpm(needed_gal),
        needed_gal=needed_gal,
        demand_source=source_by_known(terms.known),
    )


def _exposure(parcels: Parcels, hazard: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return 1 where there is an exposure, 0 where there is none, NaN where it is not known."""
    given = numbers(parcels, "exposure")
    large_ft, any_ft = numbers(parcels, "exposure_ft"), numbers(parcels, "exposure_any_ft")
    near_ft = np.where(hazard <= ANY_SIZE_HAZARD, np.fmin(any_ft, large_ft), large_ft)
    by_distance = np.where(np.isnan(near_ft), np.nan, near_ft <= EXPOSURE_FT)
    return np.where(np.isnan(given), by_distance, given)


def _or(given: NDArray[np.float64], default: ArrayLike) -> NDArray[np.float64]:
    return np.where(np.isnan(given), default, given)
