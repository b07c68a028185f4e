"""Properties by area: the county's own areas, else by the station that is there first."""

import pandas as pd

from haulshed.assess.areas import areas_of
from haulshed.case import Result
from haulshed.tables.answers import Verdict

#: Answers that hold the needed flow, and those that do not.
HELD = (Verdict.HOSE_LINE, Verdict.NURSE, Verdict.DUMP_SITE)
NOT_HELD = (Verdict.SHORT, Verdict.NONE)


def by_own_areas(result: Result) -> bool:
    """Return whether the areas are the county's own."""
    given = result.inputs.parcels.get("area")
    return given is not None and bool(given.notna().any())


def by_area(result: Result) -> pd.DataFrame:
    """
    Return a row an area, most properties not supplied first.

    Columns: `area`, `properties` (with something to protect), one count an answer, `not_held`,
    `share_held`, `tight`, `median_gpm` (sustained flow of those not reached by a hose line).
    """
    parcels = result.parcels
    frame = pd.DataFrame(
        {
            "area": areas_of(result.inputs, parcels["first_due"]),
            "verdict": parcels["verdict"].astype(str),
            "tight": parcels["tight"].astype(bool),
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
        tight=grouped["tight"].sum(),
        median_gpm=grouped["sustained_gpm"].median(),
    ).reset_index()
    table["share_held"] = 1 - table["not_held"] / table["properties"]
    return table.sort_values(["not_held", "area"], ascending=[False, True], ignore_index=True)
