"""The head of an explanation: the answer on paper, by the clock and by chance."""

from collections.abc import Iterator

from haulshed.assess.explain import Explanation
from haulshed.outputs.wording import minute
from haulshed.scenario import Scenario
from haulshed.tables.answers import Verdict


def answer_lines(told: Explanation) -> list[str]:
    """Return the answer: flows at constant times, what the clock says of them, and chance."""
    row = told.answer
    lines = [
        f"Parcel {told.parcel_id}: {row['verdict']}",
        (
            f"  needed {figure_text(row['needed_gpm'], 0)} gpm;"
            f" on paper: nurse {figure_text(row['nurse_gpm'], 1)} gpm,"
            f" dump site {figure_text(row['dump_site_gpm'], 1)} gpm;"
            f" sustained {figure_text(row['sustained_gpm'], 1)} gpm"
        ),
        *_judged(told),
        f"  hauled water limited by: {row['limited_by']}",
    ]
    if row["hose_site_id"] is not None:
        lines.append(
            f"  hose line from {row['hose_site_id']}: {figure_text(row['hose_site_ft'], 0)} ft by"
            f" road, {figure_text(row['hose_gpm'], 0)} gpm"
        )
    if isinstance(row["last_tanker_min"], float):
        lines.append(f"  not before minute {minute(row['last_tanker_min'])} after dispatch")
    return [*lines, *_by_clock(told), *_by_chance(told)]


def figure_text(value: object, digits: int) -> str:
    """Return a figure with so many decimals; none where there is none."""
    return f"{value:,.{digits}f}" if isinstance(value, int | float) else "none"


def _judged(told: Explanation) -> Iterator[str]:
    """Yield the flows that the verdict rests on, where it is judged over another time."""
    planned_min = Scenario.model_validate(told.scenario).operation.duration_min
    over = [stage for stage in told.stages if stage.over_min != planned_min]
    if over and told.answer["test_min"] is not None:
        flows = ", ".join(
            f"{stage.stage.replace('_', ' ')} {figure_text(stage.flow_gpm, 1)} gpm"
            for stage in over
        )
        yield (
            f"  that is over {planned_min:,.0f} min; judged over"
            f" {figure_text(told.answer['test_min'], 0)} min: {flows}"
        )


def _by_clock(told: Explanation) -> Iterator[str]:
    """Yield whether the clock holds the need for hauled water, and what is missing."""
    row = told.answer
    if row["needed_gpm"] is None or row["first_water_min"] is None:
        return
    hauled = ", if hauled to," if row["verdict"] == Verdict.HOSE_LINE else ""
    missing = (
        f"longest gap {figure_text(row['longest_gap_min'], 1)} min,"
        f" {figure_text(row['short_gal'], 0)} gal missing"
    )
    held_min = row["held_from_min"]
    if not isinstance(held_min, float):
        held = f"NOT held: {missing}"
    else:
        after_gaps = f"only: {missing}" if row["longest_gap_min"] else "on"
        held = f"held from minute {minute(held_min)} {after_gaps}"
    yield f"  by the clock{hauled} the need is {held}"


def _by_chance(told: Explanation) -> Iterator[str]:
    row = told.answer
    if row["held_90_gpm"] is None:
        yield "  no incidents drawn (chance.draws = 0): what 9 in 10 give is not known"
    elif row["sustained_gpm"]:
        share = row["held_share"]
        held = f", need held in {100 * share:.0f} %" if isinstance(share, float) else ""
        yield f"  9 incidents in 10 drawn give {figure_text(row['held_90_gpm'], 1)} gpm{held}"
