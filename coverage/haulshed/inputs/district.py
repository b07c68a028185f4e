"""From a district folder to checked inputs; every fault of every file in one error."""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd
import pandas as pd
from pyproj import CRS
from shapely import MultiPolygon, Polygon

from haulshed.case import BASE_SCENARIO, Inputs, Progress
from haulshed.errors import Fault, InputError, TableError
from haulshed.inputs.bbox import Bbox
from haulshed.inputs.boundary import read_area
from haulshed.inputs.buildings import BuildingsRead, read_buildings, with_buildings
from haulshed.inputs.closures import area_file, check_ways, outside_area
from haulshed.inputs.district_file import chosen, read_settings, settings_file
from haulshed.inputs.failures import check_failures
from haulshed.inputs.files import DEM, NamedFile, hashes, named_files
from haulshed.inputs.placing import Ground, ground_of
from haulshed.inputs.road_cache import default_cache_dir
from haulshed.inputs.road_download import download_roads
from haulshed.inputs.roads import read_roads
from haulshed.inputs.set_aside import Reads, all_faults, keep_sound_rows
from haulshed.inputs.settings import Settings
from haulshed.inputs.table_file import TableRead, read_table
from haulshed.inputs.terrain_files import TerrainRead, read_terrain
from haulshed.scenario import Scenario
from haulshed.tables import fill_sites
from haulshed.tables.apparatus import APPARATUS, Apparatus
from haulshed.tables.fill_sites import FILL_SITES, FillSites
from haulshed.tables.parcels import PARCELS, Parcels
from haulshed.tables.segments import Segments
from haulshed.tables.stations import STATIONS, Stations
from haulshed.units import System

#: What downloaded roads are called among the inputs.
DOWNLOADED = "roads, downloaded (their lines)"
_TABLES = (PARCELS, FILL_SITES, STATIONS, APPARATUS)


@dataclass(frozen=True, slots=True, kw_only=True)
class District:
    """A district as read: the checked inputs, and what is to be said of the reading."""

    folder: Path
    inputs: Inputs
    units: System  #: of the outputs, by the district's own wish
    scenario_name: str
    rejected: Sequence[Fault]  #: why rows were set aside; one row may have several faults
    rejected_rows: pd.DataFrame  #: the rows set aside, as ``rejected.csv`` has them
    files: tuple[Path, ...]  #: that were read, ``district.toml`` among them
    input_sha256: Mapping[str, str]  #: file, as ``district.toml`` names it → hash


def read_district(
    district: Path,
    *,
    scenario: str | None = None,
    rules: Scenario | None = None,
    set_aside: bool = False,
    cache_dir: Path | None = None,
    progress: Progress,
) -> District:
    """
    Read and check a district.

    Parameters
    ----------
    district
        Its folder, or the ``district.toml`` in it.
    scenario
        Name of the scenario; None: the file's own keys.
    rules
        The scenario's values, where they are not to be read from the file: those of another run.
    set_aside
        Go on without faulty rows, instead of raising.
    cache_dir
        Where roads are kept for the next run; None: the user's own cache folder.
    progress
        Is told what is going on, a sentence at a time.

    Raises
    ------
    HaulshedError
        With every fault of ``district.toml``, or else of all tables together.
    """
    toml = settings_file(district)
    settings = read_settings(toml)
    scenario_name, read_rules = chosen(settings, scenario)
    rules = rules or read_rules
    files = {**named_files(settings), **area_file(settings, scenario_name, rules.roads)}
    roads, road_notes = _roads(settings, files, rules, cache_dir or default_cache_dir(), progress)
    ground = ground_of(roads)
    read = _read_all(settings, files, ground, progress, set_aside=set_aside)
    kept = keep_sound_rows(read.tables)
    check_failures(
        settings, scenario_name, kept.reads["apparatus"].frame, kept.reads["fill_sites"].frame
    )
    check_ways(settings, scenario_name, rules.roads, roads)
    segments = outside_area(roads, files, ground)
    inputs = _inputs(settings, rules, (segments, road_notes), read, kept.reads)
    return District(
        folder=settings.folder,
        inputs=inputs,
        units=settings.keys.district.units,
        scenario_name=scenario_name,
        rejected=kept.faults,
        rejected_rows=kept.rejected,
        files=(toml, *(file.path for file in files.values())),
        input_sha256={**hashes(toml, files.values()), **_downloaded(files, roads)},
    )


def file_hashes(district: Path, rules: Scenario) -> Mapping[str, str]:
    """
    Return the SHA-256 of each input file, without reading what is in it.

    Raises
    ------
    HaulshedError
        If ``district.toml`` is at fault or a file that it names is not there.
    """
    toml = settings_file(district)
    settings = read_settings(toml)
    files = {**named_files(settings), **area_file(settings, BASE_SCENARIO, rules.roads)}
    return hashes(toml, files.values())


def _roads(
    settings: Settings,
    files: Mapping[str, NamedFile],
    scenario: Scenario,
    cache_dir: Path,
    progress: Progress,
) -> tuple[Segments, Mapping[str, int]]:
    crs, rules = settings.keys.district.crs, scenario.roads
    if "roads" in files:
        path = files["roads"].path
        return read_roads(path, rules, crs=crs, cache_dir=cache_dir, progress=progress)
    box = settings.keys.roads.bbox
    where = Bbox(**box.model_dump()) if box else settings.keys.roads.place or ""
    return download_roads(where, rules, crs=crs, cache_dir=cache_dir, progress=progress)


