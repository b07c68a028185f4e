"""The commands that make a district and look at it."""

import sys
from pathlib import Path

import click

from haulshed import pipeline
from haulshed.cli.shared import AT_FAULT, CACHE, DISTRICT, JSON, SCENARIO, SET_ASIDE, reporting


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--roads",
    type=click.Path(path_type=Path),
    help="OpenStreetMap extract: .osm, .osm.gz, .osm.bz2 or .osm.pbf.",
)
@click.option("--place", help="Download the map of this place instead, such as 'Larkmoor, Ohio'.")
@click.option(
    "--bbox",
    type=float,
    nargs=4,
    metavar="WEST SOUTH EAST NORTH",
    help="Download the map of this box instead, in degrees.",
)
@click.option(
    "--boundary",
    type=click.Path(path_type=Path),
    help="File with the outline. Default: an administrative area of the extract, or its box.",
)
@click.option(
    "--parcels",
    type=click.Path(path_type=Path),
    help="File with the parcels. Default: one a building, or an address without one.",
)
@click.option(
    "--name",
    default="",
    help="Of the district; an administrative area of that name is its outline.",
)
@CACHE
@JSON
def new(  # noqa: PLR0913 — one argument an option is how click works
    *,
    folder: Path,
    roads: Path | None,
    place: str | None,
    bbox: tuple[float, float, float, float] | None,
    boundary: Path | None,
    parcels: Path | None,
    name: str,
    cache: Path | None,
    as_json: bool,
) -> None:
    """Make a district in FOLDER from an OpenStreetMap extract or download. Overwrites nothing."""
    if sum(one is not None for one in (roads, place, bbox)) != 1:
        msg = "Give one of --roads, --place and --bbox."
        raise click.UsageError(msg)
    with reporting(as_json=as_json) as progress:
        made = pipeline.new(
            folder,
            roads=roads,
            place=place,
            bbox=bbox,
            boundary=boundary,
            parcels=parcels,
            name=name,
            cache=cache,
            progress=progress,
        )
    click.echo(made.as_json() if as_json else made.as_text())


@click.command()
@DISTRICT
@SCENARIO
@SET_ASIDE
@CACHE
@click.option(
    "--map",
    "map_file",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Draw the doubtful places on a map, FILE.html.",
)
@JSON
def check(
    *,
    district: Path,
    scenario: str | None,
    set_aside: bool,
    cache: Path | None,
    map_file: Path | None,
    as_json: bool,
) -> None:
    """Say what is wrong, doubtful and assumed in DISTRICT's files. Writes nothing but the map."""
    with reporting(as_json=as_json) as progress:
        found = pipeline.check(
            district,
            scenario=scenario,
            set_aside=set_aside,
            cache=cache,
            map_file=map_file,
            progress=progress,
        )
    click.echo(found.as_json() if as_json else found.as_text())
    if found.wrong:
        sys.exit(AT_FAULT)
