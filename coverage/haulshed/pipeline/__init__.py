"""The commands as functions: read a district, run the model, write the outputs."""

from dataclasses import asdict, dataclass, replace
from pathlib import Path

from haulshed.assess.model import assess
from haulshed.case import Memory, NoMemory, Progress, Result
from haulshed.inputs.district import DOWNLOADED, District, file_hashes, read_district
from haulshed.inputs.play_cache import play_cache
from haulshed.inputs.rating_rules import DEFAULT_RULES, rules_at_hand
from haulshed.inputs.road_cache import default_cache_dir
from haulshed.inputs.run_record import (
    Repeated,
    place_from,
    read_record,
    recorded_folder,
    refuse_changed,
    repeated,
)
from haulshed.inputs.samples import larkmoor
from haulshed.options.limits import Money
from haulshed.options.objective import Objective
from haulshed.outputs.dictionary import Entry, as_markdown, as_text, dictionary
from haulshed.outputs.folder import MAP_FILE, Wanted, write_outputs
from haulshed.outputs.screen import summary_text
from haulshed.pipeline.board import Reported, report
from haulshed.pipeline.crew import Properties, SheetsWritten, sheet
from haulshed.pipeline.drill import Drilled, drill
from haulshed.pipeline.explain import Played, Told, explain
from haulshed.pipeline.look import Check, check
from haulshed.pipeline.make import Made, new
from haulshed.pipeline.options import Chosen, Compared, choose, compare
from haulshed.pipeline.place import folder_for
from haulshed.pipeline.rating import Prepared, evidence
from haulshed.pipeline.record import as_json_text, faults_json, provenance, quiet
from haulshed.units import System

__all__ = [
    "DEFAULT_RULES",
    "Check",
    "Chosen",
    "Compared",
    "Drilled",
    "Made",
    "Money",
    "Objective",
    "Played",
    "Prepared",
    "Properties",
    "Reported",
    "Run",
    "SheetsWritten",
    "Told",
    "as_markdown",
    "as_text",
    "check",
    "choose",
    "columns",
    "compare",
    "demo",
    "drill",
    "evidence",
    "explain",
    "faults_json",
    "new",
    "report",
    "rules_at_hand",
    "run",
    "run_again",
    "sheet",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A finished run: what the model says and where it was written."""

    result: Result
    scenario_name: str
    out: Path
    rejected: int  #: rows set aside
    repeated: Repeated | None = None  #: how it compares with the run that it repeats

    @property
    def map_file(self) -> Path:
        """The map, to be opened in a browser."""
        return self.out / MAP_FILE

    def as_text(self) -> str:
        """Return the short summary for a terminal."""
        return summary_text(
            self.result,
            scenario_name=self.scenario_name,
            map_file=self.map_file,
            rejected=self.rejected,
            repeated="" if self.repeated is None else self.repeated.as_text(),
        )

    def as_json(self) -> str:
        """Return the summary for machines."""
        ours = {"scenario": self.scenario_name, "map": str(self.map_file)}
        again = {} if self.repeated is None else {"repeated": asdict(self.repeated)}
        return as_json_text({**self.result.summary, **ours, "rejected": self.rejected, **again})


def demo(
    *,
    out: Path = Path("larkmoor-out"),
    scenario: str | None = None,
    cache: Path | None = None,
    units: System | None = None,
    base_map: bool = False,
    progress: Progress = quiet,
) -> Run:
    """Run Larkmoor, the invented demo district, as :func:`run` does."""
    return run(
        larkmoor(),
        out=out,
        scenario=scenario,
        cache=cache,
        units=units,
        base_map=base_map,
        progress=progress,
    )


def run(  # noqa: PLR0913 — one argument an option
    district: Path,
    *,
    out: Path | None = None,
    scenario: str | None = None,
    set_aside: bool = False,
    cache: Path | None = None,
    units: System | None = None,
    base_map: bool = False,
    workbook: bool = False,
    progress: Progress = quiet,
) -> Run:
    """
    Work out every parcel of a district and write the outputs.

    Parameters
    ----------
    district
        The folder, or its ``district.toml``.
    out
        Folder for the outputs; ``out`` in the district's folder if None.
    scenario
        Name of a scenario in ``district.toml``; the plain one if None.
    set_aside
        Go on without faulty rows.
    cache
        Folder of the cache; the user's own if None.
    units
        Units of the files written; the district's if None.
    base_map
        Lay an online map under the data.
    workbook
        Write all tables as a workbook too.
    progress
        Called with each step's name as it starts.

    Raises
    ------
    HaulshedError
        If the input is at fault or the outputs cannot be written. Outputs from before stay.
    """
    read = read_district(
        district, scenario=scenario, set_aside=set_aside, cache_dir=cache, progress=progress
    )
    wanted = Wanted(units=units or read.units, base_map=base_map, workbook=workbook)
    folder = folder_for(read, out)
    with play_cache(cache or default_cache_dir(), read.folder, progress) as memory:
        return _written(read, folder, wanted, set_aside=set_aside, memory=memory, progress=progress)


def run_again(
    again: Path,
    *,
    district: Path | None = None,
    out: Path | None = None,
    cache: Path | None = None,
    progress: Progress = quiet,
) -> Run:
    """
    Repeat the run that a ``run.json`` records, with its scenario, and say whether it is the same.

    Parameters
    ----------
    again
        The record.
    district
        The district's folder; where the record says that it is, if None.
    out
        Folder for the outputs; where the record lies if None.
    cache, progress
        As for :func:`run`.

    Raises
    ------
    HaulshedError
        If an input is not what it was, which is named; nothing is written then.
    """
    record = read_record(again)
    place = district or recorded_folder(record, again)
    progress("comparing the inputs")
    rules = record.scenario
    files = {name: one for name, one in record.input_sha256.items() if name != DOWNLOADED}
    refuse_changed(files, file_hashes(place, rules), record_name=again.name)
    read = read_district(
        place, rules=rules, set_aside=record.set_aside, cache_dir=cache, progress=progress
    )
    refuse_changed(record.input_sha256, read.input_sha256, record_name=again.name)
    read = replace(read, scenario_name=record.scenario_name)
    wanted = Wanted(units=record.units, base_map=record.base_map, workbook=record.workbook)
    folder = folder_for(read, out or again.resolve().parent)
    # All is worked out anew: what is remembered would confirm itself.
    nothing, aside = NoMemory(), record.set_aside
    done = _written(read, folder, wanted, set_aside=aside, memory=nothing, progress=progress)
    return replace(done, repeated=repeated(record, folder, provenance(read)))


def _written(
    read: District,
    folder: Path,
    wanted: Wanted,
    *,
    set_aside: bool,
    memory: Memory,
    progress: Progress,
) -> Run:
    """Work a district out, with what `memory` has of it, and write its outputs."""
    result = assess(read.inputs, progress=progress, memory=memory)
    write_outputs(
        result,
        provenance(read),
        folder,
        wanted=wanted,
        rejected=read.rejected_rows,
        record={"district": place_from(folder, read.folder), "set_aside": set_aside},
        progress=progress,
    )
    return Run(
        result=result,
        scenario_name=read.scenario_name,
        out=folder,
        rejected=len(read.rejected_rows),
    )


def columns() -> tuple[Entry, ...]:
    """Return the data dictionary."""
    return dictionary()
