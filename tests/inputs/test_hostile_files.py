"""Files made to do harm: each is refused, or read as far as it is sound, and nothing of it runs."""

import bz2
import gzip
import http.server
import io
import json
import os
import sqlite3
import struct
import threading
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import geopandas as gpd
import numpy as np
import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from pyproj import CRS
from shapely import Point, box

from haulshed.errors import HaulshedError, InputError, TableError
from haulshed.inputs import limits, osm_check, osm_file, zip_check
from haulshed.inputs.district import read_district
from haulshed.inputs.placing import Ground
from haulshed.inputs.roads import read_roads
from haulshed.inputs.settings import TableKeys
from haulshed.inputs.table_file import TableRead, read_table
from haulshed.scenario import RoadRules
from haulshed.tables.parcels import PARCELS

Write = Callable[..., Path]

GROUND = Ground(crs=CRS(32614), west_m=4e5, south_m=4.95e6, east_m=4.5e5, north_m=5e6)
FEATURE = {
    "type": "Feature",
    "properties": {"parcel_id": "A"},
    "geometry": {"type": "Point", "coordinates": [-100.0, 45.0]},
}
#: A million collections, each within the other, and a point: it ran over the stack in GEOS.
NESTED = struct.pack("<BII", 1, 4, 1) * 1_000_000 + struct.pack("<BIdd", 1, 1, 0.0, 0.0)


def read(path: Path) -> TableRead:
    return read_table(path, PARCELS, TableKeys(file=path.name), GROUND)


def refused(path: Path) -> str:
    """Return what is said of a file that cannot be read; always one line."""
    with pytest.raises(TableError) as caught:
        read(path)
    (fault,) = caught.value.faults
    assert str(fault).startswith(f"parcels: {path.name}")
    assert "\n" not in str(fault)
    assert fault.cure
    return str(fault)


