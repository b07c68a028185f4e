"""The layers that a run writes: what each of their columns means."""

from collections.abc import Mapping

from haulshed.tables.answers import ANSWERS
from haulshed.tables.fill_sites import FILL_SITES
from haulshed.tables.segments import SEGMENTS
from haulshed.tables.stations import STATIONS
from haulshed.tables.table import Column, Kind, Table


def _number(name: str, meaning: str, unit: str | None = None) -> Column:
    return Column(name=name, kind=Kind.NUMBER, unit=unit, meaning=meaning)


def _text(name: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.TEXT, meaning=meaning)


def _yes_no(name: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.YES_NO, meaning=meaning)


_OF_SEGMENTS = (
    *("segment_id", "way_id", "name", "road_class", "unpaved"),
    *("bridge", "max_weight_lb", "max_height_ft"),
)

ROADS = Table(
    name="roads",
    meaning="Each road segment, with the flow that can be held at its middle.",
    id_column="segment_id",
    columns=(
        *(SEGMENTS.by_name[name] for name in _OF_SEGMENTS),
        _number("speed_mph", "speed of a loaded tanker", "mph"),
        _text("speed_source", "what that speed is from: class, posted limit or max_mph"),
        _yes_no("closed", "closed in the scenario"),
        _number(
            "sustained_gpm",
            "what hauled water holds at its middle with a lay of 50 ft; empty: tankers do not go"
            " or stop there",
            "gpm",
        ),
    ),
)

#: What a run adds to the fill sites of the input.
FILL_SITE_ANSWERS = (
    _number("rate_gpm", "rate that it gives in the scenario", "gpm"),
    _number("volume_gal", "water that can be taken in the scenario; empty: not limited", "gal"),
    _number("refill_gpm", "rate at which it refills in the scenario", "gpm"),
    _yes_no("open", "can be used in the scenario"),
    _yes_no("on_road", "a road is near enough"),
    _number("road_ft", "straight distance to the road", "ft"),
    _number("parcels_reached", "parcels to which there is a way from it and back"),
    _number("parcels_best", "parcels that it carries most for"),
    _text("why_not", "why it is of no use; empty: it is of use"),
)

#: What a run adds to the stations of the input.
STATION_ANSWERS = (
    _yes_no("on_road", "a road is near enough"),
    _number("road_ft", "straight distance to the road", "ft"),
    _text("tankers", "tankers based there"),
    _text("engines", "engines based there"),
)

#: Columns that a layer may have, by layer.
LAYER_COLUMNS: Mapping[str, tuple[Column, ...]] = {
    "parcels": ANSWERS.columns,
    "roads": ROADS.columns,
    "fill_sites": (*FILL_SITES.columns, *FILL_SITE_ANSWERS),
    "stations": (*STATIONS.columns, *STATION_ANSWERS),
}
