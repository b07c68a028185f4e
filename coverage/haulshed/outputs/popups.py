"""What the map says of a parcel, a road, a fill site and a station when it is asked."""

from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from haulshed.outputs.phrases import Phrase
from haulshed.outputs.wording import (
    KIND_WORDS,
    LIMIT_MEANS,
    VERDICT_MEANS,
    Wording,
    minute,
    sentence,
)
from haulshed.tables.answers import LimitedBy, RiseSource, Verdict
from haulshed.tables.fill_sites import SiteKind
from haulshed.tables.sources import Source

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
class ParcelPopup:
    """The popup of a parcel: its flow and when, its answer, its arithmetic in five lines."""

    wording: Wording
    site_names: Mapping[str, str]  #: site_id → name on the map

    def phrases(self, row: Row) -> Iterator[Phrase]:
        """Return the whole popup of a row of the answers."""
        verdict = Verdict(row["verdict"])
        yield self.headline(row)
        yield Phrase(
            f"<p>{{}}: <strong>{sentence(verdict)}</strong>, {VERDICT_MEANS[verdict]}.</p><dl>",
            (str(row["parcel_id"]),),
        )
        for term, phrases in (
            ("Need", self._need(row)),
            ("Held", self._held(row)),
            ("Round trip", self._round_trip(row)),
            ("Limited by", self._limit(row)),
            ("To spare", self._spare(row)),
            ("In time", self._in_time(row)),
        ):
            yield Phrase(f"<dt>{term}</dt><dd>")
            yield from phrases
            yield Phrase("</dd>")
        yield Phrase("</dl>")

    def headline(self, row: Row) -> Phrase:
        """Return the first line: the flow, rounded down, and the minute it is not due before."""
        if row["verdict"] == Verdict.HOSE_LINE:
            flow_gpm, due_min = row["hose_gpm"], row["first_engine_min"]
        else:
            flow_gpm, due_min = row["sustained_gpm"], row["last_tanker_min"]
        if not flow_gpm > 0:
            return Phrase("<h2>{}, no hauled water</h2>", (self.wording.flow(0.0),))
        if not known(due_min):
            due_min = row["first_tanker_min"]
        tail = " by hose line" if row["verdict"] == Verdict.HOSE_LINE else ""
        if not known(due_min):
            return Phrase(f"<h2>{{}}, time not known{tail}</h2>", (self.wording.flow(flow_gpm),))
        return Phrase(
            f"<h2>{{}}, not before minute {{}}{tail}</h2>",
            (self.wording.flow(flow_gpm), minute(due_min)),
        )

    def _site(self, site_id: object) -> str:
        name = self.site_names.get(str(site_id), "")
        return f"{name} ({site_id})" if name and name != site_id else str(site_id)

    def _need(self, row: Row) -> Iterator[Phrase]:
        if not known(row["needed_gpm"]):
            yield Phrase("none")
            return
        yield Phrase("{}", (self.wording.need(row["needed_gpm"]),))
        if known(row["needed_gal"]):
            yield Phrase(", {} of water", (self.wording.whole(row["needed_gal"], "gal"),))
        if known(row["test_min"]):
            yield Phrase(", judged over {}", (self.wording.whole(row["test_min"], "min"),))
        if known(row["demand_source"]):
            source = str(row["demand_source"])
            yield Phrase(" <small>({})</small>", (_DEMAND_SOURCES.get(source, source),))

    def _held(self, row: Row) -> Iterator[Phrase]:
        flow = self.wording.flow
        yield Phrase(
            "nursing {}, dump site {}", (flow(row["nurse_gpm"]), flow(row["dump_site_gpm"]))
        )
        if known(row["hose_site_id"]) and known(row["hose_gpm"]):
            yield Phrase(
                "; hose line {} from {}, {} by road",
                (
                    flow(row["hose_gpm"]),
                    self._site(row["hose_site_id"]),
                    self.wording.whole(row["hose_site_ft"], "ft"),
                ),
            )

    def _round_trip(self, row: Row) -> Iterator[Phrase]:
        if known(row["round_trip_min"]):
            yield Phrase(
                "{}, most water from {}",
                (
                    self.wording.tenths(row["round_trip_min"], "min"),
                    self._site(row["best_site_id"]),
                ),
            )
            if known(row["road_miles_to_site"]):
                yield Phrase(
                    ", loaded leg {}", (self.wording.tenths(row["road_miles_to_site"], "miles"),)
                )
            yield Phrase("; ")
        yield Phrase(
            "in time: {}, {}", (_many(row["tankers"], "tanker"), _many(row["engines"], "engine"))
        )
        if known(row["lay_ft"]):
            source = _LAY_SOURCES.get(str(row["lay_source"]), str(row["lay_source"]))
            yield Phrase("; lay {}, {}", (self.wording.whole(row["lay_ft"], "ft"), source))
        if row["rise_source"] == RiseSource.DEM:
            way = "falling" if row["rise_ft"] < 0 else "rising"
            yield Phrase(f", {way} {{}}", (self.wording.whole(abs(row["rise_ft"]), "ft"),))

    def _limit(self, row: Row) -> Iterator[Phrase]:
        if not known(row["limited_by"]):
            yield Phrase("nothing")
            return
        limit = LimitedBy(row["limited_by"])
        yield Phrase(f"{limit}: {LIMIT_MEANS[limit]}")

    def _spare(self, row: Row) -> Iterator[Phrase]:
        flow = self.wording.flow
        if known(row["margin_gpm"]):
            yield Phrase("margin {}; ", (flow(row["margin_gpm"]),))
        if known(row["minus_one_gpm"]):
            yield Phrase("{} with the largest tanker out", (flow(row["minus_one_gpm"]),))
        if known(row["tankers_needed"]):
            yield Phrase("; {} needed", (_many(row["tankers_needed"], "tanker"),))
        if known(row["tight"]) and row["tight"]:
            yield Phrase(". <strong>Tight</strong>")

    def _in_time(self, row: Row) -> Iterator[Phrase]:
        """Return what the clock says: first water, the need held, nine incidents in ten."""
        if not known(row["first_water_min"]):
            yield Phrase("no engine, no water")
            return
        yield Phrase("first water at minute {}", (minute(row["first_water_min"]),))
        if known(row["held_from_min"]):
            yield Phrase(", need held from minute {}", (minute(row["held_from_min"]),))
        elif known(row["needed_gpm"]):
            short_gal = self.wording.whole(row["short_gal"], "gal")
            yield Phrase(", need not held, short by {}", (short_gal,))
        if known(row["held_90_gpm"]):
            yield Phrase("; 9 times in 10 {}", (self.wording.flow(row["held_90_gpm"]),))
        if known(row["held_share"]):
            yield Phrase(", need held {} times in 100", (f"{100 * row['held_share']:.0f}",))