def roads_refused(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_roads(path, RoadRules(), cache_dir=None, progress=lambda _step: None)
    assert "\n" not in str(caught.value)
    return str(caught.value)


@pytest.fixture
def server() -> Iterator[tuple[str, list[str]]]:
    """Return an address, and the paths that were asked of it."""
    asked: list[str] = []

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(200)
            self.end_headers()
            self.wfile.write(b"EPSG:4326")

        do_HEAD = do_GET  # noqa: N815 — the name that http.server asks for

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    with http.server.HTTPServer(("127.0.0.1", 0), Handler) as httpd:
        thread = threading.Thread(target=httpd.serve_forever, args=(0.01,))
        thread.start()
        yield f"http://127.0.0.1:{httpd.server_port}/x", asked
        httpd.shutdown()
        thread.join()


# What would fetch or open something else


@pytest.mark.parametrize("kind", ["link", "url", "name"])
def test_no_coordinate_system_is_fetched(
    kind: str, server: tuple[str, list[str]], tmp_path: Path
) -> None:
    address, asked = server
    crs = {"type": kind, "properties": {"href": address, "url": address, "name": address}}
    path = tmp_path / "a.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "crs": crs, "features": [FEATURE]}))
    assert "does not name its coordinate system by a code" in refused(path)
    assert asked == []


def test_no_address_beside_a_shapefile_is_fetched(
    server: tuple[str, list[str]], tmp_path: Path
) -> None:
    address, asked = server
    points = gpd.GeoDataFrame({"parcel_id": ["A"]}, geometry=[Point(-100, 45)], crs=4326)
    points.to_file(tmp_path / "a.shp")
    (tmp_path / "a.prj").write_text(address)
    with pytest.raises(InputError, match="does not say the coordinate system of its geometry"):
        read(tmp_path / "a.shp")
    assert asked == []


@pytest.mark.parametrize("ending", ["gpkg", "fgb", "shp", "geojson", "json", "parquet", "xlsx"])
@pytest.mark.parametrize(
    "content",
    [
        "<OGRVRTDataSource><SrcDataSource>{address}</SrcDataSource></OGRVRTDataSource>",
        '{{"type": "gdal_streamed_alg", "command_line": "gdal vector pipeline read {address}"}}',
        '{{"type": "FeatureServer", "stac_version": "1.0.0", "links": [{{"href": "{address}"}}]}}',
        "<WFS><URL>{address}</URL></WFS>",
        "{address}",
    ],
)
def test_no_list_of_other_files_is_followed(
    content: str, ending: str, server: tuple[str, list[str]], tmp_path: Path
) -> None:
    address, asked = server
    path = tmp_path / f"a.{ending}"
    path.write_text(content.format(address=address))
    refused(path)
    assert asked == []


@pytest.mark.parametrize("prefix", ["", "/vsicurl/", "/vsizip//vsicurl/", "GeoJSON:"])
def test_an_address_is_no_file(
    prefix: str, server: tuple[str, list[str]], tiny_district: Write
) -> None:
    address, asked = server
    folder = tiny_district()
    toml = folder / "district.toml"
    toml.write_text(toml.read_text().replace("parcels.csv", f"{prefix}{address}/a.geojson"))
    with pytest.raises(TableError, match="does not exist"):
        read_district(folder, progress=lambda _step: None)
    assert asked == []


# GeoPackages


def geopackage(folder: Path, *statements: str) -> Path:
    path = folder / "a.gpkg"
    areas = gpd.GeoDataFrame({"parcel_id": ["A"]}, geometry=[box(-100, 45, -99.9, 45.1)], crs=4326)
    areas.to_file(path, layer="lots")
    with closing(sqlite3.connect(path)) as base:
        for statement in statements:
            base.execute(statement)
        base.commit()
    return path


ENDLESS = "WITH RECURSIVE c(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM c) SELECT x AS fid FROM c"
LISTED = (
    "INSERT INTO gpkg_contents (table_name, data_type, identifier, last_change)"
    " VALUES ('more', 'attributes', 'more', '2026-01-01T00:00:00Z')"
)


@pytest.mark.parametrize(
    ("statements", "says"),
    [
        ([f"CREATE VIEW more AS {ENDLESS}", LISTED], "has a view, 'more', whose SQL would run"),
        (["CREATE VIRTUAL TABLE more USING fts4(a)"], "has a virtual table, 'more'"),
        (["CREATE VIRTUAL TABLE m USING fts4('using rtree(')"], "has a virtual table, 'm'"),
        (['CREATE VIRTUAL TABLE "a"" using rtree(" USING fts4(a)'], "has a virtual table, 'a\""),
        (
            ["CREATE TABLE more (a, b AS (zeroblob(1000000000)))", LISTED],
            "has a table, 'more', with a column that is worked out by SQL",
        ),
        (["PRAGMA application_id = 0"], "is a database, but no GeoPackage"),
    ],
)
def test_a_geopackage_in_which_reading_would_run_code(
    statements: list[str], says: str, tmp_path: Path
) -> None:
    assert says in refused(geopackage(tmp_path, *statements))


def test_a_geopackage_open_elsewhere(tmp_path: Path) -> None:
    path = geopackage(tmp_path)
    (tmp_path / "a.gpkg-wal").write_bytes(b"\0" * 100)
    assert "has changes beside it, in a.gpkg-wal" in refused(path)


def test_a_trigger_does_not_run(tmp_path: Path) -> None:
    # Only writing would set it off, and a file that is read is not written.
    path = geopackage(tmp_path, "CREATE TRIGGER t AFTER INSERT ON lots BEGIN DELETE FROM lots; END")
    before = path.read_bytes()
    assert len(read(path).frame) == 1
    assert path.read_bytes() == before


def test_geometry_nested_beyond_the_stack(tmp_path: Path) -> None:
    path = geopackage(tmp_path)
    with closing(sqlite3.connect(path)) as base:
        triggers = base.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (name,) in triggers:
            base.execute(f'DROP TRIGGER "{name}"')
        base.execute("UPDATE lots SET geom = ?", (b"GP\0\1\xe6\x10\0\0" + NESTED,))
        base.commit()
    (found,) = read(path).found
    assert "geometry is empty or cannot be read" in str(found.fault)


def test_lengths_below_zero() -> None:
    # Found by the fuzz: GDAL gave columns whose lengths Python would not take.
    found = read(Path(__file__).parent / "found_by_fuzz" / "lengths_below_zero.fgb")
    assert "feature 2: geometry is empty or cannot be read" in str(found.found[0].fault)


# Parquet


def parquet(path: Path, columns: dict[str, object], geo: object = None) -> Path:
    table = pa.table(columns)
    if geo is not None:
        table = table.replace_schema_metadata({"geo": json.dumps(geo)})
    pq.write_table(table, path)
    return path


def geo(**changed: object) -> dict[str, object]:
    about = {"encoding": "WKB", "geometry_types": []} | changed
    return {"version": "1.1.0", "primary_column": "geometry", "columns": {"geometry": about}}


def test_geoparquet_nested_beyond_the_stack(tmp_path: Path) -> None:
    columns = {"parcel_id": ["A"], "geometry": [NESTED]}
    (found,) = read(parquet(tmp_path / "a.parquet", columns, geo())).found
    assert "geometry is empty or cannot be read" in str(found.fault)


@pytest.mark.parametrize(
    ("about", "says"),
    [
        (geo(encoding="point"), "has its geometry as point. Export it with the geometry encoded"),
        (geo(crs={"type": "GeographicCRS"}), "cannot be read as Parquet"),
        ({"primary_column": "geometry"}, "cannot be read as Parquet"),
        ([], "cannot be read as Parquet"),
    ],
)
def test_what_is_wrong_in_geoparquets_metadata(about: object, says: str, tmp_path: Path) -> None:
    columns = {"parcel_id": ["A"], "geometry": [Point(-100, 45).wkb]}
    assert says in refused(parquet(tmp_path / "a.parquet", columns, about))


def test_one_long_text_in_many_rows_is_held_once(tmp_path: Path) -> None:
    rows = 10_000  # of 200 kB, which would be 2 GB
    long = pa.DictionaryArray.from_arrays(np.zeros(rows, np.int32), ["A" * 200_000])
    path = tmp_path / "a.parquet"
    pq.write_table(
        pa.table({"parcel_id": long, "lat": [45.0] * rows, "lon": [-100.0] * rows}), path
    )
    found = read(path)
    assert len({id(text) for text in found.raw.columns["parcel_id"]}) < 20
    assert "is longer than 1,000 characters" in str(found.found[0].fault)


# Workbooks


def workbook(path: Path, **parts: bytes) -> Path:
    """Write a sound workbook, some of its parts replaced or added."""
    book = openpyxl.Workbook()
    for row in ["parcel_id", "lat", "lon"], ["A", 45.0, -100.0]:
        book.worksheets[0].append(row)
    content = io.BytesIO()
    book.save(content)
    with zipfile.ZipFile(content) as old, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for name in {**dict.fromkeys(old.namelist()), **parts}:
            new.writestr(name, parts[name] if name in parts else old.read(name))
    return path


SHEET = "xl/worksheets/sheet1.xml"
LAUGHS = b'<!DOCTYPE a [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]><a>&b;</a>'


@pytest.mark.parametrize(
    ("parts", "says"),
    [
        ({SHEET: b'<?xml version="1.0"?>' + LAUGHS}, "has a part with a document type"),
        ({"xl/styles.xml": LAUGHS.decode().encode("utf-16")}, "has a part with a document type"),
        ({"xl/theme/theme1.xml": b" " * (2 << 20) + LAUGHS}, "has a part with a document type"),
        ({"../../out.xml": b"<a/>"}, "has a part whose name leads out of it, '../../out.xml'"),
        ({"/etc/out": b""}, "has a part whose name leads out of it, '/etc/out'"),
        ({"xl\\..\\..\\out": b""}, "has a part whose name leads out of it"),
        ({"C:out": b""}, "has a part whose name leads out of it"),
        ({SHEET: b"<worksheet>"}, "cannot be read as a workbook"),
        ({"xl/workbook.xml": b"<a/>"}, "has no layer"),
        ({"[Content_Types].xml": b"<a/>"}, "cannot be read as a workbook"),
    ],
)
def test_a_workbook_with_hostile_parts(parts: dict[str, bytes], says: str, tmp_path: Path) -> None:
    assert says in refused(workbook(tmp_path / "a.xlsx", **parts))


def sheet(rows: str) -> bytes:
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    return f'<worksheet xmlns="{space}"><sheetData>{rows}</sheetData></worksheet>'.encode()


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ('<row r="999999999999"><c t="str"><v>a</v></c></row>', "more than the 1,048,576 rows"),
        ('<row r="1"><c r="ZZZ1" t="str"><v>a</v></c></row>', "more than the 2,000 columns"),
        ('<row r="1"><c r="ZZZZZZ1" t="str"><v>a</v></c></row>', "cannot be read as a workbook"),
        ('<row r="1"><c t="s"><v>999999</v></c></row>', "cannot be read as a workbook"),
    ],
)
def test_a_sheet_of_a_size_that_is_made_up(rows: str, says: str, tmp_path: Path) -> None:
    assert says in refused(workbook(tmp_path / "a.xlsx", **{SHEET: sheet(rows)}))


