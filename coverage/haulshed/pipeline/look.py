"""The command `check`: a look at a district's files that writes nothing."""

from dataclasses import asdict, dataclass
from pathlib import Path

from haulshed.assess.doubts import doubts
from haulshed.assess.findings import Findings
from haulshed.case import Progress
from haulshed.errors import Fault, OutputError, TableError
from haulshed.inputs.district import District, read_district
from haulshed.inputs.other_scenarios import scenario_faults
from haulshed.outputs.doubts_map import doubts_html
from haulshed.outputs.screen import findings_text
from haulshed.outputs.whole_file import refuse_file, write_whole
from haulshed.pipeline.record import as_json_text, quiet

_MAP_SUFFIXES = (".html", ".htm")


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """What a look at the district's files found."""

    findings: Findings | None  #: None: too much is wrong to look further
    wrong: tuple[Fault, ...]  #: what must be mended; the findings are of the rows without a fault
    rejected: int  #: rows set aside by the user's wish
    map_file: Path | None = None  #: where the map of doubtful places was written

    def as_text(self) -> str:
        """Return what was found for a terminal."""
        told = findings_text(self.findings, wrong=self.wrong, rejected=self.rejected)
        return f"{told}\nMap: {self.map_file}" if self.map_file else told

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
    map_file: Path | None = None,
    progress: Progress = quiet,
) -> Check:
    """
    Read a district and say what is wrong, doubtful and assumed; nothing is written but the map.

    Where rows are at fault, what is doubtful is said of the others, and drawn on `map_file`. Of
    the other scenarios it is said what they name that is not there.

    Raises
    ------
    HaulshedError
        If there is no district to look at, or its roads cannot be read, or the map not written.
    """
    if map_file is not None:
        _refuse_map_file(map_file)

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
    wrong = (*wrong, *scenario_faults(district, found))
    findings = doubts(found.inputs, progress=progress)
    if map_file is not None:
        write_whole(map_file, doubts_html(findings, found.inputs))
    return Check(
        findings=findings,
        wrong=wrong,
        rejected=0 if wrong else len(found.rejected_rows),
        map_file=map_file,
    )


def _refuse_map_file(map_file: Path) -> None:
    if map_file.suffix.lower() not in _MAP_SUFFIXES:
        msg = f"--map {map_file}: the map is a web page. Give it a name that ends in .html."
        raise OutputError(msg)
    refuse_file(map_file)
