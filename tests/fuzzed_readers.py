"""What the fuzz tests share: small sound files of every kind, and what reads a damaged one."""

import gzip
import io
import warnings
import zipfile
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import geopandas as gpd
import openpyxl
import osmium
from pyproj import CRS
from shapely import MultiPolygon, Point, box

from haulshed.errors import HaulshedError
from haulshed.inputs.district_file import read_settings
from haulshed.inputs.files import named_files
from haulshed.inputs.graphml import read_graphml
from haulshed.inputs.osm_file import read_osm
from haulshed.inputs.placing import Ground
from haulshed.inputs.settings import TableKeys
from haulshed.inputs.table_file import read_table
from haulshed.roads.raw import RawWays
from haulshed.tables.parcels import PARCELS

GROUND = Ground(crs=CRS(32614), west_m=4e5, south_m=4.95e6, east_m=4.5e5, north_m=5e6)

OSM = b"""<?xml version="1.0" encoding="UTF-8"?>
<osm version="0.6"><node id="1" lat="45.00" lon="-100.05"/><node id="2" lat="45.00" lon="-100.00"/>
<way id="10"><nd ref="1"/><nd ref="2"/><tag k="highway" v="tertiary"/><tag k="maxspeed" v="30 mph"/>
<tag k="name" v="Mill Road"/></way></osm>
"""
GRAPHML = b"""<?xml version='1.0' encoding='utf-8'?>
<graphml xmlns="http://graphml.graphdrawing.org/xmlns">
<key id="d0" for="graph" attr.name="crs" attr.type="string"/>
<key id="d1" for="node" attr.name="x" attr.type="string"/>
<key id="d2" for="node" attr.name="y" attr.type="string"/>
<key id="d3" for="edge" attr.name="osmid" attr.type="string"/>
<key id="d4" for="edge" attr.name="highway" attr.type="string"/>
<key id="d5" for="edge" attr.name="geometry" attr.type="string"/>
<graph edgedefault="directed"><data key="d0">epsg:4326</data>
<node id="1"><data key="d1">-100.05</data><data key="d2">45.0</data></node>
<node id="2"><data key="d1">-100.0</data><data key="d2">45.0</data></node>
<edge source="1" target="2" id="0"><data key="d3">[10, 11]</data><data key="d4">tertiary</data>
<data key="d5">LINESTRING (-100.05 45, -100.02 45.01, -100 45)</data></edge></graph></graphml>
"""
CSV = b'parcel_id,lat,lon,lay_m,stories,exposure\nP-1,45.001,-100.03,30.5,2,yes\n"P,2",45,-100,,,\n'
CSV_TEXT = b"""parcel_id,wkt
P-1,"POLYGON ((-100 45, -99.9 45, -99.9 45.1, -100 45))"
P-2,POINT Z (1 2 3)
"""
TOML = b"""[district]
name = "Tiny"
[roads]
file = "roads.osm"
speed_mph = { tertiary = 40 }
[parcels]
file = "parcels.csv"
columns = { parcel_id = "PIN" }
[fill_sites]
file = "fill_sites.csv"
[stations]
file = "stations.csv"
[apparatus]
file = "apparatus.csv"
[scenario.winter.operation]
month = 1
aid = ["own", "mutual"]
"""
#: Parts of a workbook that are damaged one at a time, the others sound.
_PARTS = {
    "xlsx-sheet": "xl/worksheets/sheet1.xml",
    "xlsx-book": "xl/workbook.xml",
    "xlsx-styles": "xl/styles.xml",
    "xlsx-links": "xl/_rels/workbook.xml.rels",
}
#: Parts of a shapefile.
_SHAPEFILE = ("shp", "shx", "dbf", "prj", "cpg")


@cache
def seeds() -> dict[str, bytes]:
    """Return a small sound file of every kind."""
    with TemporaryDirectory() as folder:
        layers = _layers(Path(folder))
        pbf = _pbf(Path(folder))
    book = _workbook()
    with zipfile.ZipFile(io.BytesIO(book)) as archive:
        parts = {kind: archive.read(part) for kind, part in _PARTS.items()}
    return {
        "csv": CSV,
        "csv-wkt": CSV_TEXT,
        "osm": OSM,
        "osm.gz": OSM,
        "graphml": GRAPHML,
        "toml": TOML,
        "osm.pbf": pbf,
        "xlsx": book,
        "zip": _zipped({f"lots.{part}": layers[part] for part in _SHAPEFILE}),
        **parts,
        **layers,
    }


