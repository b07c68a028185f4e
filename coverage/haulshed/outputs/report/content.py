"""The board report: the answer first, then where, why, how, and on what it rests."""

from collections.abc import Iterator

from haulshed.case import BASE_SCENARIO, CAUTION
from haulshed.outputs.paper_trail import origin_line
from haulshed.outputs.report.areas import HELD, by_area, were_drawn
from haulshed.outputs.report.basis import assumptions_told, defaulted_told, method_told, origin_told
from haulshed.outputs.report.blocks import Block, Heading, Paragraph, Picture, Report, Table
from haulshed.outputs.report.charts import answer_bar
from haulshed.outputs.report.firm import how_firm, to_quote
from haulshed.outputs.report.options import options_told, what_it_takes
from haulshed.outputs.report.told import Told, percent, share_of
from haulshed.outputs.report.where import (
    areas_told,
    causes_told,
    maps,
    supply_told,
)
from haulshed.outputs.wording import (
    LIMIT_MEANS,
    sentence,
)
from haulshed.tables.answers import LimitedBy, Verdict
from haulshed.units import System

#: Areas and causes that the first page names.
_NAMED = 5


def board_report(told: Told) -> Report:
    """Return the whole report."""
    inputs = told.result.inputs
    return Report(
        title=f"Water for every property: {inputs.name}",
        origin=origin_line(inputs.name, told.provenance),
        caution=CAUTION,
        paper="us-letter" if told.units is System.US else "a4",
        made=told.provenance.made,
        blocks=[
            *_answer(told),
            *maps(told),
            *areas_told(told),
            *causes_told(told),
            *options_told(told),
            *supply_told(told),
            *method_told(),
            *assumptions_told(told),
            *defaulted_told(told),
            *origin_told(told),
        ],
    )


def _answer(told: Told) -> Iterator[Block]:
    counts, total = told.counts, told.properties
    held = total - told.not_held
    named = (
        ""
        if told.provenance.scenario_name == BASE_SCENARIO
        else f" (scenario {told.provenance.scenario_name})"
    )
    yield Heading(text=f"The answer{named}", level=2)
    if not total:
        yield Paragraph(text="No property with a structure is known.", strong=True)
        return
    yield Paragraph(
        text=f"{share_of(held, total)} of {total:,} properties with a structure can be supplied"
        " with the flow that they need on paper: at constant times, with every unit there."
        f" {share_of(told.not_held, total)} cannot.",
        strong=True,
    )
    yield from to_quote(told)
    ways = ", ".join(f"{counts[verdict]:,} {_BY[verdict]}" for verdict in HELD if counts[verdict])
    yield Paragraph(
        text=f"Supplied on paper: {ways or 'none'}. Not supplied: {counts[Verdict.SHORT]:,} where"
        f" water can be hauled but not enough, {counts[Verdict.NONE]:,} where none can be hauled."
    )
    yield Picture(
        name="answer-bar",
        svg=answer_bar(counts),
        caption="Properties by answer.",
    )
    yield from how_firm(told)
    yield from _where_and_why(told)


def _where_and_why(told: Told) -> Iterator[Block]:
    yield Heading(text="Where not", level=3)
    table = by_area(told.result)
    worst = table[table["not_held"] > 0].head(_NAMED)
    drawn = were_drawn(told.result.parcels)
    yield Table(
        header=["Area", "Properties", "Not supplied", "Share", *["Held 9 in 10"] * drawn],
        rows=[
            [
                str(row["area"]),
                f"{row['properties']:,}",
                f"{row['not_held']:,}",
                percent(1 - row["share_held"]),
                *[share_of(row["held_90"], row["properties"])] * drawn,
            ]
            for _, row in worst.iterrows()
        ],
        numbers=frozenset((1, 2, 3, 4)),
        empty="Every property can be supplied.",
    )
    yield Heading(text="What it would take", level=3)
    yield Table(
        header=["Limited by", "Properties", "What that means"],
        rows=[
            [sentence(name), f"{count:,}", sentence(LIMIT_MEANS[LimitedBy(name)])]
            for name, count in list(told.causes.items())[:_NAMED]
        ],
        numbers=frozenset((1,)),
        empty="Nothing: every property can be supplied.",
    )
    yield from (Paragraph(text=words) for words in what_it_takes(told))


_BY = {
    Verdict.HOSE_LINE: "by a hose line from a fill site",
    Verdict.NURSE: "by a nurse operation",
    Verdict.DUMP_SITE: "by a dump site",
}
