"""What the map says of a parcel, a road, a fill site and a station when it is asked."""

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pandas.api.types import is_numeric_dtype

from haulshed.outputs.phrases import Phrase, Said, Texts, texts_of
from haulshed.outputs.wording import (
    KIND_WORDS,
    LIMIT_MEANS,
    VERDICT_MEANS,
    Wording,
    next_minute,
    sentence,
)
from haulshed.tables.answers import LimitedBy, RiseSource, Verdict
from haulshed.tables.fill_sites import SiteKind
from haulshed.tables.sources import Source

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]

#: A row of a table by its headers.
Row = Mapping[Hashable, Any]

_DEMAND_SOURCES = {
    "parcel": "from the parcel's own data",
    "part default": "part of it from defaults",
    "default": "a default dwelling",
    "fixed": "one figure for all",
    "column": "the district's own figure",
}
_LAY_SOURCES = {
    "given": "as given",
    "driveway": "along the driveway",
    "straight": "straight line with a detour",
}


def known(value: object) -> bool:
    """
    Say whether a cell holds anything.

    Examples
    --------
    >>> known(0.0), known(float("nan")), known(""), known(None)
    (True, False, False, False)
    """
    return not (pd.isna(value) or value == "")  # type: ignore[call-overload]  # any one cell


def rows(frame: pd.DataFrame) -> list[dict[Hashable, Any]]:
    """Return the rows of `frame` as mappings, geometry left out."""
    return frame.drop(columns="geometry", errors="ignore").to_dict("records")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Table:
    """A table whose popups are worded by the column: a county has too many rows for a loop."""

    frame: pd.DataFrame
    wording: Wording

    @property
    def every(self) -> Flags:
        """Every row."""
        return np.ones(len(self.frame), np.bool_)

    def known(self, name: str) -> Flags:
        """Say of every row whether the cell holds anything."""
        values = self.frame[name]
        there = values.notna().to_numpy(dtype=np.bool_)
        return there if is_numeric_dtype(values) else there & ~self.holds(name, "")

    def holds(self, name: str, value: object) -> Flags:
        """Say of every row whether the cell is that."""
        return (self.frame[name] == value).to_numpy(dtype=np.bool_, na_value=False)

    def number(self, name: str) -> Floats:
        """Return the figures of a column, NaN where there is none."""
        return self.frame[name].to_numpy(dtype=np.float64, na_value=np.nan)

    def text(self, name: str, word: Callable[[Any], str] = str) -> Texts:
        """Return the words of a column."""
        return texts_of(self.frame[name], word)

    def flow(self, flow_gpm: Floats) -> Texts:
        """Return flows as :meth:`Wording.flow` words them."""
        return texts_of(self.wording.floored(flow_gpm), lambda one: self._figure(one, "gpm"))

    def whole(self, name: str, ours: str) -> Texts:
        """Return a column as :meth:`Wording.whole` words it."""
        return self.rounded(self.number(name), ours)

    def rounded(self, values: Floats, ours: str) -> Texts:
        """Return values in our unit `ours` as :meth:`Wording.whole` words them."""
        shown = self.wording.rounded(values, ours)
        return texts_of(shown, lambda one: self._figure(one, ours))

    def _figure(self, shown: float, ours: str) -> str:
        return self.wording.figure(shown, ours)

    def tenths(self, name: str, ours: str) -> Texts:
        """Return a column as :meth:`Wording.tenths` words it."""
        shown = self.wording.in_tenths(self.number(name), ours)
        return texts_of(shown, lambda one: self.wording.tenths(one, ours))

    def many(self, name: str, thing: str) -> Texts:
        """Return a count of things."""
        return texts_of(np.nan_to_num(self.number(name)), lambda count: _many(count, thing))


def minutes(values_min: Floats) -> Texts:
    """Return minutes as :func:`haulshed.outputs.wording.minute` words them."""
    return texts_of(next_minute(values_min), lambda one: f"{one:,.0f}")


