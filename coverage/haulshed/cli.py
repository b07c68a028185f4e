"""The command line: parses, calls the pipeline, prints. It decides nothing."""

import json
import sys
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path

import click

from haulshed import pipeline
from haulshed.case import Progress
from haulshed.errors import HaulshedError
from haulshed.units import System

#: Exit code when the input is at fault. 0 is done; 2, a usage error, is click's own.
AT_FAULT = 1
#: Characters of the progress bar.
_BAR_WIDTH = 30

_DISTRICT = click.argument("district", type=click.Path(path_type=Path))
_SCENARIO = click.option(
    "--scenario", metavar="NAME", help="A scenario of district.toml, such as winter."
)
_SET_ASIDE = click.option(
    "--set-aside",
    is_flag=True,
    help="Go on without faulty rows; they are written to rejected.csv with the reason.",
)
_CACHE = click.option(
    "--cache",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of the road cache. Default: the user's own cache folder.",
)
_UNITS = click.option(
    "--units",
    type=click.Choice([system.value for system in System]),
    help="Units of the files written: us or si. Default: the district's.",
)
_BASE_MAP = click.option(
    "--base-map", is_flag=True, help="Lay an online map under the data; needs a network to view."
)
_OPTIONS = click.option(
    "--options",
    type=click.Path(path_type=Path),
    help="The options file. Default: options.toml in the district's folder.",
)
_JSON = click.option("--json", "as_json", is_flag=True, help="Print for machines.")


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="haulshed")
def main() -> None:
    """
    Hauled water for every property of a rural fire district.

    haulshed works out, over real roads, the flow that a tanker shuttle can keep up at each parcel,
    whether that is enough, and if not, what limits it. DISTRICT is a folder with a district.toml.

    Planning estimates: verify by flow tests and drills; local codes, the authority having
    jurisdiction and licensed practice govern.
    """


@main.command()
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("larkmoor-out"),
    show_default=True,
    help="Folder for the outputs.",
)
@click.option("--open", "open_", is_flag=True, help="Open the map in the browser.")
@_SCENARIO
@_CACHE
@_UNITS
@_BASE_MAP
@_JSON
def demo(  # noqa: PLR0913 — one argument an option is how click works
    *,
    out: Path,
    open_: bool,
    scenario: str | None,
    cache: Path | None,
    units: str | None,
    base_map: bool,
    as_json: bool,
) -> None:
    """Run Larkmoor, the invented demo district."""
    with _reporting() as progress:
        done = pipeline.demo(
            out=out,
            scenario=scenario,
            cache=cache,
            units=_system(units),
            base_map=base_map,
            progress=progress,
        )
    _show(done, as_json=as_json, open_=open_)


@main.command()
@_DISTRICT
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the outputs. Default: out in the district's folder.",
)
@click.option("--open", "open_", is_flag=True, help="Open the map in the browser.")
@_SCENARIO
@_SET_ASIDE
@_CACHE
@_UNITS
@_BASE_MAP
@_JSON
def run(  # noqa: PLR0913 — one argument an option is how click works
    *,
    district: Path,
    out: Path | None,
    open_: bool,
    scenario: str | None,
    set_aside: bool,
    cache: Path | None,
    units: str | None,
    base_map: bool,
    as_json: bool,
) -> None:
    """Work out every parcel of DISTRICT and write the tables and the map."""
    with _reporting() as progress:
        done = pipeline.run(
            district,
            out=out,
            scenario=scenario,
            set_aside=set_aside,
            cache=cache,
            units=_system(units),
            base_map=base_map,
            progress=progress,
        )
    _show(done, as_json=as_json, open_=open_)


@main.command()
@_DISTRICT
@_SCENARIO
@_SET_ASIDE
@_CACHE
@_JSON
def check(
    *, district: Path, scenario: str | None, set_aside: bool, cache: Path | None, as_json: bool
) -> None:
    """Say what is wrong, doubtful and assumed in DISTRICT's files. Writes nothing."""
    with _reporting() as progress:
        found = pipeline.check(
            district, scenario=scenario, set_aside=set_aside, cache=cache, progress=progress
        )
    click.echo(found.as_json() if as_json else found.as_text())


@main.command()
@_DISTRICT
@click.argument("parcel")
@_SCENARIO
@_SET_ASIDE
@_CACHE
@_JSON
def explain(
    *,
    district: Path,
    parcel: str,
    scenario: str | None,
    set_aside: bool,
    cache: Path | None,
    as_json: bool,
) -> None:
    """Print the whole computation for one PARCEL of DISTRICT, to be followed with a pencil."""
    with _reporting() as progress:
        told = pipeline.explain(
            district,
            parcel,
            scenario=scenario,
            set_aside=set_aside,
            cache=cache,
            progress=progress,
        )
    click.echo(told.as_json() if as_json else told.as_text())


