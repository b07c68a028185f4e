"""What a parcel's table does not say of its structure, taken from the buildings."""

from collections.abc import Mapping
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from haulshed.structures.distances import distances
from haulshed.structures.footprints import Footprints
from haulshed.structures.main_building import MainBuildings, main_buildings
from haulshed.tables.parcels import Parcels

Bools = NDArray[np.bool_]

#: Cells of a parcel's row any of which, if it is not empty or 0, speaks of a structure there.
SPEAKS_OF_ONE = ("floor_area_ft2", "stories", "height_ft", "needed_gpm", "people")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Filled:
    """
    Parcels with what the buildings say of them.

    Attributes
    ----------
    parcels
        As given, empty cells filled.
    columns
        By parcel id, the columns that were filled; parcels with none are left out. `structure`
        stands for structure_lat and structure_lon.
    unplaced, shared, sheds
        Buildings on no parcel; on more than one; under 100 ft².
    bare
        Parcels taken to have no structure, as no building is there.
    denied
        Parcels whose own row says that nothing stands there, though a building does.
    """

    parcels: Parcels
    columns: Mapping[str, tuple[str, ...]]
    unplaced: int
    shared: int
    sheds: int
    bare: int
    denied: int


def fill_from_buildings(parcels: Parcels, footprints: Footprints, *, complete: bool) -> Filled:
    """
    Fill the empty cells of `parcels` from its main building; a cell that is not empty stays.

    Floor area is that of the whole footprint, also where a part of it lies on a neighbour's. Height
    and storeys are taken only where the parcel gives neither. Where the buildings are `complete`, a
    polygon without any is known to have no structure, unless its own row speaks of one.
    """
    found = main_buildings(parcels, footprints)
    given = _values(parcels, footprints, found, complete=complete)
    cells = {
        name: parcels[name].astype("object").where(parcels[name].notna(), values)
        for name, values in given.items()
    }
    fresh = {
        name: parcels[name].isna().to_numpy(dtype=bool) & pd.notna(values)
        for name, values in given.items()
    }
    structure = gpd.GeoSeries(cells.pop("structure"), index=parcels.index, crs=parcels.crs)
    numbers = {name: values.astype("float64") for name, values in cells.items()}
    own_none = (parcels["structures"] == 0).to_numpy(dtype=bool)
    return Filled(
        parcels=Parcels(parcels.assign(structure=structure, **numbers)),
        columns=_columns(parcels["parcel_id"].to_numpy(dtype=object), fresh),
        unplaced=int((found.parcels_of == 0).sum()),
        shared=int((found.parcels_of > 1).sum()),
        sheds=int(footprints.is_shed.sum()),
        bare=int((fresh["structures"] & (given["structures"] == 0)).sum()),
        denied=int((own_none & (found.main >= 0)).sum()),
    )


def _values(
    parcels: Parcels, footprints: Footprints, found: MainBuildings, *, complete: bool
) -> dict[str, NDArray[np.object_] | NDArray[np.float64]]:
    """Return what the buildings say of each parcel, by column; empty where they say nothing."""
    main, has = found.main, found.main >= 0
    silent = parcels[["stories", "height_ft"]].isna().all(axis=1).to_numpy(dtype=bool)

    def of_main(values: NDArray[np.float64], where: Bools) -> NDArray[np.float64]:
        return np.where(where, np.append(values, np.nan)[main], np.nan)

    apart = distances(main, footprints)
    return {
        "structure": _places(parcels, footprints, found),
        "structures": np.where(
            has, found.count, np.where(_bare(parcels, found) & complete, 0.0, np.nan)
        ),
        "floor_area_ft2": of_main(footprints.area_ft2, has),
        "stories": of_main(footprints.stories, has & silent),
        "height_ft": of_main(footprints.height_ft, has & silent),
        "exposure_ft": apart.exposure_ft,
        "exposure_any_ft": apart.exposure_any_ft,
        "spacing_ft": apart.spacing_ft,
    }


def _places(parcels: Parcels, footprints: Footprints, found: MainBuildings) -> NDArray[np.object_]:
    """Return a point on the main building's part of each polygon; None where there is none."""
    shapes = np.asarray(parcels.geometry, dtype=object)
    is_area = shapely.get_dimensions(shapes) > 0
    rows = np.flatnonzero((found.main >= 0) & is_area)
    places = np.full(len(shapes), None, dtype=object)
    on_parcel = shapely.intersection(footprints.shapes[found.main[rows]], shapes[rows])
    places[rows] = shapely.point_on_surface(on_parcel)
    return places


def _bare(parcels: Parcels, found: MainBuildings) -> Bools:
    """Return the polygons that have no building and whose row speaks of none."""
    shapes = np.asarray(parcels.geometry, dtype=object)
    is_area = shapely.get_dimensions(shapes) > 0
    spoken = parcels[list(SPEAKS_OF_ONE)].astype("float64").fillna(0.0).gt(0).any(axis=1)
    placed = ~shapely.is_missing(np.asarray(parcels["structure"], dtype=object))
    return np.asarray(is_area & (found.main < 0) & ~spoken.to_numpy(dtype=bool) & ~placed)


def _columns(ids: NDArray[np.object_], fresh: Mapping[str, Bools]) -> dict[str, tuple[str, ...]]:
    names = np.array(list(fresh), dtype=object)
    patterns, pattern = np.unique(
        np.column_stack(list(fresh.values())), axis=0, return_inverse=True
    )
    listed = [tuple(names[one]) for one in patterns]
    return {
        str(parcel_id): listed[at]
        for parcel_id, at in zip(ids, pattern.tolist(), strict=True)
        if listed[at]
    }
