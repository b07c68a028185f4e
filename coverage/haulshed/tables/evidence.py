"""The evidence tables: what ``evidence.csv`` and the workbook say of properties and fill sites."""

from enum import StrEnum

from haulshed.tables.table import Column, Kind, Table


class Met(StrEnum):
    """How something stands to a schedule's figure."""

    MET = "met"
    NOT_MET = "not met"
    NOT_JUDGED = "not judged"


class PaperColumn(StrEnum):
    """Columns of fill_sites that say whether a paper is at hand."""

    TEST_FLOW = "test_flow_gpm"
    LIFT = "lift_ft"
    HEAD_LOSS = "head_loss_ft"
    CERTIFICATE = "certificate"
    ALL_WEATHER = "all_weather"


def _number(name: str, meaning: str, unit: str | None = None) -> Column:
    return Column(name=name, kind=Kind.NUMBER, unit=unit, meaning=meaning)


def _text(name: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.TEXT, meaning=meaning)


def _yes_no(name: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.YES_NO, meaning=meaning)


def _test(name: str, meaning: str) -> Column:
    return Column(
        name=f"test_{name}",
        kind=Kind.TEXT,
        choices=tuple(Met),
        meaning=f"{meaning}; empty: the schedule does not ask",
    )


EVIDENCE = Table(
    name="evidence",
    meaning="Each property against a rating schedule's figures, one row a parcel of the input.",
    id_column="parcel_id",
    columns=(
        _text("parcel_id", "the parcel, as in the input"),
        _yes_no("structure", "something stands on it; if not, it is left out of the shares"),
        _number("needed_gpm", "needed flow by the scenario's method", "gpm"),
        _text("station_id", "nearest station on the road from which an engine is called"),
        _text("station_aid", "how that station comes to be called"),
        _number("station_miles", "shortest road from it to where the driveway meets", "miles"),
        _text("near_site_id", "nearest fill site that meets the schedule's figures"),
        _number("near_site_road_ft", "road from it to where the driveway meets", "ft"),
        _number("near_site_off_road_ft", "from it to its road", "ft"),
        _number("lay_ft", "hose from where the driveway meets to the structure", "ft"),
        _number("near_site_hose_ft", "hose from it, measured as the schedule does", "ft"),
        _number(
            "by_distance_gpm",
            "what a hydrant there counts for by its distance, at most its own flow",
            "gpm",
        ),
        _text("fill_site_id", "fill site that meets the figures, the nearest for a loaded tanker"),
        _number("fill_site_miles", "shortest road from it", "miles"),
        _number(
            "sustained_gpm", "what hauled water holds, at constant times, over the duration", "gpm"
        ),
        _text("relies_on", "near_site_id where its hose reaches, else the sites of that flow"),
        _number("volume_gal", "what the sources of relies_on give over the duration", "gal"),
        _number("first_engine_min", "from dispatch to the first engine", "min"),
        _number(
            "held_from_min",
            "from dispatch until the schedule's flow is held for the rest of its duration, by the"
            " clock; asked for from the first water on; empty: never",
            "min",
        ),
        _number("start_after_min", "held_from_min less first_engine_min", "min"),
        _number(
            "longest_gap_min",
            "longest break in that flow, from the first water on, by the clock",
            "min",
        ),
        _number("pump_gpm", "largest rated pump among the engines that count", "gpm"),
        _number("crew", "people on the units that count"),
        _yes_no("all_weather", "every site of relies_on is reached in all weather"),
        _number("papers_missing", "papers not at hand for the sites of relies_on"),
        _test("station", "station_miles is within the figure"),
        _test("hose", "near_site_hose_ft is within the figure"),
        _test("fill_site", "fill_site_miles is within the figure"),
        _test("steady", "sustained_gpm is at least the flow"),
        _test("in_time", "start_after_min is within the figure"),
        _test("unbroken", "longest_gap_min is within the figure"),
        _test("volume", "volume_gal is at least the flow times the duration"),
        _test("pump", "pump_gpm is at least the figure"),
        _test("crew", "crew is at least the figure"),
        _test("all_weather", "all_weather is yes"),
        _test("papers", "papers_missing is 0"),
        _text("not_met", "the tests not met"),
    ),
)

SOURCE_EVIDENCE = Table(
    name="sources",
    meaning="Each fill site against a rating schedule's figures.",
    id_column="site_id",
    columns=(
        _text("site_id", "the fill site"),
        _text("name", "its name"),
        _text("kind", "what the water is in"),
        _text("source_id", "main or water body"),
        _yes_no("usable", "open in the scenario and on a road"),
        _number("rate_gpm", "what it gives, by statement or flow test at 20 psi", "gpm"),
        _number("usable_gal", "water in its source in the scenario; empty: not limited", "gal"),
        _number("recharge_gpm", "rate at which its source refills", "gpm"),
        _number(
            "over_duration_gal",
            "the least of rate times duration and usable_gal with recharge over the duration",
            "gal",
        ),
        _yes_no("all_year", "no closed months"),
        _yes_no("all_weather", "reached in all weather; empty: not known"),
        _text("road_surface", "surface of its road by the map: paved, unpaved"),
        _number("lift_ft", "lift", "ft"),
        _number("head_loss_ft", "whole head at its flow", "ft"),
        _text("certificate", "paper that certifies its water in a drought"),
        _number("certified_year", "year of that paper"),
        _text("papers_missing", "what is asked for and not at hand"),
        _test("usable", "usable is yes"),
        _test("rate", "rate_gpm is at least the flow"),
        _test("volume", "over_duration_gal is at least the flow times the duration"),
        _test("all_year", "all_year is yes"),
        _test("all_weather", "all_weather is yes"),
        _test("lift", "lift_ft is within the figure"),
        _test("head_loss", "head_loss_ft is within the figure"),
        _yes_no("meets_figures", "no test is not met"),
    ),
)
