"""Ground levels of SRTM tiles against summits, the tiles' own bytes and scipy's interpolation."""

import zipfile
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from pyproj import CRS, Transformer
from scipy.interpolate import RegularGridInterpolator

from haulshed.inputs.dem_file import read_grid
from haulshed.inputs.placing import Ground
from haulshed.terrain import Grid

DEM = Path(__file__).parents[3] / "shared" / "dem"
ZONES = {"N42E001": 32631, "N49E011": 32632, "N50E011": 32632}
FT = 1 / 0.3048
#: Levels of a tile along a side, 3 arc-seconds apart, the outer ones on whole degrees.
SIDE = 1201


@cache
def grid(tile: str) -> Grid:
    """Return a whole tile as it is read for a district as large as it."""
    path = DEM / f"srtm_{tile}.hgt.zip"
    if not path.is_file():
        pytest.skip("the shared tiles are not here")
    south, west = float(tile[1:3]), float(tile[4:])
    turn = Transformer.from_crs(4326, ZONES[tile], always_xy=True)
    bounds = turn.transform_bounds(west, south, west + 1, south + 1)
    here = Ground(
        crs=CRS.from_epsg(ZONES[tile]),
        **dict(zip(("west_m", "south_m", "east_m", "north_m"), bounds, strict=True)),
    )
    read = read_grid(path, None, bounds, here).grid
    assert read is not None
    return read


def raw_m(tile: str) -> np.ndarray:
    """Return the levels of a tile as its bytes have them: big-endian, from the north down [m]."""
    with zipfile.ZipFile(DEM / f"srtm_{tile}.hgt.zip") as packed:
        levels = np.frombuffer(packed.read(f"{tile}.hgt"), dtype=">i2").reshape(SIDE, SIDE)
    return np.where(levels == -32768, np.nan, levels.astype(float))


@pytest.mark.parametrize(
    ("tile", "lat", "lon", "summit_m"),
    [
        # Places and heights are common geographic knowledge, from memory.
        ("N42E001", 42.592, 1.445, 2942),  # Comapedrosa, highest of Andorra
        ("N42E001", 42.667, 1.398, 3143),  # Pica d'Estats
        ("N50E011", 50.052, 11.857, 1051),  # Schneeberg, highest of Franconia
        ("N50E011", 50.031, 11.814, 1024),  # Ochsenkopf
        ("N49E011", 49.828, 11.848, 682),  # Rauher Kulm
    ],
)
def test_summits(tile: str, lat: float, lon: float, summit_m: float) -> None:
    # Cells of 90 m smooth a summit away: the highest level within 500 m lies below it, by up to
    # 60 m at these; and a level is 16 m wrong at most in nine of ten (SRTM's own specification).
    near = np.linspace(-500, 500, 41)
    lats, lons = np.meshgrid(lat + near / 111_000, lon + near / 111_000 / np.cos(np.radians(lat)))
    highest_m = np.nanmax(grid(tile).at(lons.ravel(), lats.ravel())) / FT
    assert summit_m - 60 < highest_m < summit_m + 16


@pytest.mark.parametrize("tile", list(ZONES))
def test_levels_are_those_of_the_bytes(tile: str) -> None:
    levels_m, rng = grid(tile), np.random.default_rng(7)
    row, column = rng.integers(0, SIDE, (2, 20_000))
    raw = raw_m(tile)
    voids = np.argwhere(np.isnan(raw))
    row, column = np.append(row, voids[:, 0]), np.append(column, voids[:, 1])
    north, west = float(tile[1:3]) + 1, float(tile[4:])
    got = levels_m.at(west + column / 1200, north - row / 1200) / FT
    there = raw[row, column]
    # A rounding beside the centre of a cell is a little of its neighbour, and void beside a void.
    void = np.isnan(got)
    assert np.isnan(there[void]).mean() > 0.5
    assert got[~void] == pytest.approx(there[~void], abs=1e-2)
    assert np.isnan(got[np.isnan(there)]).all()
    assert (got[~void] > -100).all()


@pytest.mark.parametrize("tile", list(ZONES))
def test_between_the_cells_as_scipy_has_it(tile: str) -> None:
    rng = np.random.default_rng(8)
    row, column = rng.uniform(0, SIDE - 1, (2, 20_000))
    axis = np.arange(SIDE, dtype=float)
    theirs_m = RegularGridInterpolator((axis, axis), raw_m(tile))((row, column))
    north, west = float(tile[1:3]) + 1, float(tile[4:])
    ours_m = grid(tile).at(west + column / 1200, north - row / 1200) / FT
    assert ours_m == pytest.approx(theirs_m, abs=1e-2, nan_ok=True)
    assert np.isnan(theirs_m).sum() < 0.02 * len(row)


def test_outside_of_a_tile_nothing_is_known() -> None:
    lon, lat = np.array([0.999, 2.001, 1.5, 1.5]), np.array([42.5, 42.5, 41.999, 43.001])
    assert np.isnan(grid("N42E001").at(lon, lat)).all()
