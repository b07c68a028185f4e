"""A drill's log: five tankers go round between a dry hydrant and a dump site on an evening.

The dump site stands at the access point of parcel 1609-006. What the crews need there is a little
more than the tables say, and no two rounds are alike; the log is what two people with a watch
would have written down.
"""

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from larkmoor_maker.frame import random

LOG_COLUMNS = ("unit_id", "event", "time", "site_id", "load_gal", "leg_miles")

Row = dict[str, object]

_SITE, _MILES = "DH-2", 2.47
_POSITIONS = {"fill": 2, "dump": 2}
#: The drill is from 18:40 to 20:20 o'clock [s of the day].
_BEGINS_S, _ENDS_S = (18 * 60 + 40) * 60, (20 * 60 + 20) * 60
#: Mean minutes of what crews do, each drawn anew about it.
_MIN = {
    "pull in to fill": 1.5, "leave the fill": 1.4, "pull in to dump": 1.1, "leave the dump": 0.8,
    "drive loaded": 4.9, "drive empty": 4.5,
}  # fmt: skip
_SPREAD = 0.12


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tanker:
    """A tanker in the drill: when it is at the dump site first, full, and what it does."""

    unit_id: str
    first_min: float
    load_gal: float
    fill_gpm: float
    dump_gpm: float


_TANKERS = (
    _Tanker(unit_id="T-12", first_min=0, load_gal=1860, fill_gpm=930, dump_gpm=1050),
    _Tanker(unit_id="T-13", first_min=2, load_gal=2750, fill_gpm=910, dump_gpm=1300),
    _Tanker(unit_id="T-42", first_min=5, load_gal=1840, fill_gpm=925, dump_gpm=440),
    _Tanker(unit_id="T-51", first_min=8, load_gal=1390, fill_gpm=790, dump_gpm=900),
    _Tanker(unit_id="T-72", first_min=11, load_gal=2780, fill_gpm=940, dump_gpm=1270),
)


def drill_rows() -> Sequence[Row]:
    """Return the log's rows, in the order of the clock."""
    rng = random("drill")
    free = {place: [0.0] * count for place, count in _POSITIONS.items()}
    queue = [(one.first_min, at, "dump") for at, one in enumerate(_TANKERS)]
    heapq.heapify(queue)
    rows: list[tuple[int, int, Row]] = []
    while queue:
        arrives, at, place = heapq.heappop(queue)
        begins = max(arrives, heapq.heappop(free[place]))
        visit = list(_visit(_TANKERS[at], place, arrives, begins, rng))
        rows += [(second, at, row) for second, row in visit if second <= _ENDS_S]
        leaves = (visit[-1][0] - _BEGINS_S) / 60
        heapq.heappush(free[place], leaves)
        drive, after = ("drive empty", "fill") if place == "dump" else ("drive loaded", "dump")
        if visit[-1][0] <= _ENDS_S:
            heapq.heappush(queue, (leaves + _drawn(drive, rng), at, after))
    rows.sort(key=lambda row: row[:2])
    return [row for _, _, row in rows]


def _visit(
    tanker: _Tanker, place: str, arrives: float, begins: float, rng: np.random.Generator
) -> Iterator[tuple[int, Row]]:
    """Yield the four events of one visit with their second of the day."""
    load_gal = round(tanker.load_gal * rng.normal(1, 0.015) / 10) * 10
    rate_gpm = (tanker.fill_gpm if place == "fill" else tanker.dump_gpm) * rng.normal(1, 0.04)
    starts = begins + _drawn(f"pull in to {place}", rng)
    ends = starts + load_gal / rate_gpm
    leaves = ends + _drawn(f"leave the {place}", rng)
    of_event: dict[str, Row] = {"arrive": {"leg_miles": _MILES}, "end": {"load_gal": load_gal}}
    if place == "dump" and arrives <= tanker.first_min:
        of_event.pop("arrive")  # it comes from its station
    named = {"site_id": _SITE} if place == "fill" else {}
    for act, minute in zip(
        ("arrive", "start", "end", "leave"), (arrives, starts, ends, leaves), strict=True
    ):
        second = _BEGINS_S + round(minute * 60)
        event = {"unit_id": tanker.unit_id, "event": f"{act}_{place}", "time": _clock(second)}
        yield second, {**event, **named, **of_event.get(act, {})}


def _drawn(what: str, rng: np.random.Generator) -> float:
    return _MIN[what] * max(0.5, rng.normal(1, _SPREAD))


def _clock(second: int) -> str:
    return f"{second // 3600:02}:{second // 60 % 60:02}:{second % 60:02}"
