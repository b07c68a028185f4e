"""From a drill's events to visits: who stood where, what was waiting and what was handling."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Name of the fill site where a log gives none.
ONE_SITE = "the fill site"


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillLog:
    """
    A drill's log, checked.

    `events` has a row an event: `unit_id`, `event`, `at_min` (from the first event of all),
    `site_id`, `load_gal`, `leg_miles` (empty where not logged). Each unit's rows are in order of
    time and follow the round of :data:`haulshed.tables.drill_log.ROUND`, of which a log kept at one
    place has only that place's half.
    """

    events: pd.DataFrame
    notes: tuple[str, ...] = ()  #: what the reader passed over


def visits_of(log: DrillLog, fill_positions: Mapping[str, int]) -> pd.DataFrame:
    """
    Return one row a visit, by unit and in order of time.

    Parameters
    ----------
    log
        The checked log.
    fill_positions
        Positions by fill site, as far as known. Elsewhere it is as many as were seen at once.

    Returns
    -------
    visits
        `unit_id`; `place` (fill or dump); `site_id` (of the fill site; empty at the dump site);
        `arrive`, `start`, `end`, `leave` [min], nan where the log begins or ends in between;
        `load_gal`; `waiting_min` while others held every position; `handling_min`, the rest of the
        stay without the flowing; `flowing_min`; then of the leg that follows `leg_min`,
        `leg_miles` and `leg_site`, the fill site that it comes from or goes to.
    """
    visits = _with_legs(_stays(log.events))
    visits["waiting_min"] = np.nan
    for site, here in visits.groupby("site_id"):  # the dump site has none and is one group
        positions = fill_positions.get(str(site)) or positions_seen(here)
        visits.loc[here.index, "waiting_min"] = _waiting_min(here, positions)
    visits["flowing_min"] = visits["end"] - visits["start"]
    stay_min = visits["leave"] - visits["arrive"]
    visits["handling_min"] = stay_min - visits["waiting_min"] - visits["flowing_min"]
    return visits


def positions_seen(visits: pd.DataFrame) -> int:
    """Return the most units of these visits for which water ran at once; at least 1."""
    known = visits.dropna(subset=["start", "end"])
    changes = sorted(
        [(at, 1) for at in known["start"]] + [(at, -1) for at in known["end"]]  # ends before starts
    )
    return max(1, int(np.cumsum([change for _, change in changes]).max(initial=1)))


def _stays(events: pd.DataFrame) -> pd.DataFrame:
    """Return one row a visit with the time of each of its events."""
    act = events["event"].str.rpartition("_")[0]
    number = (act == "arrive").groupby(events["unit_id"]).cumsum()
    known = events.assign(act=act, place=events["event"].str.rpartition("_")[2], number=number)
    by_visit = known.groupby(["unit_id", "number"])
    visits = pd.DataFrame(
        {
            "place": by_visit["place"].first(),
            "site_id": by_visit["site_id"].first(),
            "load_gal": by_visit["load_gal"].first(),
            "leg_miles": by_visit["leg_miles"].first(),
        }
    )
    times = known.pivot_table(index=["unit_id", "number"], columns="act", values="at_min")
    for one in ("arrive", "start", "end", "leave"):
        visits[one] = times.get(one, np.nan)
    filling = visits["place"] == "fill"
    visits["site_id"] = np.where(filling, visits["site_id"].fillna(ONE_SITE), "")
    return visits.reset_index()


def _with_legs(visits: pd.DataFrame) -> pd.DataFrame:
    """Return the visits with the drive that follows each."""
    after = visits.groupby("unit_id")[["place", "site_id", "arrive", "leg_miles"]].shift(-1)
    driven = after["place"].notna() & (after["place"] != visits["place"])
    return visits.assign(
        leg_min=(after["arrive"] - visits["leave"]).where(driven),
        leg_miles=after["leg_miles"].where(driven),
        leg_site=np.where(visits["place"] == "fill", visits["site_id"], after["site_id"]),
    )


def _waiting_min(here: pd.DataFrame, positions: int) -> "pd.Series[float]":
    """Return how long each visit of one place stood behind others, first come first served."""
    arrive = here["arrive"].fillna(-np.inf)
    leave = here["leave"].fillna(np.inf)
    gone: list[float] = []
    free: dict[int, float] = {}
    for at in arrive.sort_values(kind="stable").index:
        earlier = sorted(gone)
        free[at] = earlier[-positions] if len(earlier) >= positions else -np.inf
        gone.append(leave[at])
    behind = (pd.Series(free).reindex(here.index) - here["arrive"]).clip(lower=0)
    return behind.clip(upper=here["start"] - here["arrive"])
