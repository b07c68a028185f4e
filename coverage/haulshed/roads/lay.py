"""The lay: hose from a parcel's access point to its structure."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from haulshed.roads.snap import Access
from haulshed.scenario import SupplyLine
from haulshed.tables.parcels import Parcels
from haulshed.units import M_PER_FT

#: Supply hose comes in lengths; no lay is shorter than one of them [ft]. Common practice: 50 ft.
SHORTEST_LAY_FT = 50.0


class LaySource(StrEnum):
    """What the length of a lay rests on."""

    GIVEN = "given"  #: the parcel's own lay_ft
    DRIVEWAY = "driveway"  #: along the mapped driveway
    STRAIGHT = "straight"  #: straight distance times the scenario's detour


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lays:
    """The lay to each parcel's structure, in step with the parcels."""

    lay_ft: NDArray[np.float64]  #: NaN where there is neither a given lay nor an access point
    lay_source: NDArray[np.object_]  #: a :class:`LaySource`; None where there is no lay


def lays(parcels: Parcels, access: Access, supply_line: SupplyLine) -> Lays:
    """
    Return the lay to each parcel: given, else along its driveway, else straight times detour.

    None, a given one included, is shorter than one length of hose, 50 ft.
    """
    straight_ft = access.points.off_road_m / M_PER_FT * supply_line.detour
    straight_ft = np.where(access.points.on_road, straight_ft, np.nan)
    choices = (
        (LaySource.GIVEN, parcels["lay_ft"].to_numpy(dtype=np.float64, na_value=np.nan)),
        (LaySource.DRIVEWAY, access.driveway_ft),
        (LaySource.STRAIGHT, straight_ft),
    )
    lay_ft = np.full(len(parcels), np.nan)
    lay_source = np.full(len(parcels), None, dtype=object)
    for source, length_ft in choices:
        fresh = np.isnan(lay_ft) & ~np.isnan(length_ft)
        lay_ft[fresh] = np.maximum(length_ft[fresh], SHORTEST_LAY_FT)
        lay_source[fresh] = source
    return Lays(lay_ft=lay_ft, lay_source=lay_source)
