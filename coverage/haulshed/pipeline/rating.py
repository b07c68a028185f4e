"""The command that prepares evidence for a fire-insurance rating."""

from dataclasses import dataclass
from pathlib import Path

from haulshed.case import Progress
from haulshed.evidence.assembled import Evidence
from haulshed.evidence.assembled import evidence as assembled
from haulshed.inputs.district import read_district
from haulshed.inputs.rating_rules import DEFAULT_RULES, read_rules
from haulshed.outputs.evidence_folder import BOOK_FILE, TABLE_FILE, write_evidence
from haulshed.outputs.screen import evidence_text
from haulshed.pipeline.place import folder_for
from haulshed.pipeline.record import as_json_text, provenance, quiet
from haulshed.units import System


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """Evidence for a rating, and where it was written."""

    evidence: Evidence
    out: Path

    def as_text(self) -> str:
        """Return the properties by test for a terminal."""
        return evidence_text(self.evidence, files=[self.out / BOOK_FILE, self.out / TABLE_FILE])

    def as_json(self) -> str:
        """Return the properties by test for machines."""
        schedule = self.evidence.schedule
        tests = [
            {"test": share.requirement.name, "limit": share.limit, "met": share.met}
            | {"not_met": share.not_met, "not_judged": share.not_judged}
            for share in self.evidence.shares
        ]
        rules = {"title": schedule.title, "body": schedule.body, "edition": schedule.edition}
        return as_json_text({"rules": rules, "tests": tests, "folder": str(self.out)})


def evidence(  # noqa: PLR0913 — one argument an option
    district: Path,
    *,
    rules: str = DEFAULT_RULES,
    out: Path | None = None,
    scenario: str | None = None,
    set_aside: bool = False,
    cache: Path | None = None,
    units: System | None = None,
    progress: Progress = quiet,
) -> Prepared:
    """
    Hold every property and fill site against a rating schedule and write what a rater asks for.

    `rules` is the name of a schedule that comes with haulshed, or a file; the rest as for
    :func:`run`. No class is stated.

    Raises
    ------
    HaulshedError
        If the input or the schedule is at fault or the files cannot be written.
    """
    schedule = read_rules(rules)
    read = read_district(
        district, scenario=scenario, set_aside=set_aside, cache_dir=cache, progress=progress
    )
    own_rules = [Path(rules)] if Path(rules).is_file() else []
    folder = folder_for(read, out, further=own_rules)
    found = assembled(read.inputs, schedule, progress=progress)
    write_evidence(found, provenance(read), folder, units=units or read.units, progress=progress)
    return Prepared(evidence=found, out=folder)
