"""Properties by area: the county's own areas, else by the station that is there first."""

import pandas as pd

from haulshed.assess.areas import areas_of
from haulshed.assess.clocked import HELD_SHARE
from haulshed.case import Result
from haulshed.tables.answers import Verdict

#: Answers that hold the needed flow on paper, by hauled water and in all; those that do not.
HAULED = (Verdict.NURSE, Verdict.DUMP_SITE)
HELD = (Verdict.HOSE_LINE, *HAULED)
NOT_HELD = (Verdict.SHORT, Verdict.NONE)


def by_own_areas(result: Result) -> bool:
    """Return whether the areas are the county's own."""
    given = result.inputs.parcels.get("area")
    return given is not None and bool(given.notna().any())


def were_drawn(parcels: pd.DataFrame) -> bool:
    """Return whether incidents were drawn."""
    return bool(parcels["held_90_gpm"].notna().any())


def held_90(parcels: pd.DataFrame) -> "pd.Series[bool]":
    """Return which hold the need in 9 incidents of 10; a hose line is not drawn, and counts."""
    verdict, often = parcels["verdict"], parcels["held_share"] >= HELD_SHARE
    return (verdict == Verdict.HOSE_LINE) | (verdict.isin(list(map(str, HAULED))) & often)


def by_area(result: Result) -> pd.DataFrame:
    """
    Return a row an area, most properties not supplied first.

    Columns: `area`, `properties` (with something to protect), one count an answer, `not_held`,
    `share_held` (on paper), `held_90` (in 9 incidents of 10), `tight`, `median_gpm` (sustained flow
    of those not reached by a hose line).
    """
    parcels = result.parcels
    frame = pd.DataFrame(
        {
            "area": areas_of(result.inputs, parcels["first_due"]),
            "verdict": parcels["verdict"].astype(str),
            "tight": parcels["tight"].astype(bool),
            "held_90": held_90(parcels),
            "sustained_gpm": parcels["sustained_gpm"].where(
                parcels["verdict"] != Verdict.HOSE_LINE
            ),
        }
    )
    frame = frame[frame["verdict"] != Verdict.NO_DEMAND]
    counts = pd.crosstab(frame["area"], frame["verdict"])
    counts = counts.reindex(columns=[str(v) for v in (*HELD, *NOT_HELD)], fill_value=0)
    grouped = frame.groupby("area")
    table = counts.assign(
        properties=counts.sum(axis=1),
        not_held=counts[[str(v) for v in NOT_HELD]].sum(axis=1),
        held_90=grouped["held_90"].sum(),
        tight=grouped["tight"].sum(),
        median_gpm=grouped["sustained_gpm"].median(),
    ).reset_index()
    table["share_held"] = 1 - table["not_held"] / table["properties"]
    return table.sort_values(["not_held", "area"], ascending=[False, True], ignore_index=True)