@main.command()
@click.argument("log", metavar="LOG.csv", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--district",
    type=click.Path(path_type=Path),
    help="The district whose tankers drilled. Default: only the defaults are assumed.",
)
@click.option("--parcel", metavar="PARCEL", help="The parcel at which the dump site stood.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="File for what was measured, as a scenario to paste into district.toml.",
)
@_SCENARIO
@_CACHE
@_JSON
def drill(  # noqa: PLR0913 — one argument an option is how click works
    *,
    log: Path,
    district: Path | None,
    parcel: str | None,
    out: Path | None,
    scenario: str | None,
    cache: Path | None,
    as_json: bool,
) -> None:
    """Say what the drill of LOG.csv measured, and why it held the flow that it held."""
    with _reporting() as progress:
        drilled = pipeline.drill(
            log,
            district=district,
            parcel=parcel,
            out=out,
            scenario=scenario,
            cache=cache,
            progress=progress,
        )
    click.echo(drilled.as_json() if as_json else drilled.as_text())


@main.command()
@_DISTRICT
@click.option(
    "--rules",
    default=pipeline.DEFAULT_RULES,
    show_default=True,
    metavar="NAME|FILE",
    help=f"The schedule: {', '.join(pipeline.rules_at_hand())}, or a TOML file.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the outputs. Default: out in the district's folder.",
)
@_SCENARIO
@_SET_ASIDE
@_CACHE
@_UNITS
@_JSON
def evidence(  # noqa: PLR0913 — one argument an option is how click works
    *,
    district: Path,
    rules: str,
    out: Path | None,
    scenario: str | None,
    set_aside: bool,
    cache: Path | None,
    units: str | None,
    as_json: bool,
) -> None:
    """Prepare evidence for a fire-insurance rating of DISTRICT; never a class."""
    with _reporting() as progress:
        prepared = pipeline.evidence(
            district,
            rules=rules,
            out=out,
            scenario=scenario,
            set_aside=set_aside,
            cache=cache,
            units=_system(units),
            progress=progress,
        )
    click.echo(prepared.as_json() if as_json else prepared.as_text())


@main.command()
@click.option("--markdown", is_flag=True, help="Print as the README has it.")
@_JSON
def columns(*, markdown: bool, as_json: bool) -> None:
    """Print the data dictionary: every column and every key, with unit, default and source."""
    entries = pipeline.columns()
    if as_json:
        click.echo(json.dumps([asdict(entry) for entry in entries], indent=2))
    else:
        click.echo(pipeline.as_markdown(entries) if markdown else pipeline.as_text(entries))


@main.command()
@_DISTRICT
@_OPTIONS
@click.option(
    "--option",
    multiple=True,
    metavar="NAME",
    help="An option of the file; a+b takes both together. Again for more. Default: all of them.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the outputs. Default: compare in the district's folder.",
)
@click.option("--open", "open_", is_flag=True, help="Open the map in the browser.")
@_SCENARIO
@_SET_ASIDE
@_CACHE
@_UNITS
@_BASE_MAP
@_JSON
def compare(  # noqa: PLR0913 — one argument an option is how click works
    *,
    district: Path,
    options: Path | None,
    option: tuple[str, ...],
    out: Path | None,
    open_: bool,
    scenario: str | None,
    set_aside: bool,
    cache: Path | None,
    units: str | None,
    base_map: bool,
    as_json: bool,
) -> None:
    """Set DISTRICT as it is beside what options would make of it, parcel by parcel."""
    with _reporting() as progress:
        done = pipeline.compare(
            district,
            options=options,
            option=option,
            out=out,
            scenario=scenario,
            set_aside=set_aside,
            cache=cache,
            units=_system(units),
            base_map=base_map,
            progress=progress,
        )
    _show(done, as_json=as_json, open_=open_)


@contextmanager
def _reporting() -> Iterator[Progress]:
    """Show each step on a terminal's last line; turn a fault of the input into exit code 1."""
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
        click.echo(f"haulshed: {fault}", err=True)
        sys.exit(AT_FAULT)


def _wipe() -> None:
    click.echo("\r\x1b[2K", err=True, nl=False)


def _bar(done: int, of: int) -> str:
    full = _BAR_WIDTH * done // of if of else 0
    return f"[{'#' * full}{'.' * (_BAR_WIDTH - full)}] {done / of:4.0%}" if of else "…"


def _system(units: str | None) -> System | None:
    return System(units) if units else None


def _show(done: pipeline.Run | pipeline.Compared, *, as_json: bool, open_: bool) -> None:
    """Print a finished run and open its map, if that is wanted."""
    click.echo(done.as_json() if as_json else done.as_text())
    if open_ and not webbrowser.open(done.map_file.resolve().as_uri()):
        click.echo(f"No browser found here. Open the map yourself: {done.map_file}", err=True)
