"""From a road file to segments, through the cache."""

from collections.abc import Callable, Mapping
from pathlib import Path

from haulshed.errors import CrsError, InputError, NetworkError
from haulshed.inputs.district_file import FILE_NAME
from haulshed.inputs.graphml import read_graphml
from haulshed.inputs.osm_file import OSM_ENDINGS, read_osm
from haulshed.inputs.road_cache import cache_file, keep_segments, load_segments
from haulshed.roads.segments import build_segments
from haulshed.scenario import RoadRules
from haulshed.tables.segments import Segments

GRAPHML_ENDING = "graphml"

#: Endings of the road files that we read.
ACCEPTED_ENDINGS = (*OSM_ENDINGS, GRAPHML_ENDING)


def read_roads(
    path: Path,
    rules: RoadRules,
    *,
    crs: str = "auto",
    cache_dir: Path | None,
    progress: Callable[[str], None],
) -> tuple[Segments, Mapping[str, int]]:
    """
    Return a road file's segments, and what was left out or survived, counted.

    Parameters
    ----------
    path
        An OpenStreetMap file or a graph saved by osmnx, by its ending.
    rules
        Decides on tracks, driveways and private service roads.
    crs
        ``auto`` or a projected coordinate system in metres.
    cache_dir
        Where segments are kept for the next run; None: nowhere.
    progress
        Is told what is going on, a sentence at a time.

    Raises
    ------
    InputError
        If the file is not there, not of a format that we read, empty or damaged.
    NetworkError
        If it holds no road that a tanker may use.
    CrsError
        If `crs` cannot be used.
    """
    ending = _ending(path)
    kept_in = cache_file(cache_dir, path, ending, rules, crs) if cache_dir else None
    kept = load_segments(kept_in) if kept_in else None
    if kept:
        progress(f"Roads of {path.name} from the cache.")
        return kept
    progress(f"Reading the roads of {path.name}.")
    segments, notes = _build(path, ending, rules, crs)
    if kept_in:
        try:
            keep_segments(kept_in, segments, notes)
        except OSError as error:
            progress(f"The roads are not kept for the next run: {error}.")
    return segments, notes


def _build(
    path: Path, ending: str, rules: RoadRules, crs: str
) -> tuple[Segments, Mapping[str, int]]:
    raw = read_graphml(path) if ending == GRAPHML_ENDING else read_osm(path, ending)
    try:
        return build_segments(raw, rules, crs)
    except CrsError as error:
        msg = f"{FILE_NAME}: [district]: {error}"
        raise CrsError(msg) from error
    except NetworkError as error:
        msg = f"{path.name}: {error}"
        raise NetworkError(msg) from error


def _ending(path: Path) -> str:
    """Return the file's format once it is sure that there is something to read."""
    name = path.name.lower()
    ending = next((each for each in ACCEPTED_ENDINGS if name.endswith(f".{each}")), None)
    if ending is None:
        listed = ", ".join(f".{each}" for each in ACCEPTED_ENDINGS)
        msg = f"{path.name}: is no road file that haulshed reads. Give one that ends in {listed}."
        raise InputError(msg)
    try:
        with path.open("rb") as file:
            empty = not file.read(1)
    except OSError as error:
        msg = f"{path}: cannot be opened ({error.strerror}). Check [roads] file in district.toml."
        raise InputError(msg) from error
    if empty:
        msg = f"{path.name}: is empty. Fetch or export it again."
        raise InputError(msg)
    return ending