@dataclass(frozen=True, slots=True, kw_only=True)
class ParcelPopups(_Table):
    """The popups of the parcels: flow and when, the answer, its arithmetic in five lines."""

    site_names: Mapping[str, str]  #: site_id → name on the map
    planned_min: float  #: planned duration, over which all flows are but a hose line's

    def said(self) -> Iterator[Said]:
        """Return what the popups say, line by line."""
        yield from self._headline()
        for verdict in Verdict:
            yield Said(
                f"<p>{{}}: <strong>{sentence(verdict)}</strong>, {VERDICT_MEANS[verdict]}.</p><dl>",
                self.holds("verdict", verdict),
                (self.text("parcel_id"),),
            )
        for term, lines in (
            ("Need", self._need()),
            ("On paper", self._on_paper()),
            ("Round trip", self._round_trip()),
            ("Limited by", self._limit()),
            ("To spare", self._spare()),
            ("In time", self._in_time()),
        ):
            yield Said(f"<dt>{term}</dt><dd>", self.every)
            yield from lines
            yield Said("</dd>", self.every)
        yield Said("</dl>", self.every)

    def _headline(self) -> Iterator[Said]:
        """Return the first line: the flow, rounded down, and the minute it is not due before."""
        by_hose = self.holds("verdict", Verdict.HOSE_LINE)
        flow_gpm = np.where(by_hose, self.number("hose_gpm"), self.number("sustained_gpm"))
        due_min = self._due_min()
        flows, due, lost = flow_gpm > 0, ~np.isnan(due_min), self._not_held()
        flow = self.flow(flow_gpm)
        none = self.flow(np.zeros(len(self.frame)))
        yield Said("<h2>{}, no hauled water</h2>", ~flows, (none,))
        yield Said("<h2>{} on paper, need not held by the clock</h2>", flows & lost, (flow,))
        for tail, which in (("", ~by_hose & ~lost), (" by hose line", by_hose)):
            yield Said(f"<h2>{{}}, time not known{tail}</h2>", flows & ~due & which, (flow,))
            yield Said(
                f"<h2>{{}}, not before minute {{}}{tail}</h2>",
                flows & due & which,
                (flow, minutes(due_min)),
            )

    def _due_min(self) -> Floats:
        """Return the minute before which nothing is due: of the units, and of the need held."""
        last_min, held_min = self.number("last_tanker_min"), self.number("held_from_min")
        last_min = np.where(np.isnan(last_min), self.number("first_tanker_min"), last_min)
        by_hose = self.holds("verdict", Verdict.HOSE_LINE)
        hauled_min = np.where(self._on_paper_held(), np.fmax(last_min, held_min), last_min)
        return np.where(by_hose, self.number("first_engine_min"), hauled_min)

    def _on_paper_held(self) -> Flags:
        return self.holds("verdict", Verdict.NURSE) | self.holds("verdict", Verdict.DUMP_SITE)

    def _not_held(self) -> Flags:
        """Say where hauled water holds the need on paper and not by the clock."""
        played, held = self.known("first_water_min"), self.known("held_from_min")
        return self._on_paper_held() & played & ~held

    def _site(self, name: str) -> Texts:
        def named(site_id: object) -> str:
            name = self.site_names.get(str(site_id), "")
            return f"{name} ({site_id})" if name and name != site_id else str(site_id)

        return self.text(name, named)

    def _need(self) -> Iterator[Said]:
        needed_gpm = self.number("needed_gpm")
        asks = ~np.isnan(needed_gpm)
        need = texts_of(self.wording.raised(needed_gpm), lambda one: self._figure(one, "gpm"))
        gallons, minutes_asked = self.whole("needed_gal", "gal"), self.whole("test_min", "min")
        source = self.text("demand_source", lambda word: _DEMAND_SOURCES.get(word, word))
        yield Said("none", ~asks)
        yield Said("{}", asks, (need,))
        yield Said(", {} of water", asks & self.known("needed_gal"), (gallons,))
        yield Said(", judged over {}", asks & self.known("test_min"), (minutes_asked,))
        yield Said(" <small>({})</small>", asks & self.known("demand_source"), (source,))

    def _on_paper(self) -> Iterator[Said]:
        by_stage = self.flow(self.number("nurse_gpm")), self.flow(self.number("dump_site_gpm"))
        yield Said("nursing {}, dump site {}", self.every, by_stage)
        test_min = self.number("test_min")
        otherwise = ~np.isnan(test_min) & (test_min != self.planned_min)
        planned = self.rounded(np.full(len(self.frame), self.planned_min), "min")
        yield Said(", over {}", otherwise, (planned,))
        yield Said(
            "; hose line {} from {}, {} by road",
            self.known("hose_site_id") & self.known("hose_gpm"),
            (
                self.flow(self.number("hose_gpm")),
                self._site("hose_site_id"),
                self.whole("hose_site_ft", "ft"),
            ),
        )

    def _round_trip(self) -> Iterator[Said]:
        hauled = self.known("round_trip_min")
        trip = self.tenths("round_trip_min", "min"), self._site("best_site_id")
        yield Said("{}, most water from {}", hauled, trip)
        miles = self.tenths("road_miles_to_site", "miles")
        yield Said(", loaded leg {}", hauled & self.known("road_miles_to_site"), (miles,))
        yield Said("; ", hauled)
        units = self.many("tankers", "tanker"), self.many("engines", "engine")
        yield Said("in time: {}, {}", self.every, units)
        source = self.text("lay_source", lambda word: _LAY_SOURCES.get(word, word))
        lay = self.whole("lay_ft", "ft"), source
        yield Said("; lay {}, {}", self.known("lay_ft"), lay)
        rise_ft, by_dem = self.number("rise_ft"), self.holds("rise_source", RiseSource.DEM)
        height = self.rounded(np.abs(rise_ft), "ft")
        yield Said(", falling {}", by_dem & (rise_ft < 0), (height,))
        yield Said(", rising {}", by_dem & ~(rise_ft < 0), (height,))

    def _limit(self) -> Iterator[Said]:
        yield Said("nothing", ~self.known("limited_by"))
        for limit in LimitedBy:
            yield Said(f"{limit}: {LIMIT_MEANS[limit]}", self.holds("limited_by", limit))

    def _spare(self) -> Iterator[Said]:
        margin, spare = (
            self.flow(self.number("margin_gpm")),
            self.flow(self.number("minus_one_gpm")),
        )
        yield Said("margin {}; ", self.known("margin_gpm"), (margin,))
        yield Said("{} with the largest tanker out", self.known("minus_one_gpm"), (spare,))
        needed = self.many("tankers_needed", "tanker")
        yield Said("; {} needed", self.known("tankers_needed"), (needed,))
        yield Said(". <strong>Tight</strong>", self.holds("tight", value=True))

    def _in_time(self) -> Iterator[Said]:
        """Return what the clock says: first water, the need held, nine incidents in ten."""
        first_min, held_min = self.number("first_water_min"), self.number("held_from_min")
        comes, held = ~np.isnan(first_min), ~np.isnan(held_min)
        yield Said("no engine, no water", ~comes)
        yield Said("first water at minute {}", comes, (minutes(first_min),))
        short, gaps = self.whole("short_gal", "gal"), self.number("longest_gap_min") > 0
        yield Said(", need held from minute {}", comes & held, (minutes(held_min),))
        yield Said(" only, short by {}", comes & held & gaps, (short,))
        not_held = comes & ~held & self.known("needed_gpm")
        yield Said(", need NOT held, short by {}", not_held, (short,))
        ninth = self.flow(self.number("held_90_gpm"))
        yield Said("; {} in 9 incidents of 10", comes & self.known("held_90_gpm"), (ninth,))
        share = texts_of(100 * self.number("held_share"), "{:.0f}".format)
        yield Said(", need held {} times in 100", comes & self.known("held_share"), (share,))


