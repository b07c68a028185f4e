"""The report as PDF."""

from collections.abc import Mapping
from pathlib import Path

from haulshed.outputs.report.blocks import (
    Block,
    Heading,
    Lines,
    Paragraph,
    Picture,
    Report,
    Table,
    breakable,
)
from haulshed.outputs.typeset import typeset

_TEMPLATE = Path(__file__).parent / "report.typ"
#: Letters of a column of words beyond which it gets no wider.
_WIDEST_WORDS = 44
#: Rows that a column's width is measured on.
_ROWS_MEASURED = 300


def report_pdf(report: Report) -> bytes:
    """Return the report as PDF; the same report gives the same bytes."""
    told = {
        "title": report.title,
        "origin": report.origin,
        "caution": report.caution,
        "paper": report.paper,
        "blocks": [_plain(block) for block in report.blocks],
    }
    pictures = {
        f"{block.name}.svg": block.svg for block in report.blocks if isinstance(block, Picture)
    }
    return typeset(_TEMPLATE, told, pictures=pictures, made=report.made)


def _plain(block: Block) -> Mapping[str, object]:
    """Return a block as the template reads it."""
    match block:
        case Heading():
            return {"kind": "heading", "text": breakable(block.text), "level": block.level}
        case Paragraph():
            return {"kind": "paragraph", "text": breakable(block.text), "strong": block.strong}
        case Lines():
            return {"kind": "lines", "lines": list(block.lines)}
        case Picture():
            return {"kind": "picture", "file": f"{block.name}.svg", "caption": block.caption}
        case Table():
            return _table(block)


def _table(table: Table) -> Mapping[str, object]:
    columns = range(len(table.header))
    return {
        "kind": "table",
        "header": [breakable(word) for word in table.header],
        "rows": [[breakable(cell) for cell in row] for row in table.rows],
        "numbers": [column in table.numbers for column in columns],
        "widths": [0 if column in table.numbers else _width(table, column) for column in columns],
        "empty": table.empty,
    }


def _width(table: Table, column: int) -> int:
    """Return a column's share of the width, by its longest cell."""
    cells = [table.header[column], *(row[column] for row in table.rows[:_ROWS_MEASURED])]
    return max(4, min(max(map(len, cells)), _WIDEST_WORDS))
