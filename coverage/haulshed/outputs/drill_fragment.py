"""What a drill measured as a scenario to paste into ``district.toml``."""

import math
import textwrap
from collections.abc import Iterator

from haulshed.case import CAUTION
from haulshed.crosscheck.calibrate import Drill
from haulshed.crosscheck.drill_rows import Row
from haulshed.outputs.drill_page import interval_text
from haulshed.outputs.whole_file import MADE_BY
from haulshed.scenario import Scenario

#: Name of the scenario.
NAME = "drill"

_WIDTH = 98
_HANDLING = {
    "handling at the fill site": "fill_handling_min",
    "handling at the dump site": "dump_handling_min",
}
_RATES = {"fill rate": "fill_gpm", "dump rate": "dump_gpm"}


def fragment_toml(drill: Drill, scenario: Scenario) -> str:
    """Return the fragment; `scenario` is what was assumed, whose speeds it scales."""
    lines = [
        f"# {MADE_BY} from a drill of {drill.lasted_min:,.0f} min: {', '.join(drill.units)}.",
        "# Paste it at the end of district.toml and run with --scenario drill.",
        *(f"# {line}" for line in textwrap.wrap(CAUTION, _WIDTH)),
        "",
        f"[scenario.{NAME}.operation]",
        *_operation(drill),
        *_roads(drill, scenario),
        *_tables(drill),
    ]
    return "\n".join(lines) + "\n"


def _operation(drill: Drill) -> Iterator[str]:
    for row in drill.rows:
        if row.what in _HANDLING and not row.of:
            yield f"# {interval_text(row.measured)}"
            yield f"{_HANDLING[row.what]} = {max(row.measured.mean, 0.0):.2f}"
    if not math.isnan(drill.loss_share):
        yield "# share of the tanks that was not unloaded"
        yield f"loss_share = {drill.loss_share:.3f}"


def _roads(drill: Drill, scenario: Scenario) -> Iterator[str]:
    roads, factor = scenario.roads, drill.speed_factor
    by_mile, by_speed = not math.isnan(drill.min_per_mile), not math.isnan(factor)
    if by_mile or by_speed:
        yield from ("", f"[scenario.{NAME}.roads]")
    if by_mile:
        yield '# used by method = "road_distance" only'
        yield f"road_distance_min_per_mile = {drill.min_per_mile:.3f}"
    if by_speed:
        yield f"# the drill drove at {factor:.3f} times the speeds of the model; posted limits stay"
        yield f"max_mph = {roads.max_mph * factor:.1f}"
        yield from ("", f"[scenario.{NAME}.roads.speed_mph]")
        for road_class, mph in roads.speed_mph:
            yield f"{road_class} = {mph * factor:.1f}"


def _tables(drill: Drill) -> Iterator[str]:
    """Yield what belongs in the tables, as comments."""
    by_site = [row for row in drill.rows if row.of and row.what in _HANDLING]
    by_unit = [row for row in drill.rows if row.of and row.what in _RATES]
    if by_site:
        yield from (
            "",
            "# For the table of fill sites, where a site has a handling_min of its own:",
        )
        yield from (_for_table(row, "handling_min", ".2f") for row in by_site)
    if by_unit:
        yield from (
            "",
            "# For the table of apparatus (a fill rate is also bound by the fill site):",
        )
        yield from (_for_table(row, _RATES[row.what], ".0f") for row in by_unit)


def _for_table(row: Row, column: str, form: str) -> str:
    return f"#   {row.of}: {column} {row.measured.mean:{form}}  ({interval_text(row.measured)})"
