"""The command that chooses among options."""

from pathlib import Path

import click

from haulshed import pipeline
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


@click.command()
@DISTRICT
@OPTIONS
@click.option("--budget", type=click.FloatRange(min=0), help="What a plan may cost at most.")
@click.option(
    "--budget-of",
    type=click.Choice([money.value for money in pipeline.Money]),
    default=pipeline.Money.CAPITAL.value,
    show_default=True,
    help="The cost that the budget is held against: capital, or yearly, all in.",
)
@click.option("--count", type=click.IntRange(min=1), help="How many options it may have at most.")
@click.option(
    "--objective",
    type=click.Choice([one.value for one in pipeline.Objective]),
    default=pipeline.Objective.PARCELS.value,
    show_default=True,
    help="Held parcels, people or value; gpm missing; equity: the worst served first.",
)
@click.option(
    "--no-candidates", is_flag=True, help="Weigh the file's options alone, no candidates."
)
@click.option("--quick", is_flag=True, help="Do not try the plan under other conditions.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the outputs. Default: choose in the district's folder.",
)
@click.option("--open", "open_", is_flag=True, help="Open the map in the browser.")
@SCENARIO
@SET_ASIDE
@CACHE
@UNITS
@BASE_MAP
@JSON
def choose(  # noqa: PLR0913 — one argument an option is how click works
    *,
    district: Path,
    options: Path | None,
    budget: float | None,
    budget_of: str,
    count: int | None,
    objective: str,
    no_candidates: bool,
    quick: bool,
    out: Path | None,
    open_: bool,
    scenario: str | None,
    set_aside: bool,
    cache: Path | None,
    units: str | None,
    base_map: bool,
    as_json: bool,
) -> None:
    """Find the plan for DISTRICT that brings most within a budget or a count of options."""
    with reporting(as_json=as_json) as progress:
        done = pipeline.choose(
            district,
            options=options,
            budget=budget,
            budget_of=pipeline.Money(budget_of),
            count=count,
            objective=pipeline.Objective(objective),
            candidates=not no_candidates,
            robust=not quick,
            out=out,
            scenario=scenario,
            set_aside=set_aside,
            cache=cache,
            units=system(units),
            base_map=base_map,
            progress=progress,
        )
    show(done, as_json=as_json, open_=open_)
