"""Sheets as PDF."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from haulshed.case import CAUTION
from haulshed.outputs.sheet.content import SheetWords
from haulshed.outputs.typeset import typeset
from haulshed.outputs.whole_file import MADE_BY

_TEMPLATE = Path(__file__).parent / "sheet.typ"


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One sheet: its words and its two maps as SVG."""

    words: SheetWords
    overview: str
    entrance_map: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """What all pages of a file share."""

    title: str
    origin: str  #: district, scenario, date, version
    credit: str
    paper: str  #: us-letter or a4
    phone: bool  #: narrow pages as long as they need to be, instead of paper
    made: str  #: date and time, ISO 8601


def sheets_pdf(pages: Sequence[Page], style: Style) -> bytes:
    """Return a page a property as PDF; the same pages give the same bytes."""
    pictures: dict[str, str] = {}
    told = []
    for number, page in enumerate(pages):
        maps = {"overview": f"{number}-ways.svg", "entrance_map": f"{number}-entrance.svg"}
        pictures[maps["overview"]] = page.overview
        pictures[maps["entrance_map"]] = page.entrance_map
        told.append(asdict(page.words) | maps)
    shared = {"caution": CAUTION, "made_by": MADE_BY, "sheets": told} | asdict(style)
    return typeset(_TEMPLATE, shared, pictures=pictures, made=style.made)
