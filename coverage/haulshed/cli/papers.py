"""The commands that make papers: board report, evidence for a rater, sheets for the crew."""

from pathlib import Path

import click

from haulshed import pipeline
from haulshed.cli.shared import CACHE, DISTRICT, JSON, SCENARIO, SET_ASIDE, UNITS, reporting, system


@click.command()
@DISTRICT
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
@SCENARIO
@SET_ASIDE
@CACHE
@UNITS
@JSON
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
    with reporting(as_json=as_json) as progress:
        prepared = pipeline.evidence(
            district,
            rules=rules,
            out=out,
            scenario=scenario,
            set_aside=set_aside,
            cache=cache,
            units=system(units),
            progress=progress,
        )
    click.echo(prepared.as_json() if as_json else prepared.as_text())


@click.command()
@DISTRICT
@click.argument("parcels", metavar="PARCEL…", nargs=-1)
@click.option("--all-short", is_flag=True, help="Every property with the verdict short.")
@click.option(
    "--area",
    metavar="NAME",
    help="Every property in this area; with --all-short, the short ones in it. An area is what the"
    " parcels' column area says, else the station of the first engine.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="A file that ends in .pdf, or a folder. Default: out in the district's folder.",
)
@click.option("--each", is_flag=True, help="Write one file a property too, into sheets/.")
@click.option(
    "--phone", is_flag=True, help="Narrow pages, as long as they need to be, instead of paper."
)
@SCENARIO
@SET_ASIDE
@CACHE
@UNITS
@JSON
def sheet(  # noqa: PLR0913 — one argument an option is how click works
    *,
    district: Path,
    parcels: tuple[str, ...],
    all_short: bool,
    area: str | None,
    out: Path | None,
    each: bool,
    phone: bool,
    scenario: str | None,
    set_aside: bool,
    cache: Path | None,
    units: str | None,
    as_json: bool,
) -> None:
    """Write a page for the crew of each PARCEL of DISTRICT: the way to water, call order, hose."""
    if not (parcels or all_short or area is not None):
        msg = "Name at least one PARCEL, or give --all-short or --area."
        raise click.UsageError(msg)
    with reporting(as_json=as_json) as progress:
        written = pipeline.sheet(
            district,
            chosen=pipeline.Properties(parcels=parcels, all_short=all_short, area=area),
            out=out,
            each=each,
            phone=phone,
            scenario=scenario,
            set_aside=set_aside,
            cache=cache,
            units=system(units),
            progress=progress,
        )
    click.echo(written.as_json() if as_json else written.as_text())


@click.command()
@DISTRICT
@click.option(
    "--compared",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of a comparison to take in. Default: compare in the district's folder.",
)
@click.option(
    "--plan",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of a choice to take in. Default: choose in the district's folder.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the outputs. Default: out in the district's folder.",
)
@SCENARIO
@SET_ASIDE
@CACHE
@UNITS
@JSON
def report(  # noqa: PLR0913 — one argument an option is how click works
    *,
    district: Path,
    compared: Path | None,
    plan: Path | None,
    out: Path | None,
    scenario: str | None,
    set_aside: bool,
    cache: Path | None,
    units: str | None,
    as_json: bool,
) -> None:
    """Write the board report of DISTRICT: the answer on one page, then maps, tables, method."""
    with reporting(as_json=as_json) as progress:
        reported = pipeline.report(
            district,
            compared=compared,
            plan=plan,
            out=out,
            scenario=scenario,
            set_aside=set_aside,
            cache=cache,
            units=system(units),
            progress=progress,
        )
    click.echo(reported.as_json() if as_json else reported.as_text())
