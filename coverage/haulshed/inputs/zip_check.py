"""Look into a zip before it is unpacked: its names may lead out of it, and it may be a bomb."""

import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from haulshed.inputs.limits import MAX_UNPACKED_BYTES, refuse_beyond, refuse_large_file
from haulshed.inputs.raw_table import unreadable
from haulshed.tables.table import shown

#: Parts of a zip. A workbook with a sheet for every day of three years has some 2,000.
MAX_PARTS = 10_000
_BEGINS = b"PK\x03\x04"
_ENCRYPTED = 0x1
#: What is raised on a zip that is damaged or packed in a way that is not read.
ZIP_ERRORS = (BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError)

PartFault = Callable[[ZipFile, ZipInfo], str | None]
"""Says what is wrong with a part, beyond what no part may be; None for nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ZipKind:
    """What a zip is called in messages, and what is to be done about one that is faulty."""

    called: str
    again: str


def check_zip(path: Path, table: str, kind: ZipKind, part_fault: PartFault) -> None:
    """
    Refuse a zip that is none, would fill the memory, or whose parts are not plain ones.

    Raises
    ------
    InputError
        If it is no zip, its parts are larger together than is read, a part's name leads out of
        it, or `part_fault` finds something.
    """
    refuse_large_file(path, table)
    with path.open("rb") as file:
        if file.read(len(_BEGINS)) != _BEGINS:
            rule = f"{path.name} is not a {kind.called} by its first bytes"
            raise unreadable(table, rule, kind.again)
    try:
        with ZipFile(path) as archive:
            parts = archive.infolist()
            refuse_beyond(path, table, len(parts), MAX_PARTS, "parts")
            # No part yields more than it declares here: zipfile stops there.
            size = sum(part.file_size for part in parts)
            refuse_beyond(path, table, size, MAX_UNPACKED_BYTES, "bytes unpacked")
            fault = next(_faults(archive, parts, part_fault), None)
    except ZIP_ERRORS as error:
        rule = f"{path.name} is a damaged {kind.called}: {shown(error)}"
        raise unreadable(table, rule, kind.again) from error
    if fault:
        raise unreadable(table, f"{path.name} {fault}", kind.again)


def _faults(archive: ZipFile, parts: list[ZipInfo], part_fault: PartFault) -> Iterator[str]:
    for part in parts:
        name = shown(part.filename)
        if _leads_out(part.filename):
            yield f"has a part whose name leads out of it, '{name}'"
        elif part.flag_bits & _ENCRYPTED:
            yield f"has an encrypted part, '{name}'"
        elif part.compress_type not in {ZIP_STORED, ZIP_DEFLATED}:
            yield f"has a part that is packed in a way that is not read, '{name}'"
        elif further := part_fault(archive, part):
            yield further


def _leads_out(name: str) -> bool:
    parts = PurePosixPath(name.replace("\\", "/")).parts
    return name.startswith(("/", "\\")) or ".." in parts or ":" in name
