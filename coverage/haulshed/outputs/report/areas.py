"""Properties by area: the county's own areas, else by the station that is there first."""

import pandas as pd

from haulshed.case import Result
from haulshed.tables.answers import Verdict

#: Answers that hold the needed flow, and those that do not.
HELD = (Verdict.HOSE_LINE, Verdict.NURSE, Verdict.DUMP_SITE)
NOT_HELD = (Verdict.SHORT, Verdict.NONE)
#: Area of a property of which no area is known, or to which nobody comes.
NO_AREA = "no area given"
NOBODY = "nobody comes"


def areas_of(result: Result) -> "pd.Series[str]":
    """
    Return the area of each parcel.

    The parcels' own column `area` where any has one; else the name of the station from which the
    first engine comes.
    """
    given = result.inputs.parcels.get("area")
    if given is not None and given.notna().any():
        return pd.Series(given.fillna(NO_AREA).astype(str).to_numpy(), index=result.parcels.index)
    stations = result.stations.set_index("station_id")["name"]
    ids = result.parcels["first_due"]
    names = ids.map(stations.to_dict())
    return names.where(names.fillna("") != "", ids).fillna(NOBODY).astype(str)


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
            "area": areas_of(result),
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
