"""Reading a drill's log: a CSV of events, every one in its place in time and in the round."""

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from haulshed.crosscheck.drill_visits import DrillLog
from haulshed.errors import Fault, TableError
from haulshed.inputs.settings import TableKeys
from haulshed.inputs.table_file import TableRead, read_table
from haulshed.tables.drill_log import DRILL_LOG, ROUND, Event
from haulshed.tables.table import Found, in_file_order, shown
from haulshed.units import MIN_PER_H

_CLOCK = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])(?::([0-5][0-9]))?")
_MINUTES = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_DAY_MIN = 24 * MIN_PER_H
#: Events between which water runs: no time between them is no rate.
_FLOWING = {(Event.START_FILL, Event.END_FILL), (Event.START_DUMP, Event.END_DUMP)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """Ids that a district knows; a log may name no others."""

    tankers: Collection[str]
    engines: Collection[str]
    fill_sites: Collection[str]


def read_drill_log(path: Path, known: Known | None) -> DrillLog:
    """
    Read and check a drill's log.

    Parameters
    ----------
    path
        A CSV file with the columns of :data:`haulshed.tables.drill_log.DRILL_LOG`.
    known
        What the district knows; None where no district is named.

    Raises
    ------
    InputError
        If the file cannot be read.
    TableError
        With every fault of the log.
    """
    read = read_table(path, DRILL_LOG, TableKeys(file=path.name), None)
    found = list(read.found)
    if any(one.position is None for one in found):
        raise TableError([one.fault for one in found])
    rows = _Rows(read)
    found += rows.untimed()
    if known is not None:
        found += rows.engines(known.engines)
        found += rows.unknown("unit_id", {*known.tankers, *known.engines})
        found += rows.unknown("site_id", known.fill_sites)
    sound = [at for at in range(len(read.frame)) if at not in {one.position for one in found}]
    for _, own in read.frame.loc[sound].groupby("unit_id", sort=False):
        found += rows.out_of_order(list(own.index))
    if found:
        raise TableError([one.fault for one in in_file_order(found)])
    events = read.frame.assign(at_min=rows.at_min, unit_id=read.frame["unit_id"].astype(str))
    events["at_min"] -= events["at_min"].min()
    return DrillLog(
        events=events.sort_values(["unit_id", "at_min"], kind="stable", ignore_index=True),
        notes=tuple(read.notes),
    )


class _Rows:
    """The rows of a log and their times."""

    def __init__(self, read: TableRead) -> None:
        self._frame = read.frame
        self._places = read.raw.places
        texts = ["" if text is None else str(text) for text in read.frame["time"]]
        self._by_clock = [_CLOCK.fullmatch(text) is not None for text in texts]
        self.at_min = _minutes(texts)

    def untimed(self) -> Iterator[Found]:
        """Yield the rows whose time is none, or of the other kind than the first one's."""
        timed = np.flatnonzero(np.isfinite(self.at_min))
        for at, text in enumerate(self._frame["time"]):
            if text is None:
                continue  # said already
            if np.isnan(self.at_min[at]):
                yield self._found(at, "time", "is no time", "Write 14:05, 14:05:30 or minutes.")
            elif self._by_clock[at] != self._by_clock[timed[0]]:
                yield self._found(
                    at,
                    "time",
                    f"is not written as the first one, {self._frame['time'].iloc[timed[0]]}",
                    "Write all times of day, or all minutes since the drill began.",
                )

    def engines(self, engines: Collection[str]) -> Iterator[Found]:
        """Yield the rows of units that haul no water."""
        for at in np.flatnonzero(self._frame["unit_id"].isin(list(engines))):
            cure = "Take its rows out: the log is of tankers."
            yield self._found(int(at), "unit_id", "is an engine of the district", cure)

    def unknown(self, column: str, known: Collection[str]) -> Iterator[Found]:
        """Yield the rows whose id the district does not know."""
        for at, value in enumerate(self._frame.get(column, ())):
            if value is not None and value not in known:
                near = get_close_matches(str(value), known, n=1)
                hint = f"Did you mean '{near[0]}'?" if near else f"Use a {column} of its table."
                yield self._found(at, column, "is not in the district", hint)

    def out_of_order(self, own: Sequence[int]) -> Iterator[Found]:
        """Yield the rows of one unit that break the order of time or the round."""
        events = [Event(self._frame["event"].iloc[at]) for at in own]
        following = _following(events)
        for before, at, earlier, event in zip(own, own[1:], events, events[1:], strict=False):
            was, now = self.at_min[before], self.at_min[at]
            place = f"{earlier} at {self._frame['time'].iloc[before]} ({self._places[before]})"
            if now < was:
                cure = "Put each unit's rows in order of time; correct the one that is wrong."
                yield self._found(at, "time", f"is before its {place}", cure)
            elif event is not following[earlier]:
                rule = f"cannot follow its {place}, after which comes {following[earlier]}"
                cure = "Add the rows that are missing; take out one that is written twice."
                yield self._found(at, "event", rule, cure)
            elif now == was and (earlier, event) in _FLOWING:
                cure = "Write the seconds too, such as 14:05:30."
                yield self._found(at, "time", f"is the same as its {place}", cure)

    def _found(self, at: int, column: str, rule: str, cure: str) -> Found:
        row = self._frame["unit_id"].iloc[at]
        fault = Fault(
            table=DRILL_LOG.name,
            row=f"{shown(row)} ({self._places[at]})" if row else self._places[at],
            column=column,
            value=shown(self._frame[column].iloc[at]),
            rule=rule,
            cure=cure,
        )
        return Found(position=at, fault=fault)


def _following(events: Iterable[Event]) -> dict[Event, Event]:
    """Return what follows each event in the round that these were logged from."""
    places = {event.value.rpartition("_")[2] for event in events}
    logged = [event for event in ROUND if event.value.rpartition("_")[2] in places]
    return dict(zip(logged, [*logged[1:], logged[0]], strict=True))


def _minutes(texts: Sequence[str]) -> NDArray[np.float64]:
    """
    Return times as minutes, nan for what is no time; of the day they may pass midnight once.

    A drill is shorter than half a day, so the longest stretch of the day without an event is not
    part of it: the first event is the one after that stretch.

    Examples
    --------
    >>> _minutes(["23:50", "00:10:30", "soon"]).tolist()
    [1430.0, 1450.5, nan]
    """
    at_min = np.array([_minute(text) for text in texts])
    clock = np.array([_CLOCK.fullmatch(text) is not None for text in texts], dtype=bool)
    of_day = np.unique(at_min[clock])
    if of_day.size:
        gaps = (of_day - np.roll(of_day, 1)) % _DAY_MIN
        first = of_day[gaps.argmax()]
        at_min[clock & (at_min < first)] += _DAY_MIN
    return at_min


def _minute(text: str) -> float:
    """Return a time as minutes of the day or of the drill, nan for what is no time."""
    clock = _CLOCK.fullmatch(text)
    if clock:
        hour, minute, second = (float(part or 0) for part in clock.groups())
        return hour * MIN_PER_H + minute + second / 60
    return float(text) if _MINUTES.fullmatch(text) else np.nan
