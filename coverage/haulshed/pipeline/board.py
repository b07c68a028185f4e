"""The command that writes the board report."""

from dataclasses import dataclass
from pathlib import Path

from haulshed.assess.doubts import doubts
from haulshed.assess.model import assess
from haulshed.case import Progress
from haulshed.inputs.choice_record import read_choice
from haulshed.inputs.comparison_record import read_comparison
from haulshed.inputs.district import read_district
from haulshed.outputs.report.folder import HTML_FILE, PDF_FILE, write_report
from haulshed.outputs.report.options import what_it_takes
from haulshed.outputs.report.told import Told
from haulshed.outputs.screen import report_text
from haulshed.pipeline.place import folder_for
from haulshed.pipeline.record import as_json_text, provenance, quiet
from haulshed.units import System

#: Where haulshed compare and choose write, in the district's folder.
_COMPARE_FOLDER, _CHOOSE_FOLDER = "compare", "choose"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reported:
    """A report, and where it was written."""

    told: Told
    out: Path

    def as_text(self) -> str:
        """Return the answer in a few lines, and where the report is."""
        files = [self.out / PDF_FILE, self.out / HTML_FILE]
        return report_text(
            self.told.result, options=" ".join(what_it_takes(self.told)), files=files
        )

    def as_json(self) -> str:
        """Return the answer for machines."""
        files = {"pdf": str(self.out / PDF_FILE), "html": str(self.out / HTML_FILE)}
        answers = {
            "answers": dict(self.told.counts),
            "held_9_times_in_10": self.told.held_90,
            "causes": dict(self.told.causes),
        }
        return as_json_text(
            {
                **answers,
                "options_compared": len(self.told.options),
                "plan": self.told.plan is not None,
                **files,
            }
        )


def report(  # noqa: PLR0913 — one argument an option
    district: Path,
    *,
    compared: Path | None = None,
    plan: Path | None = None,
    out: Path | None = None,
    scenario: str | None = None,
    set_aside: bool = False,
    cache: Path | None = None,
    units: System | None = None,
    progress: Progress = quiet,
) -> Reported:
    """
    Work a district out and write the board report, as PDF and as HTML.

    `compared` is the folder of a comparison, ``compare`` in the district's folder if None, `plan`
    that of a choice, ``choose`` if None; they are taken in if they are of the same inputs and
    scenario. The rest is as for :func:`haulshed.pipeline.run`.

    Raises
    ------
    HaulshedError
        If the input is at fault or the files cannot be written.
    """
    read = read_district(
        district, scenario=scenario, set_aside=set_aside, cache_dir=cache, progress=progress
    )
    folder = folder_for(read, out)
    options, old_options = read_comparison(
        compared or read.folder / _COMPARE_FOLDER,
        input_sha256=read.input_sha256,
        scenario_name=read.scenario_name,
    )
    best, old_plan = read_choice(
        plan or read.folder / _CHOOSE_FOLDER,
        input_sha256=read.input_sha256,
        scenario_name=read.scenario_name,
    )
    told = Told(
        result=assess(read.inputs, progress=progress),
        provenance=provenance(read),
        findings=doubts(read.inputs, progress=progress),
        options=options,
        plan=best,
        out_of_date=("compare",) * old_options + ("choose",) * old_plan,
        units=units or read.units,
    )
    write_report(told, folder, progress=progress)
    return Reported(told=told, out=folder)