class RoadPopups(_Table):
    """The popups of the road segments."""

    def said(self) -> Iterator[Said]:
        """Return what the popups say, line by line."""
        closed = self.holds("closed", value=True)
        flows = ~closed & self.known("sustained_gpm")
        flow = self.flow(self.number("sustained_gpm"))
        yield Said("<h2>Closed in this scenario</h2>", closed)
        yield Said("<h2>{}</h2>", flows, (flow,))
        yield Said("<p>for a dump site at the middle of this piece of road, short lay</p>", flows)
        yield Said(
            "<h2>No dump site here</h2><p>a private way or track, or no place to stop: motorway,"
            " ramp, bridge, tunnel</p>",
            ~closed & ~flows,
        )
        name = self.frame["name"].astype(object).where(self.known("name"), "no name")
        yield Said("<dl><dt>Road</dt><dd>{}", self.every, (texts_of(name),))
        road_class = self.text("road_class", lambda word: str(word).replace("_", " "))
        yield Said(", {}", self.every, (road_class,))
        unpaved = self.holds("unpaved", value=True)
        yield Said(", unpaved</dd>", unpaved)
        yield Said("</dd>", ~unpaved)
        yield Said(
            "<dt>Speed</dt><dd>{} <small>({})</small></dd>",
            self.known("speed_mph"),
            (self.whole("speed_mph", "mph"), self.text("speed_source")),
        )
        yield from self._posted(closed)
        yield Said("</dl>", self.every)

    def _posted(self, closed: Flags) -> Iterator[Said]:
        """Return what is posted along a road, if anything is, and the id to look the way up by."""
        weight, height = self.known("max_weight_lb"), self.known("max_height_ft")
        weighs, clears = self.whole("max_weight_lb", "lb"), self.tenths("max_height_ft", "ft")
        yield Said("<dt>Posted</dt><dd>{}", weight & ~height, (weighs,))
        yield Said("<dt>Posted</dt><dd>{}", height & ~weight, (clears,))
        yield Said("<dt>Posted</dt><dd>{} and {}", weight & height, (weighs, clears))
        yield Said("<dt>Posted</dt><dd>nothing", closed & ~weight & ~height)
        told, bridge = closed | weight | height, self.holds("bridge", value=True)
        way = self.text("way_id")
        yield Said(", bridge {}</dd>", told & bridge, (way,))
        yield Said(", way {}</dd>", told & ~bridge, (way,))


