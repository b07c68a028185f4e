"""Look at an OpenStreetMap file before it is read: XML may hold entities, a packed file a bomb."""

import zlib
from bz2 import BZ2File
from collections.abc import Iterator
from gzip import GzipFile
from io import FileIO
from pathlib import Path

from haulshed.errors import InputError
from haulshed.inputs.limits import MAX_OSM_BYTES
from haulshed.inputs.xml_prolog import has_document_type

_CHUNK_BYTES = 1 << 20
#: What opens XML, by the file's ending. PBF has no entities, and no block over 32 MiB.
_OPENED: dict[str, type[FileIO | GzipFile | BZ2File]] = {
    "osm": FileIO,
    "osm.gz": GzipFile,
    "osm.bz2": BZ2File,
}


def check_osm(path: Path, ending: str) -> None:
    """
    Refuse an OpenStreetMap file that declares entities or is too large once it is unpacked.

    Raises
    ------
    InputError
        If it is such a file, or is damaged where it is packed.
    """
    if ending not in _OPENED:
        return
    try:
        if has_document_type(_chunks(path, ending)):
            msg = f"{path.name}: declares a document type, which no map has. Fetch it again."
            raise InputError(msg)
        size = 0 if ending == "osm" else _unpacked(path, ending)
    except (OSError, EOFError, zlib.error) as error:
        raise damaged(path, error) from error
    if size > MAX_OSM_BYTES:
        msg = (
            f"{path.name}: has more than the {MAX_OSM_BYTES:,} bytes unpacked that are read. Cut"
            " out the district, or give it as .osm.pbf."
        )
        raise InputError(msg)


def damaged(path: Path, error: Exception) -> InputError:
    """Return what is said of a file that a library cannot read."""
    return InputError(
        f"{path.name}: cannot be read as OpenStreetMap data ({error}). The file is damaged, cut"
        " short or not what its extension says. Fetch or export it again."
    )


def _unpacked(path: Path, ending: str) -> int:
    """Return how large the file is unpacked; no more is looked at than may be."""
    size = 0
    for chunk in _chunks(path, ending):
        size += len(chunk)
        if size > MAX_OSM_BYTES:
            break
    return size


def _chunks(path: Path, ending: str) -> Iterator[bytes]:
    with _OPENED[ending](path) as file:
        while chunk := file.read(_CHUNK_BYTES):
            yield chunk
