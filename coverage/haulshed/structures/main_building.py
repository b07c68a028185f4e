"""Which building is the main one of each parcel."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from haulshed.structures.footprints import Footprints
from haulshed.tables.buildings import LEAST_FT2
from haulshed.tables.parcels import Parcels
from haulshed.units import M_PER_FT

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Objects = NDArray[np.object_]

#: A place this near to a footprint lies on it [m]: address points stand on outlines.
ON_OUTLINE_M = 1.0
#: A building counts on a parcel if so much of it lies there [m²] …
_LEAST_PART_M2 = LEAST_FT2 * M_PER_FT**2
#: … or such a share of its footprint.
_LEAST_SHARE = 0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MainBuildings:
    """
    The main building of each of P parcels.

    Attributes
    ----------
    main
        Its row in the footprints, shape (P,); -1: none.
    count
        Buildings that belong to the parcel, sheds left out, its main one at least; shape (P,).
    parcels_of
        Parcels that each building counts on or is the main one of, shape (buildings,).
    """

    main: Ints
    count: Ints
    parcels_of: Ints


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Parts:
    """Pairs of a building and a parcel that it counts on, those that it belongs to first."""

    building: Ints
    parcel: Ints
    part_m2: Floats
    home: NDArray[np.bool_]  #: the building belongs to the parcel


def main_buildings(parcels: Parcels, footprints: Footprints) -> MainBuildings:
    """
    Return the main building of each parcel.

    A building counts on a parcel if 100 ft² of it lie there, or half of it. It belongs to the
    parcel with the largest part of it; of equal parts the parcel with the lowest id. The main
    building of a parcel is the first of these that there is, sheds under 100 ft² left out:

    1. the largest on which its structure point lies, within 1 m: its own one, or the parcel itself
       where that is a point;
    2. the largest of those that belong to it;
    3. of those that belong to a neighbour, the one with the largest part here.

    A point that lies on no building has none: where its parcel ends is not known.
    """
    parts = _parts(parcels, footprints)
    rows = len(parcels)
    main = np.full(rows, -1, dtype=np.int64)
    large = ~footprints.is_shed[parts.building]
    for kept, size in (
        (large & ~parts.home, parts.part_m2),
        (large & parts.home, footprints.area_ft2[parts.building]),
    ):
        _take_largest(main, footprints, parts.parcel[kept], parts.building[kept], size[kept])
    parcel, building = _under_points(parcels, footprints)
    _take_largest(main, footprints, parcel, building, footprints.area_ft2[building])
    count = np.bincount(parts.parcel[large & parts.home], minlength=rows)
    found = np.flatnonzero(main >= 0)
    pairs = np.unique([[*parts.building, *main[found]], [*parts.parcel, *found]], axis=1)
    return MainBuildings(
        main=main,
        count=np.maximum(count, main >= 0).astype(np.int64),
        parcels_of=np.bincount(pairs[0].astype(np.int64), minlength=len(footprints.shapes)),
    )


def _parts(parcels: Parcels, footprints: Footprints) -> _Parts:
    """Return which buildings count on which parcels, and which of them belong there."""
    shapes = np.asarray(parcels.geometry, dtype=object)
    building, parcel = shapely.STRtree(shapes).query(footprints.shapes, predicate="intersects")
    part_m2 = shapely.area(shapely.intersection(footprints.shapes[building], shapes[parcel]))
    whole_m2 = shapely.area(footprints.shapes)[building]
    counts = (part_m2 >= _LEAST_PART_M2) | (part_m2 >= _LEAST_SHARE * whole_m2)
    building, parcel, part_m2 = building[counts], parcel[counts], part_m2[counts]
    rank = np.argsort(np.argsort(parcels["parcel_id"].to_numpy(dtype=str), kind="stable"))
    order = np.lexsort((rank[parcel], -part_m2, building))
    building, parcel, part_m2 = building[order], parcel[order], part_m2[order]
    return _Parts(
        building=building,
        parcel=parcel,
        part_m2=part_m2,
        home=np.diff(building, prepend=-1) != 0,
    )


def _under_points(parcels: Parcels, footprints: Footprints) -> tuple[Ints, Ints]:
    """Return pairs of a parcel and a building, no shed, on which its structure point lies."""
    shapes = np.asarray(parcels.geometry, dtype=object)
    own = np.asarray(parcels["structure"], dtype=object)
    is_point = shapely.get_dimensions(shapes) == 0
    points = np.where(shapely.is_missing(own) & is_point, shapes, own)
    large = np.flatnonzero(~footprints.is_shed)
    tree = shapely.STRtree(footprints.shapes[large])
    parcel, at = tree.query(points, predicate="dwithin", distance=ON_OUTLINE_M)
    return parcel, large[at]


def _take_largest(
    main: Ints, footprints: Footprints, parcel: Ints, building: Ints, size: Floats
) -> None:
    """Put the largest building of each parcel into `main`; of equal ones the most south-western."""
    west, south, _, _ = shapely.bounds(footprints.shapes[building]).T
    order = np.lexsort((west, south, -size, parcel))
    some, first = np.unique(parcel[order], return_index=True)
    main[some] = building[order][first]
