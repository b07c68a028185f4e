"""The command that writes sheets for crews."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from haulshed.assess.sheets import Sheet, ids_of, sheets
from haulshed.case import Inputs, Progress
from haulshed.errors import InputError
from haulshed.inputs.district import read_district
from haulshed.outputs.sheet.files import EACH_FOLDER, PDF_SUFFIX, Printed, write_sheets
from haulshed.outputs.whole_file import refuse_file
from haulshed.pipeline.place import folder_for
from haulshed.pipeline.record import as_json_text, provenance, quiet
from haulshed.units import System


@dataclass(frozen=True, slots=True, kw_only=True)
class Properties:
    """Which properties get a sheet: those named, and those of a kind."""

    parcels: Sequence[str] = ()
    all_short: bool = False  #: every one with the verdict short
    area: str | None = None  #: every one in this area; with `all_short` the short ones in it


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetsWritten:
    """The sheets, and where they were written."""

    sheets: tuple[Sheet, ...]
    file: Path | None  #: None: no property is of the kind asked for
    each: bool

    def as_text(self) -> str:
        """Return what was written for a terminal."""
        if self.file is None:
            return "No property is of the kind asked for: nothing was written."
        number = len(self.sheets)
        told = f"{number} {'sheet' if number == 1 else 'sheets'}: {self.file}"
        return (
            f"{told}\nOne file a property: {self.file.parent / EACH_FOLDER}" if self.each else told
        )

    def as_json(self) -> str:
        """Return what was written for machines."""
        parcels = [sheet.parcel_id for sheet in self.sheets]
        return as_json_text({"parcels": parcels, "file": str(self.file) if self.file else None})


def sheet(  # noqa: PLR0913 — one argument an option
    district: Path,
    *,
    chosen: Properties,
    out: Path | None = None,
    each: bool = False,
    phone: bool = False,
    scenario: str | None = None,
    set_aside: bool = False,
    cache: Path | None = None,
    units: System | None = None,
    progress: Progress = quiet,
) -> SheetsWritten:
    """
    Write a sheet for the crew of each chosen property.

    Parameters
    ----------
    district
        The folder, or its ``district.toml``.
    chosen
        The properties.
    out
        A PDF if it ends in .pdf, else a folder; ``out`` in the district's folder if None.
    each
        Write a file a property too; `out` must be a folder.
    phone
        Narrow pages as long as they need to be, instead of paper.
    scenario, set_aside, cache, units, progress
        As for :func:`haulshed.pipeline.run`.

    Raises
    ------
    HaulshedError
        If the input is at fault, there is no such property, or the files cannot be written.
    """
    file = out if out is not None and out.suffix.lower() == PDF_SUFFIX else None
    if each and file is not None:
        msg = f"--each needs a folder to write to, and --out {file} is one file."
        raise InputError(msg)
    if file is not None:
        refuse_file(file)
    read = read_district(
        district, scenario=scenario, set_aside=set_aside, cache_dir=cache, progress=progress
    )
    place = file or folder_for(read, out)
    ids = _ids(read.inputs, chosen, progress)
    if not ids:
        return SheetsWritten(sheets=(), file=None, each=False)
    told = sheets(read.inputs, ids, progress=progress)
    written = write_sheets(
        told,
        read.inputs,
        provenance(read),
        place,
        printed=Printed(units=units or read.units, phone=phone, each=each),
        progress=progress,
    )
    return SheetsWritten(sheets=told, file=written, each=each)


def _ids(inputs: Inputs, chosen: Properties, progress: Progress) -> list[str]:
    """Return the ids of the chosen properties, those named first."""
    named = list(chosen.parcels)
    if not chosen.all_short and chosen.area is None:
        return named
    of_kind = ids_of(inputs, only_short=chosen.all_short, area=chosen.area, progress=progress)
    return [*named, *of_kind]
