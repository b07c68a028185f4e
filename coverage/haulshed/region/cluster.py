"""Districts handed to workers: processes here, or those of a Dask scheduler."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

from haulshed.errors import InputError
from haulshed.region.one import one_district
from haulshed.region.outcome import Outcome, State, Task

if TYPE_CHECKING:
    from distributed import Client

#: Workers that may be lost over one district before it counts as failed.
WORKERS_LOST = 3
#: How long a scheduler may take to answer [s].
ANSWER_S = 10


def by_cluster(
    tasks: Sequence[Task], *, workers: int, scheduler: str | None
) -> Iterator[tuple[int, Outcome]]:
    """
    Yield each district's number and outcome as it is done; a lost worker's go to another.

    Raises
    ------
    InputError
        If no scheduler answers, or the package for it is not installed.
    """
    with _client(workers, scheduler) as client:
        from distributed import as_completed  # noqa: PLC0415 — a second to load, rarely needed

        rows = {
            client.submit(one_district, task, pure=False, key=f"{row} {task.name}"): row
            for row, task in enumerate(tasks)
        }
        for future in as_completed(rows):  # type: ignore[no-untyped-call]  # distributed's own
            row = rows[future]
            lost = future.status != "finished"
            yield row, _lost(tasks[row], future.exception()) if lost else future.result()


def _lost(task: Task, fault: object) -> Outcome:
    return Outcome(
        district=task.name,
        out=str(task.out),
        state=State.FAILED,
        said=f"{WORKERS_LOST + 1} workers were lost over it: {fault}",
    )


@contextmanager
def _client(workers: int, scheduler: str | None) -> "Iterator[Client]":
    try:
        import dask  # noqa: PLC0415 — see above
        from distributed import Client, LocalCluster  # noqa: PLC0415 — see above
    except ModuleNotFoundError as missing:
        msg = (
            "--workers and --scheduler need the package distributed:"
            " pip install 'haulshed[workers]'. Without it, districts run one after the other."
        )
        raise InputError(msg) from missing
    patience = {"distributed.scheduler.allowed-failures": WORKERS_LOST}
    with dask.config.set(patience):
        if scheduler is None:
            with (
                LocalCluster(  # type: ignore[no-untyped-call]  # distributed's own
                    n_workers=workers, threads_per_worker=1, dashboard_address=None
                ) as cluster,
                Client(cluster) as client,  # type: ignore[no-untyped-call]  # distributed's own
            ):
                yield client
            return
        try:
            client = Client(scheduler, timeout=ANSWER_S)  # type: ignore[no-untyped-call]  # as above
        except (OSError, ValueError) as fault:
            msg = (
                f"No Dask scheduler answers at {scheduler}. Start one with `dask scheduler` and"
                " workers with `dask worker ADDRESS`, or use --workers."
            )
            raise InputError(msg) from fault
        with client:
            yield client
