"""Which apparatus is called, from where, and when it rolls."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.scenario import Operation
from haulshed.tables.apparatus import Apparatus
from haulshed.tables.stations import Stations


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Assignment:
    """Every unit of the apparatus table, in its order."""

    units: Apparatus
    station: NDArray[np.int64]  #: row of the unit's station
    called: NDArray[np.bool_]  #: its alarm is struck and its station's aid is called
    turnout_min: NDArray[np.float64]  #: from dispatch to rolling
    is_tanker: NDArray[np.bool_]
    is_engine: NDArray[np.bool_]

    def numbers(self, column: str) -> NDArray[np.float64]:
        """Return a column of the units as floats, NaN where a cell is empty."""
        return self.units[column].to_numpy(dtype=np.float64, na_value=np.nan)

    def tankers(self, column: str) -> NDArray[np.float64]:
        """Return a column of the tankers alone, as :meth:`numbers` does."""
        return self.numbers(column)[self.is_tanker]


def assignment(apparatus: Apparatus, stations: Stations, operation: Operation) -> Assignment:
    """
    Return the units with what the scenario says of them.

    A unit is called if its alarm is at most the scenario's and its station's aid is among the
    scenario's. Whether it then counts at a place is a matter of arrival.
    """
    row_of = {station_id: row for row, station_id in enumerate(stations["station_id"])}
    station = np.array([row_of[one] for one in apparatus["station_id"]], dtype=np.int64)
    aid_called = stations["aid"].isin(operation.aid).to_numpy(dtype=bool)
    turnout = stations["turnout_min"].fillna(operation.turnout_min).to_numpy(dtype=np.float64)
    in_alarm = (apparatus["alarm"] <= operation.alarm).to_numpy(dtype=bool)
    return Assignment(
        units=apparatus,
        station=station,
        called=in_alarm & aid_called[station],
        turnout_min=turnout[station],
        is_tanker=(apparatus["kind"] == "tanker").to_numpy(dtype=bool),
        is_engine=(apparatus["kind"] == "engine").to_numpy(dtype=bool),
    )
