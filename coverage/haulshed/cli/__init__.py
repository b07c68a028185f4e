"""The command line: parses, calls the pipeline, prints. It decides nothing."""

import json
from dataclasses import asdict
from pathlib import Path

import click

from haulshed import pipeline
from haulshed.cli.district import check, new
from haulshed.cli.papers import evidence, report, sheet
from haulshed.cli.run import run
from haulshed.cli.shared import (
    BASE_MAP,
    CACHE,
    DISTRICT,
    JSON,
    OPTIONS,
    SCENARIO,
    SET_ASIDE,
    UNITS,
    reporting,
    show,
    system,
)
from haulshed.cli.weigh import choose


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
@SCENARIO
@CACHE
@UNITS
@BASE_MAP
@JSON
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
    with reporting(as_json=as_json) as progress:
        done = pipeline.demo(
            out=out,
            scenario=scenario,
            cache=cache,
            units=system(units),
            base_map=base_map,
            progress=progress,
        )
    show(done, as_json=as_json, open_=open_)


@main.command()
@DISTRICT
@click.argument("parcel")
@click.option("--clock", is_flag=True, help="Play the incident from dispatch on instead.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="File for the picture of the played incident, FILE.svg.",
)
@SCENARIO
@SET_ASIDE
@CACHE
@UNITS
@JSON
def explain(  # noqa: PLR0913 — one argument an option is how click works
    *,
    district: Path,
    parcel: str,
    clock: bool,
    out: Path | None,
    scenario: str | None,
    set_aside: bool,
    cache: Path | None,
    units: str | None,
    as_json: bool,
) -> None:
    """Print the whole computation for one PARCEL of DISTRICT, to be followed with a pencil."""
    with reporting(as_json=as_json) as progress:
        told = pipeline.explain(
            district,
            parcel,
            clock=clock,
            out=out,
            scenario=scenario,
            set_aside=set_aside,
            cache=cache,
            units=system(units),
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
@SCENARIO
@CACHE
@JSON
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
    with reporting(as_json=as_json) as progress:
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
@click.option("--markdown", is_flag=True, help="Print as the README has it.")
@JSON
def columns(*, markdown: bool, as_json: bool) -> None:
    """Print the data dictionary: every column and every key, with unit, default and source."""
    entries = pipeline.columns()
    if as_json:
        click.echo(json.dumps([asdict(entry) for entry in entries], indent=2))
    else:
        click.echo(pipeline.as_markdown(entries) if markdown else pipeline.as_text(entries))


@main.command()
@DISTRICT
@OPTIONS
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
@SCENARIO
@SET_ASIDE
@CACHE
@UNITS
@BASE_MAP
@JSON
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
    with reporting(as_json=as_json) as progress:
        done = pipeline.compare(
            district,
            options=options,
            option=option,
            out=out,
            scenario=scenario,
            set_aside=set_aside,
            cache=cache,
            units=system(units),
            base_map=base_map,
            progress=progress,
        )
    show(done, as_json=as_json, open_=open_)


for one in (new, check, choose, evidence, report, sheet, run):
    main.add_command(one)
