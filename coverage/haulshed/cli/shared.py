"""What several commands share: their options, how they report, what they print."""

import sys
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from haulshed import pipeline
from haulshed.case import Progress
from haulshed.errors import HaulshedError
from haulshed.units import System

#: Exit code when the input is at fault. 0 is done; 2, a usage error, is click's own.
AT_FAULT = 1
#: Characters of the progress bar.
BAR_WIDTH = 30

DISTRICT = click.argument("district", type=click.Path(path_type=Path))
SCENARIO = click.option(
    "--scenario", metavar="NAME", help="A scenario of district.toml, such as winter."
)
SET_ASIDE = click.option(
    "--set-aside",
    is_flag=True,
    help="Go on without faulty rows; they are written to rejected.csv with the reason.",
)
CACHE = click.option(
    "--cache",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of the cache. Default: the user's own cache folder.",
)
UNITS = click.option(
    "--units",
    type=click.Choice([system.value for system in System]),
    help="Units of the files written: us or si. Default: the district's.",
)
BASE_MAP = click.option(
    "--base-map", is_flag=True, help="Lay an online map under the data; needs a network to view."
)
OPTIONS = click.option(
    "--options",
    type=click.Path(path_type=Path),
    help="The options file. Default: options.toml in the district's folder.",
)
JSON = click.option("--json", "as_json", is_flag=True, help="Print for machines.")


@contextmanager
def reporting(*, as_json: bool) -> Iterator[Progress]:
    """
    Show each step on a terminal's last line; turn a fault of the input into exit code 1.

    The fault is said on standard error; for a machine it is printed on standard output too.
    """
    shows = sys.stderr.isatty()

    def progress(step: str, done: int = 0, of: int = 0) -> None:
        if shows:
            _wipe()
            click.echo(f"{step} {_bar(done, of)}", err=True, nl=False)

    fault = None
    try:
        yield progress
    except HaulshedError as found:
        fault = found
    if shows:
        _wipe()
    if fault is not None:
        if as_json:
            click.echo(pipeline.faults_json(fault))
        click.echo(f"haulshed: {fault}", err=True)
        sys.exit(AT_FAULT)


def _wipe() -> None:
    click.echo("\r\x1b[2K", err=True, nl=False)


def _bar(done: int, of: int) -> str:
    full = BAR_WIDTH * done // of if of else 0
    return f"[{'#' * full}{'.' * (BAR_WIDTH - full)}] {done / of:4.0%}" if of else "…"


def system(units: str | None) -> System | None:
    """Return the units asked for; None: the district's."""
    return System(units) if units else None


def show(
    done: pipeline.Run | pipeline.Compared | pipeline.Chosen, *, as_json: bool, open_: bool
) -> None:
    """Print a finished run and open its map, if that is wanted."""
    click.echo(done.as_json() if as_json else done.as_text())
    if open_ and not webbrowser.open(done.map_file.resolve().as_uri()):
        click.echo(f"No browser found here. Open the map yourself: {done.map_file}", err=True)
