"""The tests: which column is held against which figure, and how; the workbook uses the same."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.evidence.schedule import Schedule
from haulshed.tables.evidence import Met

Objects = NDArray[np.object_]

#: A figure that is this near to its limit meets it: the solver's own rounding.
_WITHIN = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """One test: a column of the evidence against a figure of the schedule."""

    name: str  #: the test's column is ``test_`` and this
    column: str
    figure: str  #: figure of the schedule; ``volume_gal`` and ``papers`` follow from others
    at_most: bool  #: else at least

    @property
    def header(self) -> str:
        """Return the test's column."""
        return f"test_{self.name}"

    def limit(self, schedule: Schedule) -> float | None:
        """Return what the column is held against; None where the schedule does not ask."""
        if self.figure == "volume_gal":
            return schedule.volume_gal
        if self.figure == "papers":
            return 0.0 if schedule.papers else None
        return schedule.limit(self.figure)

    def judge(self, values: "pd.Series[float]", schedule: Schedule) -> Objects:
        """
        Return :class:`Met` for each row; None where the schedule does not ask.

        NaN is not known, so not judged; infinite is known: there is none within reach.
        """
        limit = self.limit(schedule)
        if limit is None:
            return np.full(len(values), None, dtype=object)
        numbers = values.astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
        holds = numbers <= limit + _WITHIN if self.at_most else numbers >= limit - _WITHIN
        judged = np.select([np.isnan(numbers), holds], [2, 0], default=1)
        words = [str(Met.MET), str(Met.NOT_MET), str(Met.NOT_JUDGED)]
        return np.asarray(np.array(words, dtype=object)[judged])


def _most(name: str, column: str, figure: str) -> Requirement:
    return Requirement(name=name, column=column, figure=figure, at_most=True)


def _least(name: str, column: str, figure: str) -> Requirement:
    return Requirement(name=name, column=column, figure=figure, at_most=False)


#: Tests of a property, in the order of the table.
OF_PROPERTY = (
    _most("station", "station_miles", "station_miles"),
    _most("hose", "near_site_hose_ft", "hose_reach_ft"),
    _most("fill_site", "fill_site_miles", "fill_site_miles"),
    _least("steady", "sustained_gpm", "flow_gpm"),
    _most("in_time", "start_after_min", "within_min"),
    _most("unbroken", "longest_gap_min", "gap_min"),
    _least("volume", "volume_gal", "volume_gal"),
    _least("pump", "pump_gpm", "pump_gpm"),
    _least("crew", "crew", "crew"),
    _least("all_weather", "all_weather", "all_weather"),
    _most("papers", "papers_missing", "papers"),
)

#: Tests of a fill site; what it takes to be on the road and open is asked by every schedule.
OF_SOURCE = (
    _least("rate", "rate_gpm", "flow_gpm"),
    _least("volume", "over_duration_gal", "volume_gal"),
    _least("all_year", "all_year", "all_year"),
    _least("all_weather", "all_weather", "all_weather"),
    _most("lift", "lift_ft", "lift_ft"),
    _most("head_loss", "head_loss_ft", "head_loss_ft"),
)
