"""Distances from the roads, held to figures of other sources, and places at the edge of maps."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from pyproj import CRS

from haulshed.inputs.district import read_district
from haulshed.inputs.placing import Ground, place_degrees

FIJI = Path(__file__).parents[3] / "shared" / "osm" / "fiji_antimeridian.osm.pbf"


def ground(zone: int, easting_m: float, northing_m: float) -> Ground:
    return Ground(
        crs=CRS(32600 + zone),
        west_m=easting_m,
        south_m=northing_m,
        east_m=easting_m,
        north_m=northing_m,
    )


def test_miles_from_the_roads_are_those_on_the_globe() -> None:
    # On the central meridian of zone 14, at the equator: UTM is 500,000 m east, 0 m north there.
    # A degree of latitude at the equator is 110.574 km, one of longitude 111.320 km (WGS 84;
    # National Geospatial-Intelligence Agency's table, value from memory).
    here = ground(14, 500_000, 0)
    miles = here.miles(np.array([-99.0, -98.0]), np.array([1.0, 0.0]))
    assert miles == pytest.approx([110.574 / 1.609344, 111.320 / 1.609344], rel=1e-4)


def test_places_up_to_fifty_kilometres_away_are_taken() -> None:
    here = ground(14, 500_000, 0)
    lat = np.array([0.45, 0.46])
    points, wrong = place_degrees(lat, np.array([-99.0, -99.0]), here)
    assert [point is not None for point in points] == [True, False]
    assert [one.position for one in wrong] == [1]
    assert wrong[0].rule == "lies 32 miles from the roads"


def test_the_far_side_of_the_globe_is_far() -> None:
    here = ground(14, 500_000, 5_000_000)
    lat, lon = np.array([-45.0, 45.0, 0.0, 90.0]), np.array([81.0, 81.0, 81.0, 0.0])
    points, wrong = place_degrees(lat, lon, here)
    assert all(point is None for point in points)
    assert len(wrong) == 4


def test_both_sides_of_the_antimeridian_lie_side_by_side(
    tiny_district: Callable[..., Path], tmp_path: Path
) -> None:
    if not FIJI.is_file():
        pytest.skip("the shared map of Fiji is not here")
    folder = tiny_district(
        parcels_csv="parcel_id,lat,lon\nwest,-16.8,179.99\neast,-16.8,-179.99\n",
        fill_sites_csv="site_id,kind,lat,lon,flow_gpm\nA,stream,-16.8,-179.99,500\n",
        stations_csv="station_id,lat,lon\nS-1,-16.8,179.99\n",
    )
    toml = folder / "district.toml"
    toml.write_text(toml.read_text().replace("roads.osm", FIJI.as_posix()))
    inputs = read_district(folder, cache_dir=tmp_path, progress=lambda _step: None).inputs
    west, east = inputs.parcels.geometry
    # 0.02° of longitude at 16.8° south: 0.02 × 111.320 km × cos 16.8° = 2.13 km.
    assert west.distance(east) == pytest.approx(2131, rel=0.01)