def test_a_zip_bomb(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(zip_check, "MAX_UNPACKED_BYTES", 100_000_000)
    path = workbook(tmp_path / "a.xlsx", **{f"xl/{at}.xml": bytes(30_000_000) for at in range(4)})
    assert path.stat().st_size < 200_000
    assert "has more than the 100,000,000 bytes unpacked that are read" in refused(path)


def test_a_part_yields_no_more_than_it_declares(tmp_path: Path) -> None:
    path = workbook(tmp_path / "a.xlsx", **{SHEET: sheet("") + b" " * 10_000_000})
    size = struct.pack("<I", len(sheet("")) + 10_000_000)
    content = path.read_bytes()
    assert content.count(size) == 2
    path.write_bytes(content.replace(size, struct.pack("<I", 500)))
    assert "is a damaged workbook: Bad CRC-32" in refused(path)


def test_too_many_parts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(zip_check, "MAX_PARTS", 5)
    assert "has more than the 5 parts that are read" in refused(workbook(tmp_path / "a.xlsx"))


def test_a_locked_workbook(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    path.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 100)  # as a password makes it
    assert "is not a workbook by its first bytes. Save it as .xlsx, without a pass" in refused(path)
    content = workbook(path).read_bytes()
    flags = content.index(b"PK\x01\x02") + 8
    path.write_bytes(content[:flags] + b"\x01" + content[flags + 1 :])
    assert "has an encrypted part" in refused(path)


def zipped(path: Path, *more: str) -> Path:
    """Write a zip with a shapefile of one point, and more parts of those names."""
    points = gpd.GeoDataFrame({"parcel_id": ["A"]}, geometry=[Point(-100, 45)], crs=4326)
    points.to_file(path.parent / "lots.shp")
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for part in path.parent.glob("lots.*"):
            archive.write(part, f"data/{part.name.upper()}")
            part.unlink()
        for name in more:
            archive.writestr(name, bytes(1000))
    return path


def test_a_shapefile_is_read_from_its_zip_and_leaves_nothing(tmp_path: Path) -> None:
    path = zipped(tmp_path / "a.zip", "data/readme.txt", "__MACOSX/data/._LOTS.SHP")
    found = read(path)
    assert (found.frame["parcel_id"].tolist(), list(found.found)) == (["A"], [])
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ("../../lots.dbf", "a.zip has a part whose name leads out of it, '../../lots.dbf'"),
        ("/etc/lots.shp", "a.zip has a part whose name leads out of it, '/etc/lots.shp'"),
        ("old/lots.shp", "a.zip has 2 layers. Name one in [parcels] of district.toml, layer"),
    ],
)
def test_a_hostile_zip(more: str, says: str, tmp_path: Path) -> None:
    assert says in refused(zipped(tmp_path / "a.zip", more))


