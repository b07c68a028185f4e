"""Whatever stands in a file, nothing but an error that names it comes out."""

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pyproj import CRS

from fuzzed_readers import read_damaged, seeds
from haulshed.errors import HaulshedError
from haulshed.inputs.district_file import read_settings
from haulshed.inputs.files import named_files
from haulshed.inputs.placing import Ground
from haulshed.inputs.settings import TableKeys
from haulshed.inputs.table_file import read_table
from haulshed.tables.apparatus import APPARATUS
from haulshed.tables.fill_sites import FILL_SITES
from haulshed.tables.parcels import PARCELS

Write = Callable[..., Path]

GROUND = Ground(crs=CRS(32614), west_m=4e5, south_m=4.97e6, east_m=4.3e5, north_m=5e6)
FUZZ = settings(
    max_examples=120,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
HEADERS = sorted(
    {column.name for table in (APPARATUS, FILL_SITES, PARCELS) for column in table.columns}
    | {"lat", "lon", "tank_l", "tank", "flow", "Name", "stories_", "x"}
)
CELLS = st.one_of(
    st.sampled_from(
        ["", "1", "-1", "2.5", "1e400", "nan", "45.0", "-100.0", "pond", "tanker", "yes", "4-11"]
    ),
    st.text(max_size=6),
)


def read(path: Path) -> None:
    for table in (APPARATUS, FILL_SITES, PARCELS):
        with suppress(HaulshedError):
            found = read_table(path, table, TableKeys(file=path.name), GROUND)
            assert len(found.frame) == len(found.raw.places)
            assert all(str(one.fault) for one in found.found)


@FUZZ
@given(st.binary(max_size=200))
def test_any_bytes_as_csv(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "table.csv"
    path.write_bytes(content)
    read(path)


@FUZZ
@given(
    st.lists(st.sampled_from(HEADERS), min_size=1, max_size=6),
    st.lists(st.lists(CELLS, max_size=7), max_size=4),
)
def test_any_cells_under_our_headers(
    tmp_path: Path, headers: list[str], rows: list[list[str]]
) -> None:
    path = tmp_path / "table.csv"
    lines = [",".join(row) for row in [headers, *rows]]
    path.write_text("\n".join(lines), encoding="utf-8", errors="replace")
    read(path)


VALUES = st.one_of(
    st.sampled_from(
        ["1", "-1", "1e999", "nan", '""', '"a\\u0000"', "true", "[]", "{}", "1979-05-27", "[[1]]"]
    ),
    st.text(max_size=8),
)
SECTIONS = (
    *("district", "roads", "roads.speed_mph", "roads.bbox", "parcels", "parcels.columns"),
    *("operation", "supply_line", "demand", "scenario", "scenario.x", "scenario.x.operation"),
    *("scenario.x.roads.speed_mph", "x", "stations"),
)
KEYS = st.sampled_from(
    [
        "name",
        "file",
        "crs",
        "aid",
        "month",
        "max_mph",
        "speed_mph",
        "columns",
        "place",
        "roads",
        "x",
    ]
)


@FUZZ
@given(
    st.lists(
        st.tuples(st.sampled_from(SECTIONS), st.lists(st.tuples(KEYS, VALUES), max_size=3)),
        max_size=4,
    )
)
def test_any_settings(
    tiny_district: Write, sections: list[tuple[str, list[tuple[str, str]]]]
) -> None:
    folder = tiny_district()
    path = folder / "district.toml"
    added = "".join(
        f"[{name}]\n" + "".join(f"{key} = {value}\n" for key, value in keys)
        for name, keys in sections
    )
    for text in (added, path.read_text() + added):
        path.write_text(text, encoding="utf-8", errors="replace")
        with suppress(HaulshedError):
            named_files(read_settings(path))


@FUZZ
@given(st.binary(max_size=100))
def test_any_bytes_as_settings(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "district.toml"
    path.write_bytes(content)
    with pytest.raises(HaulshedError):
        read_settings(path)


DAMAGES = st.lists(
    st.tuples(
        st.integers(0, 2**20), st.sampled_from(["put", "cut", "swap"]), st.binary(max_size=6)
    ),
    min_size=1,
    max_size=5,
)


def damaged(content: bytes, damages: list[tuple[int, str, bytes]]) -> bytes:
    for place, how, new in damages:
        at = place % (len(content) + 1)
        gone = {"put": 0, "cut": place % 50, "swap": len(new)}[how]
        content = content[:at] + new + content[at + gone :]
    return content


@pytest.mark.parametrize("kind", sorted(seeds()))
def test_a_sound_file_of_each_kind_is_read(kind: str, tmp_path: Path) -> None:
    assert read_damaged(kind, seeds()[kind], tmp_path) is (kind != "toml")  # which names files


@pytest.mark.parametrize("kind", sorted(seeds()))
@settings(FUZZ, max_examples=25)
@given(DAMAGES)
def test_a_damaged_file_of_each_kind_is_read_or_refused(
    kind: str, tmp_path: Path, damages: list[tuple[int, str, bytes]]
) -> None:
    read_damaged(kind, damaged(seeds()[kind], damages), tmp_path)
