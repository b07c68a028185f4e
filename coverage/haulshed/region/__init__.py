"""Several districts in one go: one after the other, in processes here, or on a cluster."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from haulshed.case import Progress
from haulshed.errors import InputError
from haulshed.inputs.region_file import districts_of
from haulshed.pipeline.record import quiet
from haulshed.region.cluster import by_cluster
from haulshed.region.one import one_alone, one_district
from haulshed.region.outcome import Asked, Outcome, Region, Task

__all__ = ["Asked", "Outcome", "Region", "names_several", "one_alone", "run_region"]


def names_several(named: Sequence[Path]) -> bool:
    """
    Say whether these are several districts, or a region file.

    Raises
    ------
    InputError
        If a region file is at fault.
    """
    return [district for path in named for district in districts_of(path)] != [*named[:1]]


def run_region(
    named: Sequence[Path],
    asked: Asked,
    *,
    out: Path | None = None,
    workers: int = 1,
    scheduler: str | None = None,
    progress: Progress = quiet,
) -> Region:
    """
    Run several districts as :func:`haulshed.pipeline.run` runs each.

    A district that fails is reported and the others go on. One whose outputs stand whole, made
    from the same inputs by the same versions, is kept: a run that was broken off is taken up where
    it was. Whichever way it goes, the outputs are the same to the byte but for run.json's date.

    Parameters
    ----------
    named
        Districts and region files.
    asked
        What is asked of every district.
    out
        Folder with one folder a district, called as the district's own; None: ``out`` in each.
    workers
        Processes here.
    scheduler
        Address of a Dask scheduler whose workers do it, such as ``tcp://10.0.0.5:8786``. They must
        see the same folders and have the same haulshed.
    progress
        Called with how many districts are done.

    Raises
    ------
    InputError
        If a region file is at fault, two districts would write to one folder, or no scheduler
        answers.
    """
    tasks = [
        Task(district=district.resolve(), out=_out(district.resolve(), out), asked=asked)
        for path in named
        for district in districts_of(path)
    ]
    _refuse_shared(tasks)
    found = _in_turn(tasks) if workers == 1 and not scheduler else None
    outcomes: dict[int, Outcome] = {}
    progress("running the districts", 0, len(tasks))
    for row, outcome in found or by_cluster(tasks, workers=workers, scheduler=scheduler):
        outcomes[row] = outcome
        progress("running the districts", len(outcomes), len(tasks))
    return Region(outcomes=tuple(outcomes[row] for row in range(len(tasks))))


def _in_turn(tasks: Sequence[Task]) -> Iterator[tuple[int, Outcome]]:
    for row, task in enumerate(tasks):
        yield row, one_district(task)


def _out(district: Path, out: Path | None) -> Path:
    folder = district.parent if district.suffix.lower() == ".toml" else district
    return folder / "out" if out is None else out.resolve() / folder.name


def _refuse_shared(tasks: Sequence[Task]) -> None:
    first: dict[Path, Path] = {}
    for task in tasks:
        other = first.setdefault(task.out, task.district)
        if other != task.district:
            msg = (
                f"{other} and {task.district} would both write to {task.out}. Rename one of the"
                " folders, or run them apart."
            )
            raise InputError(msg)
