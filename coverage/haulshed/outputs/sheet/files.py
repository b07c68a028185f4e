"""The sheets' files: one PDF of all, one a property if that is wanted."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from haulshed.assess.sheets import Sheet
from haulshed.case import Inputs, Progress, Provenance
from haulshed.outputs.folder import write_record, written_whole
from haulshed.outputs.paper_trail import origin_line
from haulshed.outputs.sheet.content import sheet_words
from haulshed.outputs.sheet.maps import backdrop, entrance, overview
from haulshed.outputs.sheet.pdf import Page, Style, sheets_pdf
from haulshed.outputs.whole_file import write_whole
from haulshed.outputs.wording import Wording
from haulshed.units import System

PDF_FILE = "sheets.pdf"
EACH_FOLDER = "sheets"
RECORD_FILE = "sheets.json"
PDF_SUFFIX = ".pdf"
#: Letters of a file's name: any file system takes that many, four bytes each.
_LONGEST = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """How sheets are printed."""

    units: System
    phone: bool = False  #: narrow pages, as long as they need to be
    each: bool = False  #: one file a property too


def write_sheets(
    sheets: Sequence[Sheet],
    inputs: Inputs,
    provenance: Provenance,
    out: Path,
    *,
    printed: Printed,
    progress: Progress,
) -> Path:
    """
    Write the sheets and return the PDF of all of them.

    `out` is the PDF if it ends in .pdf, else a folder, which gets the record of the run too.

    Raises
    ------
    OutputError
        If `out` holds what no run of ours wrote, or cannot be written. What was there stays.
    """
    pages = list(_pages(sheets, inputs, printed, progress))
    style = Style(
        title=f"Sheets: {inputs.name}",
        origin=origin_line(inputs.name, provenance),
        credit=inputs.road_credit,
        paper="us-letter" if printed.units is System.US else "a4",
        phone=printed.phone,
        made=provenance.made,
    )
    progress(f"typesetting {PDF_FILE}")
    whole = sheets_pdf(pages, style)
    if out.suffix.lower() == PDF_SUFFIX:
        write_whole(out, whole)
        return out
    with written_whole(out, frozenset((PDF_FILE, EACH_FOLDER, RECORD_FILE))) as folder:
        (folder / PDF_FILE).write_bytes(whole)
        if printed.each:
            _write_each(pages, style, folder / EACH_FOLDER, progress)
        ids = [sheet.parcel_id for sheet in sheets]
        write_record(provenance, folder / RECORD_FILE, printed.units, more={"parcels": ids})
    return out / PDF_FILE


def _pages(
    sheets: Sequence[Sheet], inputs: Inputs, printed: Printed, progress: Progress
) -> Iterator[Page]:
    behind, wording = backdrop(inputs), Wording(system=printed.units)
    for number, sheet in enumerate(sheets):
        progress("drawing the maps", number, len(sheets))
        yield Page(
            words=sheet_words(sheet, wording),
            overview=overview(sheet, behind, printed.units),
            entrance_map=entrance(sheet, behind, printed.units),
        )


def _write_each(pages: Sequence[Page], style: Style, folder: Path, progress: Progress) -> None:
    folder.mkdir()
    names = file_names([page.words.parcel_id for page in pages])
    for number, (page, name) in enumerate(zip(pages, names, strict=True)):
        progress("typesetting one file a property", number, len(pages))
        alone = replace(style, title=page.words.parcel_id)
        (folder / name).write_bytes(sheets_pdf([page], alone))


def file_names(parcel_ids: Sequence[str]) -> list[str]:
    """
    Return a name of a file for each parcel, no two alike on any system.

    Examples
    --------
    >>> file_names(["12/3", "12-3", "12:3", "Ä 1"])
    ['12_3.pdf', '12-3.pdf', '12_3 (2).pdf', 'Ä_1.pdf']
    """
    names: list[str] = []
    seen: set[str] = set()
    for parcel_id in parcel_ids:
        plain = re.sub(r"[^\w-]", "_", parcel_id)[:_LONGEST] or "_"
        name, number = plain, 1
        while name.casefold() in seen:
            number += 1
            name = f"{plain} ({number})"
        seen.add(name.casefold())
        names.append(f"{name}{PDF_SUFFIX}")
    return names
