"""The report's files, written together beside what other commands left in the folder."""

from pathlib import Path

from haulshed.case import Progress
from haulshed.outputs.folder import write_record, written_whole
from haulshed.outputs.report.content import board_report
from haulshed.outputs.report.page import report_html
from haulshed.outputs.report.pdf import report_pdf
from haulshed.outputs.report.told import Told

PDF_FILE = "report.pdf"
HTML_FILE = "report.html"
RECORD_FILE = "report.json"


def write_report(told: Told, out: Path, *, progress: Progress) -> None:
    """
    Write the report as PDF and as HTML, and the record of the run, into `out`.

    Raises
    ------
    OutputError
        If `out` holds what no run of ours wrote, or cannot be written. What was there stays.
    """
    progress("drawing the report's maps and charts")
    report = board_report(told)
    with written_whole(out, frozenset((PDF_FILE, HTML_FILE, RECORD_FILE))) as folder:
        progress(f"writing {HTML_FILE}")
        (folder / HTML_FILE).write_text(report_html(report), encoding="utf-8")
        progress(f"typesetting {PDF_FILE}")
        (folder / PDF_FILE).write_bytes(report_pdf(report))
        plan = [step.title for step in told.plan.ladder] if told.plan else []
        more = {"options_compared": [option.title for option in told.options], "plan": plan}
        write_record(told.provenance, folder / RECORD_FILE, told.units, more=more)