def test_a_zip_of_something_else(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = workbook(tmp_path / "a.xlsx").rename(tmp_path / "a.zip")
    assert "a.zip holds no shapefile. Unpack it, and name the shapefile in it." in refused(path)
    path.write_bytes(b"Rar!")
    assert "a.zip is not a zip by its first bytes" in refused(path)
    monkeypatch.setattr(zip_check, "MAX_UNPACKED_BYTES", 500)
    assert "has more than the 500 bytes unpacked" in refused(zipped(path, "more"))


# Sizes


@pytest.mark.parametrize(
    ("ending", "limit"),
    [("csv", 512 << 20), ("geojson", 512 << 20), ("gpkg", 2 << 30), ("parquet", 2 << 30)],
)
def test_a_file_too_large_is_not_opened(ending: str, limit: int, tmp_path: Path) -> None:
    path = tmp_path / f"a.{ending}"
    with path.open("wb") as file:
        os.truncate(file.fileno(), limit + 1)  # a hole, no bytes
    assert f"has more than the {limit:,} bytes that are read" in refused(path)


def test_too_many_columns(tmp_path: Path) -> None:
    headers = [f"c{at}" for at in range(2001)]
    path = tmp_path / "a.csv"
    path.write_text(",".join(headers) + "\n" + "," * 2000 + "1\n")
    assert "has more than the 2,000 columns that are read" in refused(path)
    path = tmp_path / "a.geojson"
    path.write_text(json.dumps(FEATURE | {"properties": dict.fromkeys(headers, 1)}))
    assert "has more than the 2,000 columns that are read" in refused(path)


def test_few_cells_that_stand_for_many(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MAX_CELLS", 9_999)
    features = [FEATURE | {"properties": {f"c{at}": at}} for at in range(100)]
    path = tmp_path / "a.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    assert "has more than the 9,999 cells that are read" in refused(path)


def test_a_cell_too_long(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("parcel_id,lat,lon\n" + "A" * 4_000_001 + ",45,-100\n")
    assert "field larger than field limit" in refused(path)
    path.write_text("parcel_id,lat,lon\n" + "A" * 1_001 + ",45,-100\n")
    (found,) = read(path).found
    assert "is longer than 1,000 characters" in str(found.fault)
    assert len(str(found.fault)) < 250


@pytest.mark.parametrize(
    "content",
    [
        "[" * 100_000,
        '{"type": "FeatureCollection", "features": [' + '{"a":' * 100_000,
        json.dumps(FEATURE).replace("[-100.0", "[" * 900 + "-100.0"),
        '{"type": "Feature", "a": ' + "9" * 5000 + "}",
        '{"type": "FeatureCollection", "features": [1]}',
        '{"type": "FeatureCollection", "features": {"a": 1}}',
        '{"type": "Topology"}',
        "[]",
        "null",
    ],
)
def test_json_that_is_no_map(content: str, tmp_path: Path) -> None:
    path = tmp_path / "a.geojson"
    path.write_text(content)
    assert "GeoJSON" in refused(path)


# Roads


def packed(path: Path, pack: Callable[[bytes], bytes], content: bytes) -> Path:
    path.write_bytes(pack(content))
    return path


@pytest.mark.parametrize(("ending", "pack"), [("gz", gzip.compress), ("bz2", bz2.compress)])
def test_a_packed_bomb(
    ending: str,
    pack: Callable[[bytes], bytes],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(osm_check, "MAX_OSM_BYTES", 30_000_000)
    path = packed(tmp_path / f"a.osm.{ending}", pack, b'<osm version="0.6">' + b" " * 31_000_000)
    assert path.stat().st_size < 50_000
    assert "has more than the 30,000,000 bytes unpacked that are read" in roads_refused(path)
    laughs = packed(tmp_path / f"b.osm.{ending}", pack, LAUGHS)
    assert "declares a document type, which no map has" in roads_refused(laughs)


def test_more_points_than_are_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(osm_file, "MAX_OSM_POINTS", 99)
    nodes = "".join(f'<node id="{at}" lat="45" lon="-100"/>' for at in range(1, 101))
    path = tmp_path / "a.osm"
    path.write_text(f'<osm version="0.6">{nodes}</osm>')
    assert "has more than the 99 points that are read" in roads_refused(path)
    refs = '<nd ref="1"/>' * 100
    way = f'<way id="1">{refs}<tag k="highway" v="service"/></way>'
    path.write_text(f'<osm version="0.6"><node id="1" lat="45" lon="-100"/>{way}</osm>')
    assert "has more than the 99 points that are read" in roads_refused(path)


def test_an_encoding_of_no_name(tmp_path: Path) -> None:
    # Found by the fuzz: Python's own list of encodings raised an error that nobody caught.
    path = tmp_path / "a.osm"
    path.write_bytes(b'<?xml version="1.0" encoding="UTF-9"?><osm version="0.6"></osm>')
    assert "cannot be read as OpenStreetMap data" in roads_refused(path)
    path = tmp_path / "a.xlsx"
    part = b'<?xml version="1.0" encoding="UTF-9"?><worksheet/>'
    assert "cannot be read as a workbook" in refused(workbook(path, **{SHEET: part}))


# Text


@pytest.mark.parametrize("half", ["\\ud800", "\\udfff"])
def test_half_a_character_is_refused_and_can_be_set_aside(half: str, tiny_district: Write) -> None:
    folder = tiny_district()
    toml = folder / "district.toml"
    toml.write_text(toml.read_text().replace("parcels.csv", "a.geojson"))
    features = [FEATURE, FEATURE | {"properties": {"parcel_id": "A\0", "\0": 1}}]
    text = json.dumps({"type": "FeatureCollection", "features": features})
    (folder / "a.geojson").write_text(text.replace("\\u0000", half))
    with pytest.raises(TableError) as caught:
        read_district(folder, progress=lambda _step: None)
    assert f"parcel_id = A{half} holds a line break or another control" in str(caught.value)
    district = read_district(folder, set_aside=True, progress=lambda _step: None)
    district.rejected_rows.to_csv(folder / "rejected.csv", encoding="utf-8")
    assert json.loads(district.rejected_rows["cells"][0])["parcel_id"].startswith("A")
    assert "".join(district.inputs.reading_notes).encode()


def test_headers_show_no_control_characters(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("parcel_id,lat,lon,stor\x1b[2Jies,other\x1b\nA,45,-100,1,2\n")
    found = read(path)
    said = [*found.notes, *(str(one.fault) for one in found.found)]
    assert said
    assert all("\x1b" not in text for text in said)


def test_every_refusal_is_one_that_the_commands_catch() -> None:
    assert issubclass(TableError, HaulshedError)
