"""What the board report says: the answer first, then where, why, how, and on what it rests."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from haulshed.assess.findings import Findings, Weight
from haulshed.case import BASE_SCENARIO, CAUTION, Provenance, Result
from haulshed.options.told import OptionTold
from haulshed.outputs.dictionary import dictionary
from haulshed.outputs.paper_trail import made_on, origin_line, short_hashes
from haulshed.outputs.report.areas import HELD, NOT_HELD, by_area, by_own_areas
from haulshed.outputs.report.blocks import Block, Heading, Lines, Paragraph, Picture, Report, Table
from haulshed.outputs.report.charts import DRAWN, answer_bar, cause_bars, held_curve
from haulshed.outputs.report.district_map import answers_map, flow_map
from haulshed.outputs.report.method import FORMULAS, METHOD, SOURCES
from haulshed.outputs.wording import (
    FLOW_STEPS,
    KIND_WORDS,
    LIMIT_MEANS,
    VERDICT_MEANS,
    Wording,
    sentence,
)
from haulshed.tables.answers import LimitedBy, Verdict
from haulshed.tables.fill_sites import SiteKind
from haulshed.units import UNITS, System, factor_between

#: A share that rounds to nothing, though it is something.
_LEAST_SHARE = 0.005
#: Areas and causes that the first page names.
_NAMED = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """All that a report is written from."""

    result: Result
    provenance: Provenance
    findings: Findings
    options: Sequence[OptionTold]  #: of a comparison, if one was made of the same inputs
    units: System

    @property
    def counts(self) -> Mapping[str, int]:
        """Properties by answer; those without a structure are not counted."""
        verdicts = self.result.parcels["verdict"].astype(str)
        return {verdict: int((verdicts == verdict).sum()) for verdict in DRAWN}

    @property
    def properties(self) -> int:
        """Properties with something to protect."""
        return sum(self.counts.values())

    @property
    def not_held(self) -> int:
        """Those of them that cannot be supplied."""
        return sum(self.counts[verdict] for verdict in NOT_HELD)

    @property
    def causes(self) -> Mapping[str, int]:
        """What limits those that cannot be supplied, most frequent first."""
        parcels = self.result.parcels
        failed = parcels["verdict"].isin([str(verdict) for verdict in NOT_HELD])
        counts = parcels.loc[failed, "limited_by"].astype(str).value_counts()
        names = sorted(counts.index, key=lambda name: (-counts[name], name))
        return {name: int(counts[name]) for name in names}


def board_report(told: Told) -> Report:
    """Return the whole report."""
    inputs = told.result.inputs
    return Report(
        title=f"Water for every property: {inputs.name}",
        origin=origin_line(inputs.name, told.provenance),
        hashes=f"Inputs (beginning of each SHA-256): {short_hashes(told.provenance)}",
        caution=CAUTION,
        paper="us-letter" if told.units is System.US else "a4",
        made=told.provenance.made,
        blocks=[
            *_answer(told),
            *_maps(told),
            *_by_area(told),
            *_by_cause(told),
            *_options(told),
            *_supply(told),
            *_method(),
            *_assumptions(told),
            *_defaulted(told),
            *_origin(told),
        ],
    )


def percent(share: float) -> str:
    """
    Return a share in whole per cent; one that is not nothing is never shown as nothing.

    Examples
    --------
    >>> percent(0.5), percent(0.001), percent(0.999), percent(1.0)
    ('50 %', '< 1 %', '> 99 %', '100 %')
    """
    if 0 < share < _LEAST_SHARE:
        return "< 1 %"
    if 1 - _LEAST_SHARE < share < 1:
        return "> 99 %"
    return f"{share:.0%}".replace("%", " %")


def _share(count: int, of: int) -> str:
    return f"{count:,} ({percent(count / of)})" if of else f"{count:,}"


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
        text=f"{_share(held, total)} of {total:,} properties with a structure can be supplied with"
        f" the flow that they need; {_share(told.not_held, total)} cannot.",
        strong=True,
    )
    ways = ", ".join(f"{counts[verdict]:,} {_BY[verdict]}" for verdict in HELD if counts[verdict])
    yield Paragraph(
        text=f"Supplied: {ways or 'none'}. Not supplied: {counts[Verdict.SHORT]:,} where water can"
        f" be hauled but not enough, {counts[Verdict.NONE]:,} where none can be hauled."
    )
    yield Picture(
        name="answer-bar",
        svg=answer_bar(counts),
        caption="Properties by answer.",
    )
    yield from _firm(told, held)
    yield Heading(text="Where not", level=3)
    table = by_area(told.result)
    worst = table[table["not_held"] > 0].head(_NAMED)
    yield Table(
        header=["Area", "Properties", "Not supplied", "Share"],
        rows=[
            [
                str(row["area"]),
                f"{row['properties']:,}",
                f"{row['not_held']:,}",
                percent(1 - row["share_held"]),
            ]
            for _, row in worst.iterrows()
        ],
        numbers=frozenset((1, 2, 3)),
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
    yield Paragraph(text=_best_option(told))


_BY = {
    Verdict.HOSE_LINE: "by a hose line from a fill site",
    Verdict.NURSE: "by a nurse operation",
    Verdict.DUMP_SITE: "by a dump site",
}


def _firm(told: Told, held: int) -> Iterator[Block]:
    tight = int(told.result.parcels["tight"].sum())
    if held:
        yield Paragraph(
            text=f"Of those supplied, {_share(tight, held)} are tight: not held with the largest"
            " tanker out, or with under 15 % to spare."
        )


def _best_option(told: Told) -> str:
    lifted = [option for option in told.options if option.lifted > 0]
    if not told.options:
        return (
            "No options were compared. Write them into options.toml and run haulshed compare; what"
            " each would lift and cost then stands here."
        )
    if not lifted:
        return f"Of {len(told.options)} options compared none lifts a property to its needed flow."
    best = min(lifted, key=lambda option: option.capital / option.lifted)
    most = max(lifted, key=lambda option: option.lifted)
    return (
        f"Of {len(told.options)} options compared, {best.title} costs least for each property"
        f" lifted ({best.capital / best.lifted:,.0f} once, {best.lifted:,} lifted);"
        f" {most.title} lifts most ({most.lifted:,}, {most.capital:,.0f} once)."
    )


def _maps(told: Told) -> Iterator[Block]:
    yield Heading(text="Maps", level=1)
    yield Picture(
        name="answers-map",
        svg=answers_map(told.result, told.units, name="answers-map"),
        caption="Each property by its answer. Hatched and crossed ones cannot be supplied.",
        page=True,
    )
    yield Picture(
        name="flow-map",
        svg=flow_map(told.result, told.units, name="flow-map"),
        caption="Roads by the flow that hauled water holds there, with a hose lay of 50 ft.",
        page=True,
    )


def _by_area(told: Told) -> Iterator[Block]:
    table, wording = by_area(told.result), Wording(system=told.units)
    yield Heading(text="By area", level=2)
    yield Paragraph(
        text="Areas are those of the parcels' table."
        if by_own_areas(told.result)
        else "The parcels' table names no areas: properties are counted by the station from which"
        " the first engine comes."
    )
    words = [*HELD, *NOT_HELD]
    yield Table(
        header=[
            "Area",
            "Properties",
            *(sentence(word) for word in words),
            "Supplied",
            "Tight",
            "Half hold",
        ],
        rows=[
            [
                str(row["area"]),
                f"{row['properties']:,}",
                *(f"{row[str(word)]:,}" for word in words),
                percent(row["share_held"]),
                f"{row['tight']:,}",
                "" if np.isnan(row["median_gpm"]) else wording.flow(float(row["median_gpm"])),
            ]
            for _, row in table.iterrows()
        ],
        numbers=frozenset(range(1, len(words) + 5)),
        empty="No property with a structure is known.",
    )
    yield Paragraph(
        text="Half hold: the hauled flow that half of the properties not reached by a hose line"
        f" hold or more, rounded down to {wording.flow_step}."
    )


def _by_cause(told: Told) -> Iterator[Block]:
    yield Heading(text="By cause", level=2)
    yield Paragraph(text="What holds the flow down at the properties that cannot be supplied.")
    if told.causes:
        yield Picture(
            name="cause-bars",
            svg=cause_bars(list(told.causes.items())),
            caption="Properties that cannot be supplied, by what limits them.",
        )
    yield Table(
        header=["Limited by", "Properties", "Share", "What that means"],
        rows=[
            [
                sentence(name),
                f"{count:,}",
                percent(count / told.not_held),
                sentence(LIMIT_MEANS[LimitedBy(name)]),
            ]
            for name, count in told.causes.items()
        ],
        numbers=frozenset((1, 2)),
        empty="Every property can be supplied.",
    )
    yield Heading(text="What the answers mean", level=3)
    yield Table(
        header=["Answer", "Properties", "Means"],
        rows=[
            [sentence(verdict), f"{told.counts[verdict]:,}", sentence(VERDICT_MEANS[verdict])]
            for verdict in DRAWN
        ],
        numbers=frozenset((1,)),
    )
    yield Heading(text="Flow held and needed", level=3)
    step = FLOW_STEPS[Wording(system=told.units).unit("gpm")]
    factor = factor_between("gpm", Wording(system=told.units).unit("gpm"))
    built = told.result.parcels[told.result.parcels["verdict"].astype(str) != Verdict.NO_DEMAND]
    yield Picture(
        name="held-curve",
        svg=held_curve(
            built["sustained_gpm"].to_numpy(dtype=np.float64) * factor,
            built["needed_gpm"].to_numpy(dtype=np.float64) * factor,
            UNITS[Wording(system=told.units).unit("gpm")].symbol,
            step,
        ),
        caption="Share of properties at which hauled water holds a flow, and that need it.",
    )


def _options(told: Told) -> Iterator[Block]:
    yield Heading(text="Options and their cost", level=2)
    if not told.options:
        yield Paragraph(text=_best_option(told))
        return
    yield Paragraph(
        text="Each option alone against the district as it is; costs are those of the options file,"
        " in its currency."
    )
    yield Table(
        header=[
            "Option",
            "Once",
            "A year",
            "Lifted",
            "People",
            "No longer held",
            "Once, each lifted",
        ],
        rows=[
            [
                option.title,
                f"{option.capital:,.0f}",
                f"{option.cost_a_year:,.0f}",
                f"{option.lifted:,}",
                f"{option.people:,.0f}",
                f"{option.lost:,}",
                f"{option.capital / option.lifted:,.0f}" if option.lifted else "",
            ]
            for option in told.options
        ],
        numbers=frozenset(range(1, 7)),
    )
    notes = [[option.title, note] for option in told.options for note in option.notes]
    if notes:
        yield Table(header=["Option", "Note"], rows=notes)


def _supply(told: Told) -> Iterator[Block]:
    wording, result = Wording(system=told.units), told.result
    yield Heading(text="Fill sites and apparatus", level=2)
    yield Table(
        header=["Fill site", "Name", "Kind", "Gives", "Reached", "Best for", "Not used because"],
        rows=[
            [
                str(row["site_id"]),
                str(row["name"]),
                sentence(KIND_WORDS[SiteKind(row["kind"])]),
                "" if np.isnan(row["rate_gpm"]) else wording.flow(float(row["rate_gpm"])),
                f"{row['parcels_reached']:,}",
                f"{row['parcels_best']:,}",
                "" if pd.isna(row["why_not"]) else str(row["why_not"]),
            ]
            for _, row in result.fill_sites.iterrows()
        ],
        numbers=frozenset((3, 4, 5)),
        empty="No fill site is known.",
    )
    yield Paragraph(text="Reached, best for: properties that it reaches, and carries most for.")
    names = result.stations.set_index("station_id")["name"].to_dict()
    yield Table(
        header=["Unit", "Kind", "Station", "Tank", "Pump", "Hose", "Alarm"],
        rows=[
            [
                str(row["unit_id"]),
                sentence(str(row["kind"])),
                str(names.get(row["station_id"]) or row["station_id"]),
                wording.whole(float(row["tank_gal"]), "gal"),
                wording.whole(float(row["pump_gpm"]), "gpm"),
                wording.whole(float(row["supply_hose_ft"]), "ft"),
                f"{row['alarm']}",
            ]
            for _, row in result.inputs.apparatus.iterrows()
        ],
        numbers=frozenset((3, 4, 5, 6)),
        empty="No apparatus is known.",
    )


def _method() -> Iterator[Block]:
    yield Heading(text="Method", level=1)
    for text in METHOD:
        yield Paragraph(text=text)
    yield Lines(lines=FORMULAS)
    yield Heading(text="Published sources", level=3)
    yield Table(header=["What", "Source"], rows=SOURCES)


def _assumptions(told: Told) -> Iterator[Block]:
    yield Heading(text="Assumptions and their sources", level=2)
    yield Paragraph(
        text="Every figure that the model takes for granted. A value that the district set itself"
        " is marked with *; the source is that of the default."
    )
    scenario = told.provenance.scenario.model_dump(mode="json")
    rows = []
    for entry in dictionary():
        if entry.part.startswith("["):
            value = _value(scenario, f"{entry.part.strip('[]')}.{entry.name}")
            own = "" if value == entry.needs.removesuffix(".0") else " *"
            unit = f" {entry.unit}" if entry.unit else ""
            rows.append([entry.meaning.partition(" [")[0], f"{value}{unit}{own}", entry.source])
    yield Table(header=["Assumption", "Value", "Source of the default"], rows=rows)


def _value(scenario: Mapping[str, object], path: str) -> str:
    found: object = scenario
    for part in path.split("."):
        found = found[part] if isinstance(found, Mapping) else None
    if isinstance(found, bool):
        return str(found).lower()
    if isinstance(found, float) and found.is_integer():
        return str(int(found))
    if isinstance(found, list):
        return "[" + ", ".join(map(str, found)) + "]"
    return "none" if found is None else str(found)


def _defaulted(told: Told) -> Iterator[Block]:
    yield Heading(text="What was defaulted, and what is doubtful", level=2)
    for weight, empty in (
        (Weight.ASSUMED, "Nothing was defaulted."),
        (Weight.DOUBTFUL, "Nothing looks doubtful."),
    ):
        yield Heading(text="Defaulted" if weight is Weight.ASSUMED else "Doubtful", level=3)
        yield Table(
            header=["What", "How many", "What would mend it"],
            rows=[
                [sentence(one.what), f"{one.count:,} of {one.of:,}", one.cure]
                for one in told.findings.findings
                if one.weight is weight
            ],
            numbers=frozenset((1,)),
            empty=empty,
        )


def _origin(told: Told) -> Iterator[Block]:
    provenance = told.provenance
    yield Heading(text="Where the figures come from", level=3)
    yield Paragraph(
        text=f"District {told.result.inputs.name}, scenario {provenance.scenario_name}, worked out"
        f" on {made_on(provenance)} by haulshed {provenance.version}. run.json beside the outputs"
        " of haulshed run holds the scenario and the whole hashes; haulshed run --again run.json"
        " repeats it."
    )
    yield Table(
        header=["Input file", "SHA-256"],
        rows=[[name, value] for name, value in provenance.input_sha256.items()],
    )
    yield Paragraph(text=f"{told.result.inputs.road_credit}.")
    yield Paragraph(text=CAUTION, strong=True)
