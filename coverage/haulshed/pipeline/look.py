"""The command `check`: a look at a district's files that writes nothing."""

from dataclasses import asdict, dataclass
from pathlib import Path

from haulshed.assess.doubts import doubts
from haulshed.assess.findings import Findings
from haulshed.case import Progress
from haulshed.errors import Fault, TableError
from haulshed.inputs.district import District, read_district
from haulshed.outputs.screen import findings_text
from haulshed.pipeline.record import as_json_text, quiet


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """What a look at the district's files found."""

    findings: Findings | None  #: None: too much is wrong to look further
    wrong: tuple[Fault, ...]  #: what must be mended; the findings are of the rows without a fault
    rejected: int  #: rows set aside by the user's wish

    def as_text(self) -> str:
        """Return what was found for a terminal."""
        return findings_text(self.findings, wrong=self.wrong, rejected=self.rejected)

    def as_json(self) -> str:
        """Return what was found for machines."""
        found = self.findings.as_dict() if self.findings is not None else {}
        faults = [asdict(fault) for fault in self.wrong]
        return as_json_text({**found, "wrong": faults, "rejected": self.rejected})


def check(
    district: Path,
    *,
    scenario: str | None = None,
    set_aside: bool = False,
    cache: Path | None = None,
    progress: Progress = quiet,
) -> Check:
    """
    Read a district and say what is wrong, doubtful and assumed; nothing is written.

    Where rows are at fault, what is doubtful is said of the others.

    Raises
    ------
    HaulshedError
        If there is no district to look at, or its roads cannot be read.
    """

    def read(*, without_faulty: bool) -> District:
        return read_district(
            district,
            scenario=scenario,
            set_aside=without_faulty,
            cache_dir=cache,
            progress=progress,
        )

    wrong: tuple[Fault, ...] = ()
    try:
        found = read(without_faulty=set_aside)
    except TableError as fault:
        wrong = fault.faults
        try:
            found = read(without_faulty=True)
        except TableError:
            return Check(findings=None, wrong=wrong, rejected=0)
    return Check(
        findings=doubts(found.inputs, progress=progress),
        wrong=wrong,
        rejected=0 if wrong else len(found.rejected_rows),
    )
