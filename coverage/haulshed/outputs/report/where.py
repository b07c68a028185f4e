"""Where and why not, and what the district has."""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from haulshed.case import Result
from haulshed.outputs.report.areas import HELD, NOT_HELD, by_area, by_own_areas, were_drawn
from haulshed.outputs.report.blocks import Block, Heading, Paragraph, Picture, Table
from haulshed.outputs.report.charts import DRAWN, cause_bars, held_curve
from haulshed.outputs.report.district_map import answers_map, flow_map
from haulshed.outputs.report.told import Told, percent
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
from haulshed.units import UNITS, factor_between

_NINE_IN_TEN = (
    " 9 in 10: held in 9 incidents of 10, with times that vary and units that stay away; the share"
    " to quote."
)


def maps(told: Told) -> Iterator[Block]:
    """Yield the maps."""
    yield Heading(text="Maps", level=1)
    yield Picture(
        name="answers-map",
        svg=answers_map(told.result, told.units, name="answers-map"),
        caption="Properties by their answer on paper. Hatched and crossed ones cannot be supplied.",
        page=True,
    )
    yield Picture(
        name="flow-map",
        svg=flow_map(told.result, told.units, name="flow-map"),
        caption="Roads by the flow that hauled water holds there on paper, with a lay of 50 ft.",
        page=True,
    )


def areas_told(told: Told) -> Iterator[Block]:
    """Yield the properties by area."""
    table, wording = by_area(told.result), Wording(system=told.units)
    yield Heading(text="By area", level=2)
    yield Paragraph(
        text="Areas are those of the parcels' table."
        if by_own_areas(told.result)
        else "The parcels' table names no areas: properties are counted by the station from which"
        " the first engine comes."
    )
    words, drawn = [*HELD, *NOT_HELD], were_drawn(told.result.parcels)
    yield Table(
        header=[
            "Area",
            "Properties",
            *(sentence(word) for word in words),
            "Supplied",
            *["9 in 10"] * drawn,
            "Tight",
            "Half hold",
        ],
        rows=[
            [
                str(row["area"]),
                f"{row['properties']:,}",
                *(f"{row[str(word)]:,}" for word in words),
                percent(row["share_held"]),
                *[percent(row["held_90"] / row["properties"])] * drawn,
                f"{row['tight']:,}",
                "" if np.isnan(row["median_gpm"]) else wording.flow(float(row["median_gpm"])),
            ]
            for _, row in table.iterrows()
        ],
        numbers=frozenset(range(1, len(words) + 5 + drawn)),
        empty="No property with a structure is known.",
    )
    yield Paragraph(
        text=f"Supplied: on paper, at constant times.{_NINE_IN_TEN * drawn} Half hold: the hauled"
        " flow that half of the properties not reached by a hose line hold or more on paper,"
        f" rounded down to {wording.flow_step}."
    )


def causes_told(told: Told) -> Iterator[Block]:
    """Yield what holds the flow down, and the flow held and needed."""
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
    yield from _meanings(told)
    yield from _held_and_needed(told)


def _meanings(told: Told) -> Iterator[Block]:
    yield Heading(text="What the answers mean", level=3)
    yield Table(
        header=["Answer", "Properties", "Means"],
        rows=[
            [sentence(verdict), f"{told.counts[verdict]:,}", sentence(VERDICT_MEANS[verdict])]
            for verdict in DRAWN
        ],
        numbers=frozenset((1,)),
    )


def _held_and_needed(told: Told) -> Iterator[Block]:
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
        caption="Properties at which hauled water holds a flow on paper, and that need it.",
    )


def supply_told(told: Told) -> Iterator[Block]:
    """Yield fill sites and apparatus."""
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
    yield _apparatus(result, wording)


def _apparatus(result: Result, wording: Wording) -> Table:
    names = result.stations.set_index("station_id")["name"].to_dict()
    return Table(
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