def road_phrases(row: Row, wording: Wording) -> Iterator[Phrase]:
    """Return the popup of a road segment."""
    if row["closed"]:
        yield Phrase("<h2>Closed in this scenario</h2>")
    elif known(row["sustained_gpm"]):
        yield Phrase("<h2>{}</h2>", (wording.flow(row["sustained_gpm"]),))
        yield Phrase("<p>for a dump site at the middle of this piece of road, short lay</p>")
    else:
        yield Phrase(
            "<h2>No dump site here</h2><p>a private way or track, or no place to stop: motorway,"
            " ramp, bridge, tunnel</p>"
        )
    yield Phrase(
        "<dl><dt>Road</dt><dd>{}", (str(row["name"]) if known(row["name"]) else "no name",)
    )
    yield Phrase(", {}", (str(row["road_class"]).replace("_", " "),))
    yield Phrase(", unpaved</dd>" if row["unpaved"] else "</dd>")
    if known(row["speed_mph"]):
        yield Phrase(
            "<dt>Speed</dt><dd>{} <small>({})</small></dd>",
            (wording.whole(row["speed_mph"], "mph"), str(row["speed_source"])),
        )
    yield from _posted(row, wording)
    yield Phrase("</dl>")


def _posted(row: Row, wording: Wording) -> Iterator[Phrase]:
    """Return what is posted along a road, if anything is, and the id to look the way up by."""
    weight = [wording.whole(row["max_weight_lb"], "lb")] if known(row["max_weight_lb"]) else []
    height = [wording.tenths(row["max_height_ft"], "ft")] if known(row["max_height_ft"]) else []
    if not (weight or height or row["closed"]):
        return
    what = "bridge" if row["bridge"] else "way"
    yield Phrase("<dt>Posted</dt><dd>{}", (" and ".join([*weight, *height]) or "nothing",))
    yield Phrase(f", {what} {{}}</dd>", (str(row["way_id"]),))


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
