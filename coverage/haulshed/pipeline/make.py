"""The command `new`: a district's folder from a map."""

import json
from dataclasses import dataclass, replace
from pathlib import Path

from haulshed.case import Progress
from haulshed.errors import HaulshedError, InputError, OutputError
from haulshed.inputs.bbox import Bbox
from haulshed.inputs.new_district import gather
from haulshed.outputs.district_folder import write_district
from haulshed.outputs.screen import made_text
from haulshed.outputs.staging import made_whole
from haulshed.pipeline.look import Check, check
from haulshed.pipeline.record import as_json_text, quiet
from haulshed.survey.draft import Draft, draft_district


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A new district: what it is made of, and what a first look at it found."""

    folder: Path
    draft: Draft
    look: Check

    def as_text(self) -> str:
        """Return the summary for a terminal."""
        look = self.look
        return made_text(self.draft, look.findings, wrong=look.wrong, folder=self.folder)

    def as_json(self) -> str:
        """Return the summary for machines."""
        look = json.loads(self.look.as_json())["answer"]
        return as_json_text({"folder": str(self.folder), "notes": self.draft.notes, "look": look})


def new(  # noqa: PLR0913 — one argument an option
    folder: Path,
    *,
    roads: Path | None = None,
    place: str | None = None,
    bbox: tuple[float, float, float, float] | None = None,
    boundary: Path | None = None,
    parcels: Path | None = None,
    name: str = "",
    cache: Path | None = None,
    progress: Progress = quiet,
) -> Made:
    """
    Make a district's folder from an OpenStreetMap extract or a download, and look at it.

    Parameters
    ----------
    folder
        The new folder; nothing may be there.
    roads
        An extract: roads, and beside them buildings, hydrants, waters and stations.
    place, bbox
        Instead of it, the name of the place, or the box (west, south, east, north), whose map is
        downloaded.
    boundary
        File with the outline; None: an administrative area of the extract, or its box.
    parcels
        File with the parcels; None: one a building, or an address without one.
    name
        Of the district, and of the administrative area that is its outline.
    cache
        Folder of the cache; the user's own if None.
    progress
        Called with each step's name as it starts.

    Raises
    ------
    HaulshedError
        If a file cannot be used, or something is in the way. Nothing is half made.
    """
    source = _source(roads, place, bbox)
    try:
        with made_whole(folder) as fresh:
            found = gather(
                fresh,
                source=source,
                boundary=boundary,
                parcels=parcels,
                cache_dir=cache,
                progress=progress,
            )
            draft = draft_district(
                found.extract,
                found.segments,
                name=name or (place or "").partition(",")[0].strip(),
                outline=found.outline,
                parcels_given=parcels is not None,
            )
            draft = replace(draft, name=draft.name or folder.resolve().name)
            write_district(draft, found.files, fresh)
            look = check(fresh, cache=cache, progress=progress)
    except HaulshedError:
        raise
    except OSError as fault:
        msg = f"{folder} cannot be made: {fault}."
        raise OutputError(msg) from fault
    return Made(folder=folder, draft=draft, look=look)


def _source(
    roads: Path | None, place: str | None, bbox: tuple[float, float, float, float] | None
) -> Path | str | Bbox:
    """Return the one map that the user named."""
    box = Bbox(west=bbox[0], south=bbox[1], east=bbox[2], north=bbox[3]) if bbox else None
    sources = [one for one in (roads, place, box) if one is not None]
    if len(sources) != 1:
        msg = "A new district is made of one map. Give one of --roads, --place and --bbox."
        raise InputError(msg)
    return sources[0]
