"""Look into a workbook before it is read: it is a zip of XML parts, and either can be a bomb."""

import zlib
from collections.abc import Iterable, Iterator
from pathlib import Path, PurePosixPath
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from haulshed.inputs.limits import MAX_UNPACKED_BYTES, refuse_beyond, refuse_large_file
from haulshed.inputs.raw_table import unreadable
from haulshed.inputs.xml_prolog import has_document_type
from haulshed.tables.table import shown

#: Parts of a workbook. One with a sheet for every day of three years has some 2,000.
MAX_PARTS = 10_000
_BEGINS = b"PK\x03\x04"
_XML_SUFFIXES = (".xml", ".rels", ".vml")
_ENCRYPTED = 0x1
_CHUNK_BYTES = 1 << 16
_AGAIN = "Save it again as .xlsx, from a source that you trust."


def check_workbook(path: Path, table: str) -> None:
    """
    Refuse a workbook that is none, or that would fill the memory.

    Raises
    ------
    InputError
        If it is no zip of plain parts, its parts are larger together than is read, a part's name
        leads out of the workbook, or a part declares a document type.
    """
    refuse_large_file(path, table)
    with path.open("rb") as file:
        if file.read(len(_BEGINS)) != _BEGINS:
            rule = f"{path.name} is not a workbook by its first bytes"
            cure = "Save it as .xlsx, without a password, or correct the ending of its name."
            raise unreadable(table, rule, cure)
    try:
        with ZipFile(path) as archive:
            parts = archive.infolist()
            refuse_beyond(path, table, len(parts), MAX_PARTS, "parts")
            # No part yields more than it declares here: zipfile stops there.
            size = sum(part.file_size for part in parts)
            refuse_beyond(path, table, size, MAX_UNPACKED_BYTES, "bytes unpacked")
            fault = next(_faults(archive, parts), None)
    except (BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError) as error:
        rule = f"{path.name} is a damaged workbook: {shown(error)}"
        raise unreadable(table, rule, "Save it again as .xlsx.") from error
    if fault:
        raise unreadable(table, f"{path.name} {fault}", _AGAIN)


def _faults(archive: ZipFile, parts: Iterable[ZipInfo]) -> Iterator[str]:
    for part in parts:
        name = shown(part.filename)
        if _leads_out(part.filename):
            yield f"has a part whose name leads out of it, '{name}'"
        elif part.flag_bits & _ENCRYPTED:
            yield f"has an encrypted part, '{name}'"
        elif part.compress_type not in {ZIP_STORED, ZIP_DEFLATED}:
            yield f"has a part packed in a way that no workbook is, '{name}'"
        elif part.filename.casefold().endswith(_XML_SUFFIXES) and _declares(archive, part):
            yield f"has a part with a document type, '{name}', which no workbook needs"


def _leads_out(name: str) -> bool:
    parts = PurePosixPath(name.replace("\\", "/")).parts
    return name.startswith(("/", "\\")) or ".." in parts or ":" in name


def _declares(archive: ZipFile, part: ZipInfo) -> bool:
    with archive.open(part) as file:
        return has_document_type(iter(lambda: file.read(_CHUNK_BYTES), b""))
