"""Road files of every format, real and damaged."""

import bz2
import gzip
import time
from itertools import pairwise
from pathlib import Path
from shutil import copyfile

import numpy as np
import osmium
import pytest
from pyproj import Geod

from haulshed.errors import CrsError, HaulshedError, InputError, NetworkError
from haulshed.inputs.roads import ACCEPTED_ENDINGS, read_roads
from haulshed.scenario import RoadRules
from haulshed.tables.segments import SEGMENTS, Segments

REAL = Path(__file__).parents[3] / "shared" / "osm"
needs_real = pytest.mark.skipif(not REAL.is_dir(), reason="real extracts are not beside the repo")

SMALL = """<?xml version="1.0"?>
<osm version="0.6">
 <node id="1" lat="39.50" lon="-87.00"/>
 <node id="2" lat="39.51" lon="-87.00"/>
 <node id="3" lat="39.52" lon="-87.00"/>
 <node id="4" lat="39.51" lon="-87.01"/>
 <way id="5"><nd ref="1"/><nd ref="2"/><nd ref="3"/>
  <tag k="highway" v="residential"/><tag k="name" v="Žabí &lt;lane&gt;"/></way>
 <way id="6"><nd ref="2"/><nd ref="4"/><tag k="highway" v="service"/>
  <tag k="service" v="driveway"/></way>
 <way id="7"><nd ref="1"/><nd ref="4"/><tag k="highway" v="footway"/></way>
 <way id="8"><nd ref="1"/><nd ref="4"/><tag k="waterway" v="stream"/></way>
</osm>
"""


def read(path: Path, **kwargs: str) -> tuple[Segments, dict[str, int]]:
    segments, notes = read_roads(
        path, RoadRules(), cache_dir=None, progress=lambda _: None, **kwargs
    )
    return segments, dict(notes)


@pytest.fixture
def small(tmp_path: Path) -> Path:
    path = tmp_path / "small.osm"
    path.write_text(SMALL, encoding="utf-8")
    return path


@pytest.fixture
def formats(small: Path) -> dict[str, Path]:
    """The same roads in every format; PBF as osmium writes it."""
    files = {ending: small.with_name(f"small.{ending}") for ending in ("osm.gz", "osm.bz2")}
    files["osm.gz"].write_bytes(gzip.compress(small.read_bytes()))
    files["osm.bz2"].write_bytes(bz2.compress(small.read_bytes()))
    files["osm.pbf"] = small.with_name("small.osm.pbf")
    with osmium.SimpleWriter(files["osm.pbf"]) as writer:
        for thing in osmium.FileProcessor(small):
            writer.add(thing)
    return {"osm": small, **files}


def test_small_file(small: Path) -> None:
    segments, notes = read(small)
    found = segments[["way_id", "from_node", "to_node", "name", "public"]].to_numpy().tolist()
    name = "Žabí <lane>"
    assert found == [[5, 1, 2, name, True], [5, 2, 3, name, True], [6, 2, 4, "", False]]
    assert notes["ways_read"] == 2


def test_every_osm_format_gives_the_same(formats: dict[str, Path]) -> None:
    wanted, _ = read(formats["osm"])
    for path in formats.values():
        assert read(path)[0].equals(wanted), path.name


def test_ending_in_capitals(formats: dict[str, Path]) -> None:
    shouted = formats["osm.pbf"].with_name("SHOUTED.OSM.PBF")
    copyfile(formats["osm.pbf"], shouted)
    assert read(shouted)[0].equals(read(formats["osm"])[0])


def test_ways_may_stand_before_their_nodes(small: Path) -> None:
    wanted, _ = read(small)
    lines = SMALL.splitlines(keepends=True)
    nodes = [line for line in lines if "<node" in line]
    others = [line for line in lines if "<node" not in line]
    small.write_text("".join([*others[:-1], *nodes, others[-1]]), encoding="utf-8")
    assert read(small)[0].equals(wanted)


def test_ids_of_an_editor_are_negative(small: Path) -> None:
    """Editors give negative ids to what is not uploaded yet."""
    wanted, _ = read(small)
    text = SMALL.replace('id="', 'id="-').replace('ref="', 'ref="-')
    small.write_text(text, encoding="utf-8")
    segments, _ = read(small)
    assert segments.length.sum() == pytest.approx(wanted.length.sum(), rel=1e-12)
    assert segments["way_id"].tolist() == [-6, -5, -5]


def test_what_stands_twice_counts_once_the_last(small: Path) -> None:
    again = (
        '<node id="3" lat="39.53" lon="-87.00"/>'
        '<way id="6"><nd ref="2"/><nd ref="4"/><tag k="highway" v="road"/></way></osm>'
    )
    small.write_text(SMALL.replace("</osm>", again), encoding="utf-8")
    segments, notes = read(small)
    assert (notes["ways_twice"], notes["nodes_twice"]) == (1, 1)
    assert segments["way_id"].tolist() == [5, 5, 6]
    assert segments["road_class"].iloc[2] == "road"
    assert segments.length.iloc[1] == pytest.approx(2 * segments.length.iloc[0], rel=1e-3)


def test_deleted_things_are_gone(small: Path) -> None:
    text = SMALL.replace('<way id="6">', '<way id="6" visible="false">')
    small.write_text(text, encoding="utf-8")
    assert read(small)[0]["way_id"].tolist() == [5]


def test_node_without_a_place_is_missing(small: Path) -> None:
    small.write_text(SMALL.replace('id="3" lat="39.52" lon="-87.00"', 'id="3"'), encoding="utf-8")
    segments, notes = read(small)
    assert segments["way_id"].tolist() == [5, 6]
    assert notes["nodes_missing"] == 1


