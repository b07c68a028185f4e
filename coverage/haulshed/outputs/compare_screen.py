"""What a comparison prints."""

import textwrap
from pathlib import Path

from haulshed.case import CAUTION
from haulshed.options.compare import Comparison, Figures, Way
from haulshed.outputs.wording import Wording
from haulshed.units import System

_WIDTH = 98


def comparison_text(comparison: Comparison, *, map_file: Path, units: System) -> str:
    """Return what each option brings, what it costs, and what still holds the rest down."""
    base = comparison.base
    lines = [f"{base.inputs.name}: {len(base.parcels):,} parcels, as it is and with options"]
    for way in comparison.ways:
        lines += ["", *way_lines(way, Wording(system=units))]
    return "\n".join([*lines, "", *textwrap.wrap(CAUTION, _WIDTH), "", f"Map: {map_file}"])


def way_lines(way: Way, wording: Wording) -> list[str]:
    """Return one option's figures, line by line."""
    told = way.figures
    lines = [f"{told.title} ({told.option})"]
    blocks = [
        f"Costs {money(told.capital)} once, {money(told.cost_a_year)} a year all in"
        + _per_parcel(told),
        "Lifted to the needed flow: " + _lifted(told),
        _gained(told, wording),
        *_by_chance(told),
        f"Answers that move: {_moves(told)}",
        *([f"Still short or none, limited by: {_limits(told)}"] if told.limits_of_the_rest else []),
        *(f"Note: {note}" for note in told.notes),
        *([f"Verify: {way.option.verify}"] if way.option.verify else []),
    ]
    for block in blocks:
        lines += textwrap.wrap(block, _WIDTH, initial_indent="  ", subsequent_indent="    ")
    return lines


def money(amount: float) -> str:
    """
    Return a sum in the district's currency, which nobody names.

    Examples
    --------
    >>> money(12345.6), money(-20.0)
    ('12,346', '−20')
    """
    return f"{amount:,.0f}".replace("-", "−")


def _per_parcel(told: Figures) -> str:
    if told.capital_per_parcel is None or told.cost_a_year_per_parcel is None:
        return ""
    once, a_year = money(told.capital_per_parcel), money(told.cost_a_year_per_parcel)
    return f"; for each parcel lifted {once} once, {a_year} a year all in"


def _lifted(told: Figures) -> str:
    up = told.lifted
    unknown = f" ({up.value_not_known:,} not known)" if up.value_not_known else ""
    words = (
        f"parcels {up.parcels:,}, structures {up.structures:,}, people {up.people:,.0f},"
        f" assessed value {money(up.value)}{unknown}"
    )
    if told.lost.parcels:
        words += f"; no longer held: parcels {told.lost.parcels:,}, people {told.lost.people:,.0f}"
    return words


def _gained(told: Figures, wording: Wording) -> str:
    if told.median_gain_gpm is None:
        return "No parcel gains flow"
    median = wording.whole(told.median_gain_gpm, "gpm")
    missing = wording.whole(told.short_removed_gpm, "gpm")
    return (
        f"Parcels that gain flow: {told.parcels_that_gain:,}, half of them {median} or more; at all"
        f" parcels together {missing} less is missing"
    )


def _by_chance(told: Figures) -> list[str]:
    if told.by_chance_after is None:
        return []
    return [
        (
            "Where times vary and units stay away, parcels that hold their need in 9 incidents"
            f" of 10: {told.by_chance_after:,} instead of {told.by_chance_before or 0:,}"
        )
    ]


def _moves(told: Figures) -> str:
    moved = [
        f"{before} → {after} {count:,}"
        for before, row in told.moves.items()
        for after, count in row.items()
        if before != after
    ]
    return ", ".join(moved) or "none"


def _limits(told: Figures) -> str:
    return ", ".join(f"{name} {count:,}" for name, count in told.limits_of_the_rest.items())