def site_phrases(row: Row, wording: Wording) -> Iterator[Phrase]:
    """Return the popup of a fill site."""
    yield Phrase("<h2>{}</h2>", (place_name(row, "site_id"),))
    kind = KIND_WORDS[SiteKind(row["kind"])]
    yield Phrase(f"<p>{sentence(kind)} {{}}", (str(row["site_id"]),))
    if known(row["why_not"]):
        yield Phrase(", <strong>not used: {}</strong>", (str(row["why_not"]),))
    yield Phrase("</p><dl>")
    tested = "" if row.get("flow_source") != Source.DEFAULT else ", <strong>not tested</strong>"
    yield Phrase(f"<dt>Rate</dt><dd>{{}}{tested}</dd>", (site_rate(row, wording),))
    yield Phrase("<dt>Volume</dt><dd>{}", (site_volume(row, wording) or "not limited",))
    if known(row["usable_gal"]) and row["volume_gal"] < row["usable_gal"]:
        yield Phrase(", of {} stated", (wording.whole(row["usable_gal"], "gal"),))
    if row["refill_gpm"] > 0:
        yield Phrase(", refills at {}", (wording.flow(row["refill_gpm"]),))
    if known(row["volume_gal"]) and row.get("volume_source") == Source.DEFAULT:
        yield Phrase(", <strong>not measured</strong>", ())
    yield Phrase("</dd><dt>Positions</dt><dd>{}", (f"{int(row['fill_positions']):,}",))
    yield Phrase(", an engine must draft</dd>" if row["needs_pumper"] else "</dd>")
    yield Phrase(
        "<dt>Carries most for</dt><dd>{}</dd></dl>", (_many(row["parcels_best"], "parcel"),)
    )


def site_rate(row: Row, wording: Wording) -> str:
    """Return the rate of a fill site as the map shows it."""
    return wording.flow(row["rate_gpm"]) if known(row["rate_gpm"]) else "rate not known"


def site_volume(row: Row, wording: Wording) -> str:
    """Return the volume of a fill site that the scenario leaves; empty where it is not limited."""
    return wording.whole(row["volume_gal"], "gal") if known(row["volume_gal"]) else ""


def station_phrases(row: Row, apparatus: Iterable[Row], wording: Wording) -> Iterator[Phrase]:
    """Return the popup of a station with the `apparatus` that starts from it."""
    yield Phrase("<h2>{}</h2>", (place_name(row, "station_id"),))
    off = "" if row["on_road"] else ", <strong>not on a road</strong>"
    yield Phrase(
        f"<p>Station {{}}, {{}} aid{off}</p><ul>", (str(row["station_id"]), str(row["aid"]))
    )
    units = list(apparatus)
    if not units:
        yield Phrase("<li>no apparatus</li>")
    for unit in units:
        yield Phrase("<li><strong>{}</strong>: {}", (str(unit["unit_id"]), str(unit["kind"])))
        if unit["tank_gal"] > 0:
            yield Phrase(", tank {}", (wording.whole(unit["tank_gal"], "gal"),))
        if unit["pump_gpm"] > 0:
            yield Phrase(", pump {}", (wording.whole(unit["pump_gpm"], "gpm"),))
        yield Phrase(", alarm {}</li>", (f"{int(unit['alarm'])}",))
    yield Phrase("</ul>")


def place_name(row: Row, id_column: str) -> str:
    """Return what a place is called: its name, else its id."""
    return str(row["name"]) if known(row["name"]) else str(row[id_column])


def _many(count: float, thing: str) -> str:
    number = int(count) if known(count) else 0
    return f"{number:,} {thing}{'' if number == 1 else 's'}"