@pytest.mark.parametrize("name", ["roads.shp", "roads", "roads.pbf.zip", "osm", "roads.osc"])
def test_other_endings_are_refused_with_the_list(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_text(SMALL, encoding="utf-8")
    with pytest.raises(InputError) as raised:
        read(path)
    assert all(f".{ending}" in str(raised.value) for ending in ACCEPTED_ENDINGS)


@pytest.mark.parametrize("ending", ACCEPTED_ENDINGS)
def test_file_that_is_not_there_or_empty(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"roads.{ending}"
    with pytest.raises(InputError, match=r"cannot be opened \(No such file"):
        read(path)
    path.touch()
    with pytest.raises(InputError, match="is empty"):
        read(path)
    path.unlink()
    path.mkdir()
    with pytest.raises(InputError, match="cannot be opened"):
        read(path)


@pytest.mark.parametrize("ending", ACCEPTED_ENDINGS)
@pytest.mark.parametrize(
    "content", [b"hello", b"\x00" * 100, b"<html><body>Not found</body></html>", b"\xff\xfe<"]
)
def test_file_that_is_something_else(tmp_path: Path, ending: str, content: bytes) -> None:
    path = tmp_path / f"roads.{ending}"
    path.write_bytes(content)
    with pytest.raises(HaulshedError, match=f"roads.{ending}"):
        read(path)


def test_file_cut_short_anywhere(formats: dict[str, Path]) -> None:
    for path in formats.values():
        whole = path.read_bytes()
        for size in range(1, len(whole) - 8, 37):
            path.write_bytes(whole[:size])
            with pytest.raises(HaulshedError, match=path.name):
                read(path)


@needs_real
@pytest.mark.parametrize(
    "name", ["terre_haute_in.osm.pbf", "maribor_si.osm.gz", "three_rivers_mi.osm"]
)
@pytest.mark.parametrize("share", [0.3, 0.9])
def test_real_file_cut_short(tmp_path: Path, name: str, share: float) -> None:
    whole = (REAL / name).read_bytes()
    path = tmp_path / name
    path.write_bytes(whole[: int(share * len(whole))])
    with pytest.raises(InputError, match="damaged, cut short"):
        read(path)


@needs_real
@pytest.mark.parametrize("name", ["terre_haute_in.osm.pbf", "maribor_si.osm.gz"])
def test_real_file_with_one_place_overwritten(tmp_path: Path, name: str) -> None:
    content = bytearray((REAL / name).read_bytes())
    content[len(content) // 2 : len(content) // 2 + 16] = b"\xa5" * 16
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(InputError, match="damaged, cut short"):
        read(path)


def test_entities_that_blow_up_are_refused_at_once(tmp_path: Path) -> None:
    names = [f"e{level}" for level in range(12)]
    entities = [f'<!ENTITY {names[0]} "lollollol">'] + [
        f'<!ENTITY {after} "{f"&{before};" * 10}">' for before, after in pairwise(names)
    ]
    for ending, why in (("osm", "declares a document type"), ("graphml", "document type")):
        path = tmp_path / f"bomb.{ending}"
        path.write_text(
            f'<?xml version="1.0"?><!DOCTYPE x [{"".join(entities)}]><{ending}>&e11;</{ending}>',
            encoding="utf-8",
        )
        start = time.perf_counter()
        with pytest.raises(InputError, match=why):
            read(path)
        assert time.perf_counter() - start < 2


def test_no_road_at_all(tmp_path: Path) -> None:
    path = tmp_path / "sea.osm"
    path.write_text('<osm version="0.6"><node id="1" lat="1" lon="1"/></osm>', encoding="utf-8")
    with pytest.raises(NetworkError, match=r"^sea\.osm: No road"):
        read(path)


def test_unfit_system_names_the_key(small: Path) -> None:
    with pytest.raises(CrsError, match=r"^district\.toml: \[district\]: crs = EPSG:3857"):
        read(small, crs="EPSG:3857")


@needs_real
@pytest.mark.parametrize("name", sorted(path.name for path in REAL.glob("*.osm*")))
def test_real_files_read(name: str) -> None:
    segments, notes = read(REAL / name)
    SEGMENTS.check(segments)
    assert segments["segment_id"].tolist() == list(range(len(segments)))
    assert segments["way_id"].is_monotonic_increasing
    assert segments.geometry.is_valid.all()
    assert (segments.length > 0).all()
    assert np.isfinite(segments.total_bounds).all()
    first = segments.geometry.map(lambda line: line.coords[0])
    last = segments.geometry.map(lambda line: line.coords[-1])
    # One node is one place, all over the network.
    where = dict(zip(segments["from_node"], first, strict=True))
    where.update(zip(segments["to_node"], last, strict=True))
    if not notes["pieces_of_no_length"]:
        assert (first == segments["from_node"].map(where)).all()
        assert len(set(where.values())) <= len(where)


# The counts of missing references stand in the notes that came with these extracts.
@needs_real
@pytest.mark.parametrize(
    ("name", "missing"), [("maribor_si.osm.gz", 1465), ("lauf_de.osm.pbf", 230)]
)
def test_missing_references_are_counted(name: str, missing: int) -> None:
    assert read(REAL / name)[1]["nodes_missing"] == missing


@needs_real
def test_roads_across_180_degrees_are_as_long_as_on_the_globe() -> None:
    segments, _ = read(REAL / "fiji_antimeridian.osm.pbf")
    degrees = segments.to_crs(4326)
    assert degrees.total_bounds[0] < -179
    assert degrees.total_bounds[2] > 178
    globe = Geod(ellps="WGS84")
    true_m = [globe.line_length(*line.coords.xy) for line in degrees.geometry]
    assert segments.length.to_numpy() == pytest.approx(true_m, rel=3e-3)
    assert segments.length.max() < 20_000
