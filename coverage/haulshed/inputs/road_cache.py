"""Segments in the user's cache folder, as Feather (Arrow) with their geometry; never as pickles."""

import os
from collections.abc import Mapping
from hashlib import file_digest, sha256
from importlib.metadata import version
from io import BytesIO
from pathlib import Path

import geopandas as gpd
from pyproj import proj_version_str

from haulshed.inputs.cache_store import fetch, keep
from haulshed.scenario import RoadRules
from haulshed.tables.segments import SEGMENTS, Segments

#: Raised with every change of how segments are made, so that no older ones are taken for new.
MADE_AS = 4

#: What the segments' figures depend on besides our own code.
_LIBRARIES = ("haulshed", "geopandas", "networkx", "numpy", "osmium", "pyproj", "shapely")


def default_cache_dir() -> Path:
    """Return the user's cache folder for this program, by the custom of the system."""
    local = os.environ.get("LOCALAPPDATA" if os.name == "nt" else "XDG_CACHE_HOME")
    return (Path(local) if local else Path.home() / ".cache") / "haulshed"


def cache_file(cache_dir: Path, source: Path, ending: str, rules: RoadRules, crs: str) -> Path:
    """
    Return where the segments of `source` are kept.

    The name follows from everything that shapes them: the file's content and format, the keys of
    the scenario that let ways in, the coordinate system, and the versions of code and libraries.
    """
    with source.open("rb") as file:
        content = file_digest(file, "sha256").hexdigest()
    parts = (
        *(content, ending, f"tracks={rules.tracks}", f"private={rules.private}", f"crs={crs}"),
        *(f"made_as={MADE_AS}", f"proj={proj_version_str}"),
        *(f"{name}={version(name)}" for name in _LIBRARIES),
    )
    key = sha256("\n".join(parts).encode()).hexdigest()[:32]
    return cache_dir / f"roads-{key}.feather"


def load_segments(file: Path) -> tuple[Segments, dict[str, int]] | None:
    """Return the segments and notes kept in `file`; None if there are none that are whole."""
    kept = fetch(file)
    if kept is None:
        return None
    content, notes = kept
    # Feather is read without threads: where memory is short, Arrow waits for one without end.
    frame = gpd.read_feather(BytesIO(content), use_threads=False)  # type: ignore[arg-type]  # stubs know paths only
    SEGMENTS.check(frame)
    return Segments(frame), notes


def keep_segments(file: Path, segments: Segments, notes: Mapping[str, int]) -> None:
    """
    Keep the segments and notes in `file`.

    Raises
    ------
    OSError
        If the folder cannot be written.
    """
    content = BytesIO()
    segments.to_feather(content, compression="zstd")
    keep(file, content.getvalue(), notes)
