"""Look into a workbook before it is read: it is a zip of XML parts, and either can be a bomb."""

from pathlib import Path
from zipfile import ZipFile, ZipInfo

from haulshed.inputs.xml_prolog import has_document_type
from haulshed.inputs.zip_check import ZipKind, check_zip
from haulshed.tables.table import shown

_XML_SUFFIXES = (".xml", ".rels", ".vml")
_CHUNK_BYTES = 1 << 16
_KIND = ZipKind(
    called="workbook",
    again="Save it as .xlsx, without a password, or correct the ending of its name.",
)


def check_workbook(path: Path, table: str) -> None:
    """
    Refuse a workbook that is none, or that would fill the memory.

    Raises
    ------
    InputError
        If it is no zip of plain parts, its parts are larger together than is read, a part's name
        leads out of the workbook, or a part declares a document type.
    """
    check_zip(path, table, _KIND, _declares)


def _declares(archive: ZipFile, part: ZipInfo) -> str | None:
    """Return what is said of a part that declares a document type."""
    if not part.filename.casefold().endswith(_XML_SUFFIXES):
        return None
    with archive.open(part) as file:
        if has_document_type(iter(lambda: file.read(_CHUNK_BYTES), b"")):
            name = shown(part.filename)
            return f"has a part with a document type, '{name}', which no workbook needs"
    return None
