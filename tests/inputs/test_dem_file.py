"""Files of ground levels: what is read of them, and what is refused."""

import warnings
import zipfile
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import pytest
import rasterio
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import CRS
from rasterio.transform import Affine

from haulshed import pipeline
from haulshed.errors import InputError
from haulshed.inputs import dem_file
from haulshed.inputs.dem_file import GridRead, read_grid
from haulshed.inputs.district import read_district
from haulshed.inputs.placing import Ground
from haulshed.inputs.settings import LevelUnit

Write = Callable[..., Path]

FT = 1 / 0.3048
#: South-western corner of the ground [m], in a UTM zone.
WEST, SOUTH = 500_000.0, 4_980_000.0
GROUND = Ground(
    crs=CRS.from_epsg(32614), west_m=WEST, south_m=SOUTH, east_m=WEST + 1000, north_m=SOUTH + 1000
)
BOUNDS = (WEST, SOUTH, WEST + 1000, SOUTH + 1000)


def tiff(path: Path, levels: np.ndarray, **changes: Any) -> Path:
    """Write levels as 10-m cells whose south-western corner is that of the ground."""
    rows, columns = levels.shape[-2:]
    wanted = {
        "driver": "GTiff",
        "count": 1,
        "height": rows,
        "width": columns,
        "dtype": levels.dtype,
        "crs": "EPSG:32614",
        "transform": Affine(10, 0, WEST, 0, -10, SOUTH + 10 * rows),
    } | changes
    units = wanted.pop("units", "m")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)
        with rasterio.open(path, "w", **wanted) as file:
            file.write(levels.reshape(wanted["count"], rows, columns))
            file.units = [units] * wanted["count"]
    return path


def levels_of(read: GridRead, *places: tuple[float, float]) -> list[float]:
    """Return the levels at places given in metres from the corner, in the grid's own system."""
    assert read.grid is not None
    x, y = np.array(places).T
    return read.grid.at(WEST + x, SOUTH + y).tolist()


def read(path: Path, unit: LevelUnit | None = None) -> GridRead:
    return read_grid(path, unit, BOUNDS, GROUND)


def slope() -> np.ndarray:
    """Return 100 by 100 levels that rise 1 m a cell to the east, 2 m a cell to the north."""
    north, east = np.mgrid[99:-1:-1, 0:100]
    return (100 + east + 2 * north).astype(np.float32)


def test_a_slope_is_read_between_the_centres(tmp_path: Path) -> None:
    got = read(tiff(tmp_path / "a.tif", slope()))
    # The centre of the south-western cell is 5 m in; from there 0.1 m a metre east, 0.2 north.
    expected_m = [100, 100 + 0.1 * 12 + 0.2 * 31, 100]
    assert levels_of(got, (5, 5), (17, 36), (1, 2)) == pytest.approx(np.array(expected_m) * FT)
    assert np.isnan(levels_of(got, (-1, 5), (1001, 5), (5, -1), (5, 1001))).all()
    assert got.note == "a.tif: 10,000 ground levels, 0 void"


def test_levels_in_feet_and_in_no_unit(tmp_path: Path) -> None:
    in_feet = tiff(tmp_path / "ft.tif", slope(), units="ft")
    assert levels_of(read(in_feet), (5, 5)) == pytest.approx([100])
    surveyed = tiff(tmp_path / "us.tif", slope(), units="US survey foot")
    assert levels_of(read(surveyed), (5, 5)) == pytest.approx([100 * 1200 / 3937 * FT], rel=3e-7)
    bare = tiff(tmp_path / "bare.tif", slope(), units="")
    with pytest.raises(InputError, match=r"bare\.tif does not say the unit.*dem_unit = .m."):
        read(bare)
    assert levels_of(read(bare, LevelUnit.M), (5, 5)) == pytest.approx([100 * FT])
    vertical = tiff(tmp_path / "v.tif", slope(), units="", crs="EPSG:32614+5703")  # NAVD88, metres
    assert levels_of(read(vertical), (5, 5)) == pytest.approx([100 * FT])


def test_voids_are_unknown_whether_declared_or_not(tmp_path: Path) -> None:
    levels = slope()
    levels[99, 0], levels[99, 9], levels[99, 19], levels[99, 29] = -32768, -9999, 3.4e38, np.nan
    levels[99, 39] = 7
    got = read(tiff(tmp_path / "a.tif", levels, nodata=7))
    places = [(5, 5), (95, 5), (195, 5), (295, 5), (395, 5), (391, 9)]
    assert np.isnan(levels_of(got, *places)).all()
    assert not np.isnan(levels_of(got, (55, 5), (395, 15))).any()
    assert got.note == "a.tif: 10,000 ground levels, 5 void"


def test_scale_and_offset_of_the_file_count(tmp_path: Path) -> None:
    path = tiff(tmp_path / "a.tif", np.full((100, 100), 40, dtype=np.int16))
    with rasterio.open(path, "r+") as file:
        file.scales, file.offsets = (0.5,), (300.0,)
    assert levels_of(read(path), (500, 500)) == pytest.approx([320 * FT])


