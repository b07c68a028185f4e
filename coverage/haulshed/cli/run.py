"""The command that runs one district, several, or one again."""

import sys
from pathlib import Path

import click

from haulshed import pipeline
from haulshed.case import Progress
from haulshed.cli.shared import (
    AT_FAULT,
    BASE_MAP,
    CACHE,
    JSON,
    SCENARIO,
    SET_ASIDE,
    UNITS,
    reporting,
    show,
    system,
)
from haulshed.region import Asked, Region, names_several, one_alone, run_region


@click.command()
@click.argument("districts", metavar="DISTRICT…", type=click.Path(path_type=Path), nargs=-1)
@click.option(
    "--again",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="RUN.JSON",
    help="Repeat the run of this record, with its scenario, in the record's folder or --out, and"
    " say whether it is the same.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the outputs; of several districts, with a folder each. Default: out in the"
    " district's folder; with --again, the record's.",
)
@click.option("--open", "open_", is_flag=True, help="Open the map in the browser.")
@SCENARIO
@SET_ASIDE
@CACHE
@UNITS
@BASE_MAP
@click.option("--workbook", is_flag=True, help="Write all tables as a workbook too, tables.xlsx.")
@click.option(
    "--workers",
    type=click.IntRange(min=1),
    default=1,
    show_default=True,
    help="Districts that are run at the same time, each in a process of its own.",
)
@click.option(
    "--scheduler",
    metavar="ADDRESS",
    help="Hand the districts to the workers of this Dask scheduler, such as tcp://10.0.0.5:8786.",
)
@click.option(
    "--anew",
    is_flag=True,
    help="Of several districts, run those too whose outputs are as a run would write them now.",
)
@JSON
def run(  # noqa: PLR0913 — one argument an option is how click works
    *,
    districts: tuple[Path, ...],
    again: Path | None,
    out: Path | None,
    open_: bool,
    scenario: str | None,
    set_aside: bool,
    cache: Path | None,
    units: str | None,
    base_map: bool,
    workbook: bool,
    workers: int,
    scheduler: str | None,
    anew: bool,
    as_json: bool,
) -> None:
    """
    Work out every parcel of DISTRICT and write the tables and the map.

    Of several districts, or a region file that lists them, each is run by itself; one that fails
    is reported and the others go on, and one in which nothing has changed is kept.
    """
    asked = Asked(
        scenario=scenario,
        set_aside=set_aside,
        cache=cache.resolve() if cache else None,
        units=system(units),
        base_map=base_map,
        workbook=workbook,
        anew=anew,
    )
    done: pipeline.Run | Region
    with reporting(as_json=as_json) as progress:
        if again is not None:
            _refuse_with_again(districts, asked, several=workers > 1 or scheduler is not None)
            place = next(iter(districts), None)
            done = pipeline.run_again(
                again, district=place, out=out, cache=cache, progress=progress
            )
        else:
            done = _asked_for(districts, asked, out, (workers, scheduler), progress)
    _print(done, as_json=as_json, open_=open_)


def _asked_for(
    districts: tuple[Path, ...],
    asked: Asked,
    out: Path | None,
    who: tuple[int, str | None],
    progress: Progress,
) -> pipeline.Run | Region:
    if not districts:
        msg = "Missing argument 'DISTRICT'."
        raise click.UsageError(msg)
    workers, scheduler = who
    if workers > 1 or scheduler or names_several(districts):
        return run_region(
            districts, asked, out=out, workers=workers, scheduler=scheduler, progress=progress
        )
    return one_alone(districts[0], asked, out=out, progress=progress)


def _print(done: pipeline.Run | Region, *, as_json: bool, open_: bool) -> None:
    if not isinstance(done, Region):
        show(done, as_json=as_json, open_=open_)
        return
    click.echo(done.as_json() if as_json else done.as_text())
    if done.failed:
        click.echo(f"haulshed: {done.failed} of {len(done.outcomes)} districts failed.", err=True)
        sys.exit(AT_FAULT)


def _refuse_with_again(districts: tuple[Path, ...], asked: Asked, *, several: bool) -> None:
    """Raise if an option is given that the record of a run decides."""
    if asked != Asked(cache=asked.cache) or several or len(districts) > 1:
        msg = (
            "--again takes one district at most, and scenario, units, --set-aside, --base-map and"
            " --workbook from the record."
        )
        raise click.UsageError(msg)
