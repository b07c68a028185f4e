"""The files that ``district.toml`` names: whether they are there, and what their bytes hash to."""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from haulshed.errors import Fault, TableError
from haulshed.inputs.dem_file import DEM_SUFFIXES
from haulshed.inputs.district_file import FILE_NAME
from haulshed.inputs.layer_file import LAYER_SUFFIXES
from haulshed.inputs.osm_file import OSM_ENDINGS
from haulshed.inputs.raw_file import TABLE_SUFFIXES
from haulshed.inputs.settings import DistrictFile, RoadKeys, Settings
from haulshed.tables.table import shown

TABLES = ("parcels", "fill_sites", "stations", "apparatus")
_SHAPEFILE_PARTS = (".shx", ".dbf", ".prj", ".cpg")
#: How the names of the files with ground levels begin in what :func:`named_files` gives.
DEM = "dem "
_OSM_SUFFIXES = tuple(f".{ending}" for ending in OSM_ENDINGS)
_SOURCES = ("file", "place", "bbox")


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedFile:
    """A file as ``district.toml`` names it."""

    section: str
    key: str
    name: str
    path: Path
    accepted: tuple[str, ...]  #: endings; none: the reader of the roads judges it


def named_files(settings: Settings) -> Mapping[str, NamedFile]:
    """
    Return the files that the settings name, by section; the footprints by *buildings*.

    Raises
    ------
    TableError
        With every file that is not there or of no kind that is read, and if the roads are to
        come from several places or none.
    """
    keys = settings.keys
    wanted = {
        section: (section, "file", getattr(keys, section).file, TABLE_SUFFIXES)
        for section in TABLES
    }
    wanted["district"] = ("district", "boundary", keys.district.boundary, LAYER_SUFFIXES)
    wanted["roads"] = ("roads", "file", keys.roads.file, ())
    buildings = keys.parcels.buildings
    wanted["buildings"] = ("parcels", "buildings", buildings, _of_buildings(buildings))
    for at, dem in enumerate(keys.supply_line.dem):
        wanted[f"{DEM}{at}"] = ("supply_line", "dem", dem, DEM_SUFFIXES)
    files = {
        what: NamedFile(
            section=section, key=key, name=name, path=settings.folder / name, accepted=accepted
        )
        for what, (section, key, name, accepted) in wanted.items()
        if name is not None
    }
    return checked(files, *_road_source(keys.roads), *_lone_buildings(keys))


def checked(files: Mapping[str, NamedFile], *known: Fault) -> Mapping[str, NamedFile]:
    """
    Return the files if each is there and of a kind that is read.

    Raises
    ------
    TableError
        With every fault, the `known` ones first.
    """
    faults = [*known, *(fault for file in files.values() for fault in _faults(file))]
    if faults:
        raise TableError(faults)
    return files


def is_osm(name: str) -> bool:
    """Return whether a file is one of OpenStreetMap data, by the ending of its name."""
    return name.lower().endswith(_OSM_SUFFIXES)


def _of_buildings(name: str | None) -> tuple[str, ...]:
    """Return the endings accepted; none for OpenStreetMap's, which are of more than one part."""
    return () if name is not None and is_osm(name) else (*LAYER_SUFFIXES, *_OSM_SUFFIXES)


def hashes(toml: Path, files: Iterable[NamedFile]) -> Mapping[str, str]:
    """Return the SHA-256 of each input file, by its name in ``district.toml``, and of that file."""
    paths = {toml.name: toml}
    for file in files:
        paths[file.name] = file.path
        for suffix in _SHAPEFILE_PARTS if file.path.suffix.lower() == ".shp" else ():
            part = file.path.with_suffix(suffix)
            if part.is_file():
                paths[str(Path(file.name).with_suffix(suffix))] = part
    return {name: _sha256(path) for name, path in sorted(paths.items())}


def _road_source(roads: RoadKeys) -> Iterable[Fault]:
    given = [key for key in _SOURCES if getattr(roads, key) not in (None, "")]
    if len(given) != 1:
        yield Fault(
            table=FILE_NAME,
            row="[roads]",
            column=", ".join(_SOURCES),
            value="",
            rule=f"must be one, and {' and '.join(given) or 'none'} is given",
            cure='Name the road file, file = "…", or the place or bbox to download.',
        )


def _lone_buildings(keys: DistrictFile) -> Iterable[Fault]:
    if keys.buildings.model_fields_set and keys.parcels.buildings is None:
        yield Fault(
            table=FILE_NAME,
            row="[buildings]",
            column="",
            value="",
            rule="says how a file is read that [parcels] does not name",
            cure='Name it: [parcels] buildings = "…".',
        )


def _faults(file: NamedFile) -> Iterable[Fault]:
    problem = _problem(file)
    if problem is not None:
        rule, cure = problem
        yield Fault(
            table=FILE_NAME,
            row=f"[{file.section}]",
            column=file.key,
            value=shown(file.name),
            rule=rule,
            cure=cure,
        )


def _problem(file: NamedFile) -> tuple[str, str] | None:
    """Return what is wrong with a file at first sight, and the cure."""
    listed = ", ".join(file.accepted)
    try:
        if not file.path.exists():
            return "does not exist", f"It is looked for in {FILE_NAME}'s folder."
        if not file.path.is_file():
            return "is a folder", "Name the file in it."
        if file.accepted and file.path.suffix.lower() not in file.accepted:
            return "is of a kind that is not read here", f"Save it as one of: {listed}."
        with file.path.open("rb") as content:
            return None if content.read(1) else ("is empty", "Export it again.")
    except (OSError, ValueError) as error:  # ValueError: a null character in the name
        return f"cannot be read: {error}", "Check the name and the file's permissions."


def _sha256(path: Path) -> str:
    with path.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()