def test_a_file_elsewhere_and_a_system_of_its_own(tmp_path: Path) -> None:
    elsewhere = tiff(tmp_path / "a.tif", slope(), crs="EPSG:32633")
    assert read(elsewhere).grid is None
    assert read(elsewhere).note == "a.tif: no ground of the parcels in it"
    to_degrees = Affine(0.001, 0, -99.1, 0, -0.001, 45.1)
    degrees = tiff(tmp_path / "b.tif", slope(), crs="EPSG:4326", transform=to_degrees)
    assert read(degrees).grid is not None


def test_only_the_ground_of_the_parcels_is_read_of_a_huge_file(tmp_path: Path) -> None:
    # 40 billion cells, of which no block is written: half a megabyte on disk.
    path = tmp_path / "huge.tif"
    side = 200_000
    where = Affine(10, 0, WEST - 5 * side, 0, -10, SOUTH + 5 * side)
    shape = {"height": side, "width": side, "count": 1, "dtype": "float32", "transform": where}
    how = {"tiled": True, "blockxsize": 4096, "blockysize": 4096, "sparse_ok": True}
    with rasterio.open(path, "w", driver="GTiff", crs="EPSG:32614", **shape, **how) as file:
        file.units = ["m"]
    got = read(path)
    assert got.grid is not None
    assert got.grid.level_ft.size < 600**2
    assert levels_of(got, (500, 500)) == [0]


def test_fine_cells_are_averaged(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dem_file, "MAX_KEPT", 2500)
    got = read(tiff(tmp_path / "a.tif", slope()))
    assert got.grid is not None
    assert got.grid.level_ft.shape == (50, 50)
    assert levels_of(got, (500, 500)) == pytest.approx([(100 + 49.5 + 99) * FT], rel=1e-6)
    assert got.note.endswith("2,500 ground levels, 0 void, 2 × 2 cells averaged into one")
    monkeypatch.setattr(dem_file, "MAX_READ", 9_999)
    with pytest.raises(InputError, match="more than the 9,999 cells around the parcels"):
        read(tmp_path / "a.tif")


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"count": 3}, "has 3 bands of float32, no levels"),
        ({"dtype": "complex64"}, "has 1 bands of complex64, no levels"),
        ({"crs": None}, "does not say where it lies"),
        ({"transform": Affine.identity()}, "does not say where it lies"),
    ],
)
def test_what_is_no_ground_model(changes: dict[str, Any], says: str, tmp_path: Path) -> None:
    bands = int(changes.get("count", 1))
    levels = np.stack([slope()] * bands).astype(changes.get("dtype", np.float32))
    with pytest.raises(InputError, match=says):
        read(tiff(tmp_path / "a.tif", levels, **changes))


def test_one_block_may_not_fill_the_memory(tmp_path: Path) -> None:
    # A tile of a gigabyte, none of it written.
    block = {"height": 40_000, "width": 40_000, "blockxsize": 32_768, "blockysize": 32_768}
    path = tmp_path / "bomb.tif"
    with rasterio.open(
        *(path, "w", "GTiff"),
        crs="EPSG:32614",
        count=1,
        dtype="uint8",
        tiled=True,
        sparse_ok=True,
        transform=Affine(10, 0, WEST, 0, -10, SOUTH + 400_000),
        **block,
    ):
        pass
    with pytest.raises(InputError, match="more than the 268,435,456 bytes in one block"):
        read(path)


