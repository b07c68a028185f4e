"""How firm the answer is: what the clock holds, and what is held in 9 incidents of 10."""

from collections.abc import Iterator

import pandas as pd

from haulshed.outputs.report.areas import HAULED, held_90, were_drawn
from haulshed.outputs.report.blocks import Block, Paragraph
from haulshed.outputs.report.told import Told, share_of
from haulshed.tables.answers import Verdict


def to_quote(told: Told) -> Iterator[Block]:
    """Yield the figure to quote: what is held where times vary and units stay away."""
    held, draws = told.held_90, told.provenance.scenario.chance.draws
    if held is None:
        yield Paragraph(
            text="No incidents were drawn, so how many are held in 9 incidents of 10 is not known."
            " Draw some (chance.draws) before a figure is quoted.",
            strong=True,
        )
        return
    yield Paragraph(
        text=f"Held in 9 incidents of 10, with times that vary and units that stay away:"
        f" {share_of(held, told.properties)}. This is the figure to quote;"
        f" {draws:,} incidents were drawn for each property.",
        strong=True,
    )


def how_firm(told: Told) -> Iterator[Block]:
    """Yield what the clock and the draws say of those supplied on paper, and who is tight."""
    parcels = told.result.parcels
    supplied = told.properties - told.not_held
    if not supplied:
        return
    hauled = parcels[parcels["verdict"].isin([str(verdict) for verdict in HAULED])]
    parts = [_by_clock(hauled)] if len(hauled) else []
    if told.counts[Verdict.HOSE_LINE] and were_drawn(parcels):
        parts.append("Hose lines are not drawn; they are counted as held.")
    tight = int(parcels["tight"].sum())
    parts.append(
        f"Of all those supplied on paper, {share_of(tight, supplied)} are tight: not held with the"
        " largest tanker out, or with under 15 % to spare."
    )
    yield Paragraph(text=" ".join(parts))


def _by_clock(hauled: pd.DataFrame) -> str:
    held = hauled["held_from_min"].notna()
    gaps = held & (hauled["longest_gap_min"] > 0)
    told = (
        f"Of the {len(hauled):,} by nurse operation or dump site the clock, at constant times,"
        f" holds {(held & ~gaps).sum():,} without a gap, {gaps.sum():,} after gaps, for the last"
        f" hour at least, and does not hold {(~held).sum():,}"
    )
    if not were_drawn(hauled):
        return f"{told}."
    return f"{told}; {held_90(hauled).sum():,} are held in 9 incidents of 10."
