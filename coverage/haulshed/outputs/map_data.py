"""The tables as the map carries them: column by column, figures small, words kept once."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.case import Result
from haulshed.outputs.map_clock import clock_column
from haulshed.outputs.map_geometry import Degrees, Outlines
from haulshed.outputs.palette import FLOW_BREAKS_GPM, NO_STOP, STATION_SIGN, site_sign
from haulshed.outputs.phrases import Phrasebook
from haulshed.outputs.popups import (
    ParcelPopups,
    RoadPopups,
    Row,
    known,
    place_name,
    rows,
    site_phrases,
    site_rate,
    site_volume,
    station_phrases,
)
from haulshed.outputs.wording import SLACK_GPM, Wording
from haulshed.tables.answers import Verdict
from haulshed.tables.fill_sites import SiteKind

#: Answers that mean: at the needed flow a dump site cannot be supplied.
NOT_SUPPLIED = (Verdict.SHORT, Verdict.NONE)
#: One table: a column by its name; outlines and popups are columns of columns.
Columns = dict[str, Any]


def not_supplied(parcels: pd.DataFrame) -> "pd.Series[bool]":
    """Return where a dump site cannot be supplied at the needed flow."""
    return parcels["verdict"].isin(NOT_SUPPLIED)


def flow_classes(flow_gpm: "pd.Series[float]") -> NDArray[np.intp]:
    """
    Return the class of each flow [gpm]: 0 none, then one a break; empty is no place to stop.

    Examples
    --------
    >>> flow_classes(pd.Series([0.0, 249.0, 250.0, 1000.0, float("nan")])).tolist()
    [0, 1, 2, 4, 5]
    """
    flow = flow_gpm.to_numpy(dtype=np.float64)
    breaks = np.array(FLOW_BREAKS_GPM)
    breaks[0] += 2 * SLACK_GPM
    classes = np.searchsorted(breaks, flow + SLACK_GPM, side="right")
    return np.where(np.isnan(flow), NO_STOP, classes)


@dataclass(frozen=True, slots=True, kw_only=True)
class MapTables:
    """The four tables of the map with the words of their popups."""

    result: Result
    wording: Wording
    degrees: Degrees
    book: Phrasebook

    def parcels(self) -> Columns:
        """Return the parcels: outline, place, access point, answer, flow class, marks, popup."""
        frame = self.result.parcels
        sites = self.result.fill_sites
        names = dict(zip(sites["site_id"].astype(str), sites["name"].fillna(""), strict=True))
        planned_min = self.result.inputs.scenario.operation.duration_min
        popups = ParcelPopups(
            frame=frame, wording=self.wording, site_names=names, planned_min=planned_min
        )
        order = {str(verdict): number for number, verdict in enumerate(Verdict)}
        outlines = self.degrees.outlines(frame.geometry)
        return {
            "id": frame["parcel_id"].astype(str).tolist(),
            "shape": outlines.columns(),
            "at": self._away(frame[["lon", "lat"]], outlines),
            "access": self._away(frame[["access_lon", "access_lat"]], outlines),
            "verdict": frame["verdict"].astype(str).map(order).tolist(),
            "flow": flow_classes(frame["sustained_gpm"].fillna(0.0)).tolist(),
            **self._held_90(),
            "cross": not_supplied(frame).astype(int).tolist(),
            "tight": frame["tight"].astype(int).tolist(),
            "popup": self.book.packed_table(popups.said(), len(frame)),
            **clock_column(self.result, self.wording),
        }

    def _away(self, places: pd.DataFrame, outlines: Outlines) -> Columns:
        return self.degrees.away(places.to_numpy(dtype=np.float64), outlines.first)

    def _held_90(self) -> Columns:
        """Return the class of the flow held 9 times in 10, if incidents were drawn."""
        flow_gpm = self.result.parcels["held_90_gpm"]
        drawn = flow_gpm.notna().any()
        return {"held90": flow_classes(flow_gpm.fillna(0.0)).tolist()} if drawn else {}

    def roads(self) -> Columns:
        """Return the roads: line, flow class, popup."""
        frame = self.result.roads
        popups = RoadPopups(frame=frame, wording=self.wording)
        return {
            "shape": self.degrees.outlines(frame.geometry).columns(),
            "flow": flow_classes(frame["sustained_gpm"]).tolist(),
            "popup": self.book.packed_table(popups.said(), len(frame)),
        }

    def fill_sites(self) -> Columns:
        """Return the fill sites: place, sign, letter, whether open, label, popup."""
        frame = self.result.fill_sites
        table = rows(frame)
        signs = [site_sign(row["kind"], row["rate_gpm"]) for row in table]
        return {
            "id": frame["site_id"].astype(str).tolist(),
            "at": self.degrees.points(frame.geometry),
            "outline": [sign.outline for sign in signs],
            "letter": [sign.letter for sign in signs],
            "fill": [sign.fill for sign in signs],
            "ink": [sign.ink for sign in signs],
            "rank": _ranks(table),
            "open": [int(not known(row["why_not"])) for row in table],
            "label": [self._site_label(row) for row in table],
            "popup": self.book.packed(site_phrases(row, self.wording) for row in table),
        }

    def stations(self) -> Columns:
        """Return the stations: place, sign, label, popup."""
        frame = self.result.stations
        table = rows(frame)
        units = by_station(self.result.inputs.apparatus)
        return {
            "id": frame["station_id"].astype(str).tolist(),
            "at": self.degrees.points(frame.geometry),
            "outline": [STATION_SIGN.outline] * len(table),
            "letter": [STATION_SIGN.letter] * len(table),
            "fill": [STATION_SIGN.fill] * len(table),
            "ink": [STATION_SIGN.ink] * len(table),
            "open": [int(bool(row["on_road"])) for row in table],
            "label": [[place_name(row, "station_id")] for row in table],
            "popup": self.book.packed(
                station_phrases(row, units.get(str(row["station_id"]), []), self.wording)
                for row in table
            ),
        }

    def boundary(self) -> list[list[int]]:
        """Return the outline of the district, if there is one."""
        edge = self.result.inputs.boundary
        return self.degrees.shapes(gpd.GeoSeries([edge]))[0] if edge is not None else []

    def _site_label(self, row: Row) -> list[str]:
        figures = (site_rate(row, self.wording), site_volume(row, self.wording))
        return [place_name(row, "site_id"), ", ".join(part for part in figures if part)]


def _ranks(sites: list[dict[Hashable, Any]]) -> list[int]:
    """Return who is labelled first where room is short: other kinds before hydrants, then rate."""
    hydrant = [row["kind"] == SiteKind.HYDRANT for row in sites]
    rate = [row["rate_gpm"] if known(row["rate_gpm"]) else 0.0 for row in sites]
    ranks: list[int] = np.argsort(np.lexsort((-np.array(rate), hydrant))).tolist()
    return ranks


def by_station(apparatus: pd.DataFrame) -> Mapping[str, list[Row]]:
    """Return the apparatus of each station."""
    units: dict[str, list[Row]] = {}
    for unit in rows(apparatus):
        units.setdefault(str(unit["station_id"]), []).append(unit)
    return units
