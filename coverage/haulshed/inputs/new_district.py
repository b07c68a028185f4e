"""Gathering what a new district is made of: the map, and the files that the user already has."""

import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd
from shapely import MultiPolygon, Polygon

from haulshed.case import Progress
from haulshed.errors import InputError
from haulshed.inputs.bbox import Bbox
from haulshed.inputs.boundary import read_area
from haulshed.inputs.files import NamedFile
from haulshed.inputs.layer_file import LAYER_SUFFIXES
from haulshed.inputs.map_download import download_map
from haulshed.inputs.osm_file import OSM_ENDINGS
from haulshed.inputs.osm_places import read_places
from haulshed.inputs.placing import ground_of
from haulshed.inputs.raw_file import TABLE_SUFFIXES
from haulshed.inputs.road_cache import default_cache_dir
from haulshed.inputs.road_download import PUBLIC_SERVERS, Servers
from haulshed.inputs.roads import read_roads
from haulshed.scenario import RoadRules
from haulshed.survey.outline import Outline
from haulshed.survey.place import MapExtract
from haulshed.survey.roadside import WGS84
from haulshed.tables.segments import Segments
from haulshed.tables.table import shown


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gathered:
    """The map as read, and the names of the files now in the district's folder."""

    extract: MapExtract
    segments: Segments
    outline: Outline | None  #: None: the user gave none
    files: Mapping[str, str]  #: roads; boundary and parcels where the user gave them


def gather(  # noqa: PLR0913 — one argument a file
    folder: Path,
    *,
    source: Path | str | Bbox,
    boundary: Path | None,
    parcels: Path | None,
    cache_dir: Path | None,
    progress: Progress,
    servers: Servers = PUBLIC_SERVERS,
) -> Gathered:
    """
    Copy the user's files into `folder`, fetch the map if it is not among them, and read it.

    `source` is an extract of OpenStreetMap, or the name of a place, or a box, to be fetched.

    Raises
    ------
    HaulshedError
        If a file is not there, of no kind that is read here, or damaged.
    OSError
        If a file cannot be copied.
    """
    fetched: Polygon | MultiPolygon | None = None
    if isinstance(source, Path):
        files = {"roads": f"roads.{_osm_ending(source)}"}
        progress(f"Copying {source.name}.")
        shutil.copyfile(source, folder / files["roads"])
    else:
        files = {"roads": "roads.osm"}
        fetched = download_map(source, folder / files["roads"], progress=progress, servers=servers)
    for name, path, accepted in (
        ("boundary", boundary, LAYER_SUFFIXES),
        ("parcels", parcels, TABLE_SUFFIXES),
    ):
        if path is not None:
            files[name] = _copied(path, folder, name, accepted)
    map_file = folder / files["roads"]
    cache_dir = cache_dir or default_cache_dir()
    segments, _ = read_roads(map_file, RoadRules(), cache_dir=cache_dir, progress=progress)
    progress("Looking for buildings, water and stations.")
    return Gathered(
        extract=read_places(map_file, _osm_ending(map_file)),
        segments=segments,
        outline=_outline(folder, files, segments, source, fetched),
        files=files,
    )


def _osm_ending(path: Path) -> str:
    """Return the format of a map that is there."""
    ending = next((one for one in OSM_ENDINGS if path.name.lower().endswith(f".{one}")), None)
    if not path.is_file():
        msg = f"There is no file {shown(path)}. Check --roads."
        raise InputError(msg)
    if ending is None:
        listed = ", ".join(f".{one}" for one in OSM_ENDINGS)
        msg = f"{path.name}: is no OpenStreetMap extract. Give one that ends in {listed}."
        raise InputError(msg)
    return ending


def _copied(path: Path, folder: Path, name: str, accepted: tuple[str, ...]) -> str:
    """Copy a file of the user's, and those that belong to a shapefile; return its new name."""
    suffix = path.suffix.lower()
    if suffix not in accepted:
        msg = f"{path.name}: --{name} reads {', '.join(accepted)}. Save it as one of these."
        raise InputError(msg)
    if not path.is_file():
        msg = f"There is no file {shown(path)}. Check --{name}."
        raise InputError(msg)
    parts = path.parent.glob(f"{_literal(path.stem)}.*") if suffix == ".shp" else [path]
    for part in parts:
        shutil.copyfile(part, folder / f"{name}{part.suffix.lower()}")
    return f"{name}{suffix}"


def _literal(text: str) -> str:
    """Return a text as a pattern for file names that matches nothing else."""
    return "".join(f"[{char}]" if char in "[*?" else char for char in text)


def _outline(
    folder: Path,
    files: Mapping[str, str],
    segments: Segments,
    source: Path | str | Bbox,
    fetched: Polygon | MultiPolygon | None,
) -> Outline | None:
    """Return the outline that the user gave, or that of the place fetched."""
    if "boundary" not in files:
        return Outline(shape=fetched, name="", says=f"of {source}") if fetched else None
    name = files["boundary"]
    file = NamedFile(
        section="district", key="boundary", name=name, path=folder / name, accepted=LAYER_SUFFIXES
    )
    shape = read_area(file, ground_of(segments), "boundary")
    degrees = gpd.GeoSeries([shape], crs=segments.crs).to_crs(WGS84).iloc[0]
    if not isinstance(degrees, Polygon | MultiPolygon):  # pragma: no cover — turned, not changed
        raise TypeError(name)
    return Outline(shape=degrees, name="", says=f"as given, {name}")
