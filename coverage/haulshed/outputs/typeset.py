"""Papers as PDF, set by Typst: no network, fonts that come along."""

import json
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

import matplotlib as mpl
import typst

#: matplotlib brings DejaVu Sans along: Latin, Greek, Cyrillic, Hebrew, Arabic.
_FONTS = Path(mpl.get_data_path()) / "fonts" / "ttf"


def typeset(
    template: Path, told: Mapping[str, object], *, pictures: Mapping[str, str], made: str
) -> bytes:
    """
    Return a paper as PDF; the same content gives the same bytes.

    Parameters
    ----------
    template
        The Typst file; it reads the content from ``told.json``, as strings and never as markup.
    told
        The content.
    pictures
        SVG by file name, as the content names them.
    made
        Date and time that the PDF carries, ISO 8601.
    """
    files: Any = {  # typst takes files by name; its stubs say one file only
        "main.typ": template.read_bytes(),
        "told.json": json.dumps(told, ensure_ascii=False).encode(),
        **{name: svg.encode() for name, svg in pictures.items()},
    }
    compiler = typst.Compiler(font_paths=[_FONTS])
    pdf = compiler.compile(files, format="pdf", timestamp=datetime.fromisoformat(made))
    if not isinstance(pdf, bytes):
        msg = f"Typst gave {type(pdf).__name__}, not the bytes of one PDF"
        raise TypeError(msg)
    return pdf
