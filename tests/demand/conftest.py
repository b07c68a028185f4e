"""Parcels made in code: all columns of the table, empty but for what a test gives."""

from collections.abc import Callable, Mapping, Sequence

import geopandas as gpd
import pytest
from shapely import Point

from haulshed.tables.parcels import PARCELS, Parcels


@pytest.fixture
def parcels_with() -> Callable[[Mapping[str, Sequence[object]]], Parcels]:
    def make(given: Mapping[str, Sequence[object]]) -> Parcels:
        count = len(next(iter(given.values())))
        empty: dict[str, Sequence[object]] = {
            column.name: [None] * count for column in PARCELS.columns
        }
        points = [Point(100.0 * row, 0) for row in range(count)]
        ids = [f"P-{row}" for row in range(count)]
        return Parcels(
            gpd.GeoDataFrame(
                empty | {"parcel_id": ids, "geometry": points} | given, crs="EPSG:32616"
            )
        )

    return make