def test_damaged_files_and_others_under_the_name(tmp_path: Path) -> None:
    sound = tiff(tmp_path / "a.tif", slope()).read_bytes()
    for name, content in (
        ("cut.tif", sound[: len(sound) // 2]),
        ("text.tif", b"no levels"),
        ("list.tif", b'<VRTDataset rasterXSize="1" rasterYSize="1"></VRTDataset>'),
    ):
        (tmp_path / name).write_bytes(content)
        with pytest.raises(InputError, match=f"dem: {name} cannot be read"):
            read(tmp_path / name)


def tile(path: Path, content: bytes, **members: bytes) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("N44W100.hgt", content)
        for name, other in members.items():
            packed.writestr(name, other)
    return path


LEVEL = np.full((1201, 1201), 250, dtype=">i2").tobytes()


def test_a_tile_is_read_packed_or_not(tmp_path: Path) -> None:
    (tmp_path / "n44w100.hgt").write_bytes(LEVEL)
    for path in (tile(tmp_path / "any.hgt.zip", LEVEL), tmp_path / "n44w100.hgt"):
        got = read(path)
        assert got.grid is not None
        lon, lat = np.array([-99.001]), np.array([44.975])
        assert got.grid.at(lon, lat).tolist() == pytest.approx([250 * FT])


@pytest.mark.parametrize(
    ("write", "says"),
    [
        (lambda path: tile(path, LEVEL[:-2]), "has 2,884,800 bytes of levels, and a tile has"),
        (lambda path: tile(path, bytes(200_000_000)), "has 200,000,000 bytes of levels"),
        (lambda path: tile(path, LEVEL, more=b"x"), "holds 2 files"),
        (lambda path: path.write_bytes(b"PK\x03\x04"), "cannot be unpacked"),
    ],
)
def test_zips_that_hold_no_tile(write: Callable[[Path], object], says: str, tmp_path: Path) -> None:
    write(tmp_path / "a.hgt.zip")
    with pytest.raises(InputError, match=says):
        read(tmp_path / "a.hgt.zip")


def test_a_tile_must_be_named_after_its_corner(tmp_path: Path) -> None:
    (tmp_path / "tile.hgt").write_bytes(LEVEL)
    with pytest.raises(InputError, match=r"is named tile\.hgt, which names no corner"):
        read(tmp_path / "tile.hgt")
    with zipfile.ZipFile(tmp_path / "b.zip", "w") as packed:
        packed.writestr("../../N99.hgt", LEVEL)
    with pytest.raises(InputError, match=r"holds N99\.hgt, which names no corner"):
        read(tmp_path / "b.zip")


@cache
def sound_files() -> dict[str, bytes]:
    """Return a small sound file of every kind; of the tile, its zip without the levels' bulk."""
    with TemporaryDirectory() as folder:
        here = Path(folder)
        plain = tiff(here / "a.tif", slope()[:9, :9])
        packed = tiff(here / "b.tif", slope()[:9, :9], compress="deflate", predictor=3)
        return {
            "a.tif": plain.read_bytes(),
            "b.tif": packed.read_bytes(),
            "c.hgt.zip": tile(here / "c.hgt.zip", LEVEL).read_bytes(),
        }


@settings(max_examples=100)
@given(
    st.sampled_from(["a.tif", "b.tif", "c.hgt.zip"]),
    st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), min_size=1, max_size=6),
    st.floats(0.5, 1.2),
)
def test_whatever_is_damaged_is_read_or_refused(
    name: str, changed: list[tuple[float, int]], kept: float
) -> None:
    content = bytearray(sound_files()[name])
    for place, byte in changed:
        content[int(place * (len(content) - 1))] = byte
    with TemporaryDirectory() as folder, suppress(InputError):
        path = Path(folder) / name
        path.write_bytes(content[: int(kept * len(content))])
        assert read(path).note


def with_dem(folder: Path, *lines: str) -> Path:
    toml = folder / "district.toml"
    toml.write_text(toml.read_text() + "\n".join(("[supply_line]", *lines, "")))
    return folder


def test_a_district_with_ground_levels(tiny_district: Write, tmp_path: Path) -> None:
    # North of 45° are two tiles, 250 m high, and two parcels; the third parcel has no tile.
    folder = with_dem(tiny_district(), 'dem = ["N45W101.hgt", "N45W100.hgt"]', "rise_ft = 12")
    for name in ("N45W101.hgt", "N45W100.hgt"):
        (folder / name).write_bytes(LEVEL)
    done = pipeline.run(folder, cache=tmp_path / "cache", out=tmp_path / "out")
    parcels = done.result.parcels
    assert parcels["rise_source"].tolist() == ["dem", "dem", "scenario"]
    assert parcels["rise_ft"].tolist() == pytest.approx([0, 0, 12])
    assert done.result.summary["assumed"]["rise_source"] == {"dem": 2, "scenario": 1}
    check = pipeline.check(folder, cache=tmp_path / "cache")
    said = {one.what: one.rows for one in check.findings.findings}
    assert said["parcels on ground not known: a rise of 12 ft"] == ("P-3",)
    assert any("N45W101.hgt: " in note for note in check.findings.notes)
    known = pipeline.explain(folder, "P-1").as_text()
    assert "ground levels: access point 820 ft, structure 820 ft" in known
    assert "no ground level known; the scenario's rise" in pipeline.explain(folder, "P-3").as_text()


def test_faults_of_the_settings(tiny_district: Write) -> None:
    folder = with_dem(tiny_district(), 'dem = ["nowhere.tif", "a.png"]', 'dem_unit = "yd"')
    (folder / "a.png").write_bytes(b"x")
    toml = folder / "district.toml"
    with pytest.raises(InputError, match=r"dem_unit = \"yd\" must be 'm' or 'ft'"):
        read_district(folder, progress=lambda _step: None)
    toml.write_text(toml.read_text().replace('dem_unit = "yd"', ""))
    with pytest.raises(InputError) as caught:
        read_district(folder, progress=lambda _step: None)
    assert "[supply_line]: dem = nowhere.tif does not exist" in str(caught.value)
    assert "[supply_line]: dem = a.png is of a kind that is not read here" in str(caught.value)
    toml.write_text(toml.read_text().replace('["nowhere.tif", "a.png"]', "4"))
    with pytest.raises(InputError, match=r"dem = 4 must be a list"):
        read_district(folder, progress=lambda _step: None)
