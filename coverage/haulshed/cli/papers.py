"""The commands that make papers: evidence for a rater."""

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
