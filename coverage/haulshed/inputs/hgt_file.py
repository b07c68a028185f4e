"""SRTM tiles: plain .hgt files, or one in a zip; their bytes, once it is sure that they are one."""

import re
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path

from haulshed.inputs.raw_table import unreadable
from haulshed.inputs.text_file import read_bytes
from haulshed.tables.table import shown

TABLE = "dem"
HGT_SUFFIX, ZIP_SUFFIX = ".hgt", ".zip"

#: The tile's south-western corner, as its name says it; the format has it nowhere else.
_NAME = re.compile(r"[NS]\d\d[EW]\d\d\d\.hgt", re.IGNORECASE)
#: Levels of a tile, whole metres of two bytes: 3 arc-seconds apart, or 1 (SRTM user guide).
_SIZES = tuple(2 * side**2 for side in (1201, 3601))

#: What zipfile raises at a damaged archive, a password, or a way of packing that it has not.
_UNPACKING = (OSError, EOFError, zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """A tile and its own name, such as ``N42E001.hgt``."""

    name: str
    content: bytes


def read_tile(path: Path) -> Tile:
    """
    Return the tile that a file is, or the only one in a zip.

    Raises
    ------
    InputError
        If the file cannot be read, is not named after its corner, or is not as long as a tile.
    """
    if path.suffix.lower() == ZIP_SUFFIX:
        return _unpacked(path)
    name = _tile_name(path, path.name)
    _check_size(path, path.stat().st_size)
    return Tile(name=name, content=read_bytes(path, path.name))


def _unpacked(path: Path) -> Tile:
    """Return the tile in a zip; nothing is unpacked that is not as long as a tile."""
    try:
        with zipfile.ZipFile(path) as packed:
            members = [one for one in packed.infolist() if not one.filename.endswith("/")]
            if len(members) != 1:
                rule = f"{path.name} holds {len(members)} files"
                raise unreadable(TABLE, rule, "Pack one .hgt file alone.")
            name = _tile_name(path, Path(members[0].filename).name)
            _check_size(path, members[0].file_size)
            with packed.open(members[0]) as file:
                content = file.read(max(_SIZES) + 1)
    except _UNPACKING as error:
        rule = f"{path.name} cannot be unpacked: {shown(error)}"
        raise unreadable(TABLE, rule, "Fetch it again.") from error
    _check_size(path, len(content))
    return Tile(name=name, content=content)


def _tile_name(path: Path, name: str) -> str:
    if not _NAME.fullmatch(name):
        held = "is named" if name == path.name else "holds"
        rule = f"{path.name} {held} {shown(name)}, which names no corner"
        raise unreadable(TABLE, rule, "Call the tile by its corner, such as N42E001.hgt.")
    return f"{name[:-4].upper()}{HGT_SUFFIX}"


def _check_size(path: Path, size: int) -> None:
    if size not in _SIZES:
        rule = f"{path.name} has {size:,} bytes of levels, and a tile has {_SIZES[0]:,}"
        raise unreadable(TABLE, f"{rule} or {_SIZES[1]:,}", "Fetch it again.")
