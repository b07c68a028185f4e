"""The evidence's files, written together beside what other commands left in the folder."""

from pathlib import Path

import numpy as np

from haulshed.case import Progress, Provenance
from haulshed.evidence.assembled import Evidence
from haulshed.outputs.csv_table import write_csv
from haulshed.outputs.evidence_book import write_evidence_book
from haulshed.outputs.folder import write_record, written_whole
from haulshed.outputs.measures import converted
from haulshed.units import System

BOOK_FILE = "evidence.xlsx"
TABLE_FILE = "evidence.csv"
RECORD_FILE = "evidence.json"


def write_evidence(
    evidence: Evidence, provenance: Provenance, out: Path, *, units: System, progress: Progress
) -> None:
    """
    Write the workbook, the table and the record of the run into `out`.

    Raises
    ------
    OutputError
        If `out` holds what no run of ours wrote, or cannot be written. What was there stays.
    """
    names = frozenset((BOOK_FILE, TABLE_FILE, RECORD_FILE))
    with written_whole(out, names) as folder:
        progress(f"writing {TABLE_FILE}")
        # What is out of reach is an empty cell in a CSV; the test beside it says not met.
        table = evidence.properties.replace(np.inf, np.nan)
        write_csv(converted(table, units), folder / TABLE_FILE)
        progress(f"writing {BOOK_FILE}")
        write_evidence_book(evidence, provenance, folder / BOOK_FILE, units=units)
        rules = {"rules": evidence.schedule.title, "edition": evidence.schedule.edition}
        write_record(provenance, folder / RECORD_FILE, units, more=rules)