def _downloaded(files: Mapping[str, NamedFile], segments: Segments) -> Mapping[str, str]:
    """Return the SHA-256 of roads that came from no file of the district's."""
    if "roads" in files:
        return {}
    lines = hashlib.sha256(b"".join(segments.geometry.to_wkb())).hexdigest()
    return {DOWNLOADED: lines}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Read:
    """What the files hold, faulty rows included."""

    tables: Reads
    boundary: Polygon | MultiPolygon | None
    buildings: BuildingsRead | None
    terrain: TerrainRead | None


def _inputs(
    settings: Settings,
    rules: Scenario,
    roads: tuple[Segments, Mapping[str, int]],
    read: _Read,
    sound: Reads,
) -> Inputs:
    """Return the checked district, of the tables' sound rows only."""
    segments, road_notes = roads
    crs = ground_of(segments).crs
    parcels = Parcels(_placed(sound["parcels"], crs))
    filled = with_buildings(parcels, read.buildings, settings.keys.buildings)
    notes = [note for table in read.tables.values() for note in table.notes]
    notes += read.terrain.notes if read.terrain else ()
    return Inputs(
        name=settings.name,
        scenario=rules,
        segments=segments,
        parcels=filled.parcels,
        fill_sites=FillSites(_placed(sound["fill_sites"], crs)),
        stations=Stations(_placed(sound["stations"], crs)),
        apparatus=Apparatus(APPARATUS.with_defaults(sound["apparatus"].frame)),
        boundary=read.boundary,
        building_columns=filled.columns,
        terrain=read.terrain.terrain if read.terrain else None,
        road_notes=road_notes,
        road_credit=settings.keys.roads.credit,
        reading_notes=(*notes, *filled.notes),
    )


class _Problems:
    """The errors met so far, so that one file's do not hide another's."""

    def __init__(self) -> None:
        self.errors: list[tuple[str, InputError]] = []

    @contextmanager
    def of(self, table: str) -> Iterator[None]:
        """Keep an error of `table` for later."""
        try:
            yield
        except InputError as error:
            self.errors.append((table, error))

    def faults(self) -> list[Fault]:
        """Return every error as faults."""
        return [fault for table, error in self.errors for fault in _as_faults(table, error)]


def _as_faults(table: str, error: InputError) -> Sequence[Fault]:
    if isinstance(error, TableError):
        return error.faults
    return [Fault(table=table, row="", column="", value="", rule=str(error).rstrip("."), cure="")]


def _read_all(
    settings: Settings,
    files: Mapping[str, NamedFile],
    ground: Ground,
    progress: Progress,
    *,
    set_aside: bool,
) -> _Read:
    """Return what the files hold; raise if there is a fault that stops the run."""
    problems = _Problems()
    reads: dict[str, TableRead] = {}
    boundary = buildings = terrain = None
    for table in _TABLES:
        file = files[table.name]
        progress(f"Reading {file.name}.")
        with problems.of(table.name):
            keys = getattr(settings.keys, table.name)
            reads[table.name] = read_table(file.path, table, keys, ground)
    if "district" in files:
        with problems.of("boundary"):
            boundary = _boundary(settings, files["district"], ground)
    if "buildings" in files:
        progress(f"Reading {files['buildings'].name}.")
        with problems.of("buildings"):
            buildings = read_buildings(files["buildings"], settings.keys.buildings, ground)
    dems = [file for what, file in files.items() if what.startswith(DEM)]
    if dems and "parcels" in reads:
        progress(f"Reading {', '.join(file.name for file in dems)}.")
        with problems.of("dem"):
            places = reads["parcels"].places["geometry"]
            terrain = read_terrain(dems, settings.keys.supply_line.dem_unit, places, ground)
    rows = [] if set_aside else all_faults(reads)
    if len(problems.errors) == 1 and not rows:
        raise problems.errors[0][1]
    faults = [*problems.faults(), *rows]
    if faults:
        raise TableError(faults)
    return _Read(tables=reads, boundary=boundary, buildings=buildings, terrain=terrain)


def _boundary(settings: Settings, file: NamedFile, ground: Ground) -> Polygon | MultiPolygon:
    own = settings.keys.district
    return read_area(
        file,
        ground,
        "boundary",
        layer=own.boundary_layer,
        crs=own.boundary_crs,
        crs_cure='Set boundary_crs = "EPSG:…" in [district] of district.toml.',
    )


def _placed(read: TableRead, crs: CRS) -> gpd.GeoDataFrame:
    """Return a table with the defaults filled in and its geometry in place."""
    fill = fill_sites.filled if read.table is FILL_SITES else read.table.with_defaults
    frame = fill(read.frame)
    for name, geometry in read.places.items():
        frame[name] = gpd.GeoSeries(geometry, crs=crs)
    names = [column.name for column in read.table.columns]
    further = [name for name in read.places if name not in names]
    return gpd.GeoDataFrame(frame[[*names, *further]], geometry="geometry", crs=crs)
