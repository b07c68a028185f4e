"""The report as one HTML file: no network, pictures inside, every text from data escaped."""

from html import escape
from pathlib import Path

from haulshed.outputs.report.blocks import (
    Block,
    Heading,
    Lines,
    Paragraph,
    Picture,
    Report,
    Table,
)

_CSS = Path(__file__).parent / "report.css"


def report_html(report: Report) -> str:
    """Return the report as HTML."""
    body = "\n".join(_html(block) for block in report.blocks)
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(report.title)}</title>
<style>
{_CSS.read_text(encoding="utf-8")}</style>
</head>
<body>
<h1 dir="auto">{escape(report.title)}</h1>
<p class="origin">{escape(report.origin)}</p>
<p class="caution">{escape(report.caution)}</p>
{body}
</body>
</html>
"""


def _html(block: Block) -> str:
    match block:
        case Heading():
            level = 3 if block.level > 2 else 2  # noqa: PLR2004 — levels of HTML
            page = ' class="page"' if block.level == 1 else ""
            return f"<h{level}{page}>{escape(block.text)}</h{level}>"
        case Paragraph():
            strong = ' class="strong"' if block.strong else ""
            return f'<p dir="auto"{strong}>{escape(block.text)}</p>'
        case Lines():
            return f"<pre>{escape(chr(10).join(block.lines))}</pre>"
        case Picture():
            return (
                f'<figure role="img" aria-label="{escape(block.caption)}">{block.svg}'
                f"<figcaption>{escape(block.caption)}</figcaption></figure>"
            )
        case Table():
            return _table(block)


def _table(table: Table) -> str:
    if not table.rows:
        return f"<p>{escape(table.empty)}</p>"

    def row(cells: list[str], kind: str) -> str:
        return (
            "<tr>"
            + "".join(
                f'<{kind}{" class=number" if at in table.numbers else ""} dir="auto">{escape(cell)}'
                f"</{kind}>"
                for at, cell in enumerate(cells)
            )
            + "</tr>"
        )

    head = row(list(table.header), "th")
    body = "\n".join(row(list(cells), "td") for cells in table.rows)
    return f'<div class="wide"><table><thead>{head}</thead>\n<tbody>{body}</tbody></table></div>'