def read_damaged(kind: str, content: bytes, folder: Path) -> bool:
    """
    Return whether a file of a kind could be read; nothing but an error of ours may come of it.

    `folder` is there for the file; what stands in it is replaced.
    """
    path, read = _placed(kind, content, folder)
    with suppress(HaulshedError), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the libraries, at coordinates that are no numbers
        read(path)
        return True
    return False


def _placed(kind: str, content: bytes, folder: Path) -> tuple[Path, Callable[[Path], object]]:
    """Write the file, and what must stand beside it; return it and what reads it."""
    if kind in _SHAPEFILE:
        for part in _SHAPEFILE:
            (folder / f"file.{part}").write_bytes(seeds()[part])
    if kind in _PARTS:
        content = _with_part(seeds()["xlsx"], _PARTS[kind], content)
    if kind == "osm.gz":
        content = gzip.compress(content, compresslevel=1)
    (folder / f"file.{kind.split('-', maxsplit=1)[0]}").write_bytes(content)
    ending = "shp" if kind in _SHAPEFILE else kind.split("-", maxsplit=1)[0]
    path = folder / f"file.{ending}"
    if ending.startswith("osm"):
        return path, lambda path: _sound(read_osm(path, ending))
    readers: dict[str, Callable[[Path], object]] = {
        "graphml": lambda path: _sound(read_graphml(path)),
        "toml": lambda path: named_files(read_settings(path)),
    }
    return path, readers.get(ending, _table)


def _table(path: Path) -> None:
    keys = TableKeys(file=path.name, crs="EPSG:4326" if b"wkt" in path.read_bytes()[:99] else None)
    found = read_table(path, PARCELS, keys, GROUND)
    rows = len(found.raw.places)
    assert len(found.frame) == rows
    assert all(len(geometry) == rows for geometry in found.places.values())
    assert all(str(one.fault) for one in found.found)


def _sound(ways: RawWays) -> None:
    assert len(ways.tags) == len(ways.way_id) == len(ways.ref_start) - 1
    assert len(ways.lon) == len(ways.lat) == len(ways.node_id)


def _layers(folder: Path) -> dict[str, bytes]:
    shapes = [box(-100.03, 45, -100.02, 45.01), MultiPolygon([box(-100, 45, -99.9, 45.1)])]
    areas = gpd.GeoDataFrame(
        {"parcel_id": ["A", "B"], "stories": [1, 2], "value": [0.5, None]},
        geometry=shapes,
        crs=4326,
    )
    points = areas.set_geometry([Point(-100, 45), Point(-100, 45.01)])
    areas.to_file(folder / "file.gpkg", layer="lots")
    areas.to_file(folder / "file.fgb")
    areas.to_file(folder / "file.geojson")
    points.to_file(folder / "file.shp")
    areas.to_parquet(folder / "file.parquet", compression=None)
    return {path.suffix[1:]: path.read_bytes() for path in folder.iterdir()}


def _pbf(folder: Path) -> bytes:
    (folder / "roads.osm").write_bytes(OSM)
    packed = folder / "roads.osm.pbf"
    writer = osmium.SimpleWriter(osmium.io.File(str(packed), "pbf,pbf_compression=none"))
    for thing in osmium.FileProcessor(str(folder / "roads.osm")):
        writer.add(thing)
    writer.close()
    return packed.read_bytes()


def _workbook() -> bytes:
    book = openpyxl.Workbook()
    for row in (
        ["parcel_id", "lat", "lon", "stories"],
        ["A", 45.0, -100.0, 2],
        ["B", 45, -100, "=1"],
    ):
        book.worksheets[0].append(row)
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def _zipped(parts: dict[str, bytes]) -> bytes:
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return content.getvalue()


def _with_part(book: bytes, name: str, part: bytes) -> bytes:
    """Return a workbook with one part replaced."""
    content = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book)) as old, zipfile.ZipFile(content, "w") as new:
        for each in old.namelist():
            new.writestr(each, part if each == name else old.read(each))
    return content.getvalue()
