"""The cache gives back what was kept, or nothing."""

import os
from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import pytest

from haulshed.inputs import road_cache
from haulshed.inputs.cache_store import fetch, keep
from haulshed.inputs.road_cache import default_cache_dir
from haulshed.inputs.roads import read_roads
from haulshed.scenario import RoadRules, SpeedTable
from haulshed.tables.segments import Segments

ROADS = """<osm version="0.6">
 <node id="1" lat="39.50" lon="-87.00"/><node id="2" lat="39.51" lon="-87.00"/>
 <node id="3" lat="39.52" lon="-87.00"/>
 <way id="5"><nd ref="1"/><nd ref="2"/><nd ref="9"/><tag k="highway" v="residential"/>
  <tag k="maxspeed" v="50"/></way>
 <way id="6"><nd ref="2"/><nd ref="3"/><tag k="highway" v="track"/></way>
</osm>"""

Read = Callable[..., tuple[Segments, dict[str, int], bool]]


@pytest.fixture
def source(tmp_path: Path) -> Path:
    path = tmp_path / "roads.osm"
    path.write_text(ROADS, encoding="utf-8")
    return path


@pytest.fixture
def read(source: Path, tmp_path: Path) -> Read:
    def run(rules: RoadRules | None = None, **kwargs: str) -> tuple[Segments, dict[str, int], bool]:
        said: list[str] = []
        segments, notes = read_roads(
            source,
            rules or RoadRules(),
            cache_dir=tmp_path / "cache",
            progress=said.append,
            **kwargs,
        )
        return segments, dict(notes), any("from the cache" in line for line in said)

    return run


def kept(tmp_path: Path) -> list[Path]:
    return sorted((tmp_path / "cache").glob("*.feather"))


def test_second_reading_comes_from_the_cache_and_is_equal(read: Read) -> None:
    first, notes, cached = read()
    assert not cached
    again, notes_again, cached = read()
    assert cached
    assert again.equals(first)
    assert again.crs == first.crs
    assert again.dtypes.equals(first.dtypes)
    assert list(notes_again.items()) == list(notes.items())
    assert notes["nodes_missing"] == 1


def test_what_is_kept_is_feather_and_no_pickle(read: Read, tmp_path: Path) -> None:
    segments, _, _ = read()
    (file,) = kept(tmp_path)
    assert gpd.read_feather(file).equals(segments)
    assert {path.suffix for path in (tmp_path / "cache").iterdir()} == {".feather", ".json"}


def test_keys_that_shape_segments_have_their_own(read: Read, source: Path) -> None:
    read()
    for rules in (RoadRules(tracks=True), RoadRules(private=True)):
        assert not read(rules)[2]
        assert read(rules)[2]
    assert not read(crs="EPSG:26916")[2]
    source.write_text(ROADS.replace("39.52", "39.53"), encoding="utf-8")
    assert not read()[2]


def test_keys_that_do_not_shape_segments_share(read: Read) -> None:
    read()
    assert read(RoadRules(max_mph=30, unpaved_factor=0.5, speed_mph=SpeedTable(link=9)))[2]


def test_other_versions_have_their_own(read: Read, monkeypatch: pytest.MonkeyPatch) -> None:
    read()
    monkeypatch.setattr(road_cache, "version", lambda name: f"{name} of tomorrow")
    assert not read()[2]


@pytest.mark.parametrize("which", [".feather", ".json"])
@pytest.mark.parametrize(
    "damage",
    [
        lambda content: content[: len(content) // 2],
        lambda _: b"",
        lambda content: content[:60] + bytes([content[60] ^ 1]) + content[61:],
        lambda content: b"PAR1" + content,
        lambda _: b"[]",
        lambda _: b'{"sha256": 1, "notes": 2}',
        lambda _: b"\xff\xfe",
    ],
)
def test_damaged_cache_is_made_anew(
    read: Read, tmp_path: Path, which: str, damage: Callable[[bytes], bytes]
) -> None:
    first, notes, _ = read()
    (file,) = (path for path in (tmp_path / "cache").iterdir() if path.suffix == which)
    file.write_bytes(damage(file.read_bytes()))
    again, notes_again, cached = read()
    assert not cached
    assert again.equals(first)
    assert notes_again == notes
    assert read()[2]


def test_notes_cannot_be_changed_unnoticed(tmp_path: Path) -> None:
    file = tmp_path / "a.feather"
    keep(file, b"content", {"nodes_missing": 1})
    assert fetch(file) == (b"content", {"nodes_missing": 1})
    beside = tmp_path / "a.feather.json"
    beside.write_text(beside.read_text().replace('"nodes_missing": 1', '"nodes_missing": 2'))
    assert fetch(file) is None


def test_broken_off_write_leaves_the_old_and_no_litter(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "a.feather"
    keep(file, b"old", {})

    def full(*_: object) -> None:
        msg = "no space left"
        raise OSError(msg)

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OSError, match="no space left"):
        keep(file, b"new", {})
    assert fetch(file) == (b"old", {})
    assert {path.name for path in tmp_path.iterdir()} == {"a.feather", "a.feather.json"}


def test_folder_that_cannot_be_written_does_not_stop_a_run(source: Path, tmp_path: Path) -> None:
    (tmp_path / "cache").write_text("a file where the folder should be")
    said: list[str] = []
    segments, _ = read_roads(
        source, RoadRules(), cache_dir=tmp_path / "cache", progress=said.append
    )
    assert len(segments) == 1
    assert "not kept" in said[-1]


@pytest.mark.skipif(os.name == "nt", reason="folders by the XDG custom")
def test_default_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert default_cache_dir() == tmp_path / "haulshed"
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert default_cache_dir() == tmp_path / ".cache" / "haulshed"
