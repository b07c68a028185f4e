"""Sheets as PDF, typeset by Typst: no network, fonts that come along."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

import matplotlib as mpl
import typst

from haulshed.case import CAUTION
from haulshed.outputs.sheet.content import SheetWords

_TEMPLATE = Path(__file__).parent / "sheet.typ"
#: matplotlib brings DejaVu Sans along: Latin, Greek, Cyrillic, Hebrew, Arabic.
_FONTS = Path(mpl.get_data_path()) / "fonts" / "ttf"


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
    files = {"main.typ": _TEMPLATE.read_bytes()}
    told = []
    for number, page in enumerate(pages):
        maps = {"overview": f"{number}-ways.svg", "entrance_map": f"{number}-entrance.svg"}
        files[maps["overview"]] = page.overview.encode()
        files[maps["entrance_map"]] = page.entrance_map.encode()
        told.append(asdict(page.words) | maps)
    shared = {"caution": CAUTION, "sheets": told} | asdict(style)
    files["sheets.json"] = json.dumps(shared, ensure_ascii=False).encode()
    pdf: object = typst.compile(  # type: ignore[call-overload]  # its stubs leave out files by name
        files,
        format="pdf",
        font_paths=[str(_FONTS)],
        timestamp=int(datetime.fromisoformat(style.made).timestamp()),
    )
    if not isinstance(pdf, bytes):
        msg = f"Typst gave {type(pdf).__name__}, not the bytes of one PDF"
        raise TypeError(msg)
    return pdf
