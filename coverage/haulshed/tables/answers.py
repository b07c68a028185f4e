"""The answer for each parcel: the columns of ``parcels.csv``, in this order."""

from enum import StrEnum

from haulshed.tables.table import Column, Kind, Table


class Verdict(StrEnum):
    """What the parcel's needed flow can be held by."""

    HOSE_LINE = "hose line"
    NURSE = "nurse"
    DUMP_SITE = "dump site"
    SHORT = "short"
    NONE = "none"
    NO_DEMAND = "no demand"


class LimitedBy(StrEnum):
    """What holds the flow down. The first group is in the order that settles ties."""

    TANKERS = "tankers"
    FILL_POSITIONS = "fill positions"
    SOURCE = "source"
    DUMP_SITE = "dump site"
    NURSE_LINE = "nurse line"
    SUPPLY_LINE = "supply line"
    PUMP = "pump"
    DISTANCE = "distance"
    ENGINES = "engines"
    NO_ROAD = "no road"
    NO_WATER = "no water"
    NO_ENGINE = "no engine"
    NO_TANKER = "no tanker"
    ONE_TANKER = "one tanker"
    HOSE_TOO_SHORT = "supply hose too short"
    POSTED_LIMIT = "posted weight or height"


class RiseSource(StrEnum):
    """What the rise of a supply line rests on."""

    DEM = "dem"
    SCENARIO = "scenario"


class StructureSource(StrEnum):
    """Where the place of a parcel's structure is from."""

    GIVEN = "given"
    BUILDING = "building"
    POINT = "point"
    WITHIN = "within"


def _flow(name: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.NUMBER, unit="gpm", meaning=meaning)


def _minutes(name: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.NUMBER, unit="min", meaning=meaning)


def _feet(name: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.NUMBER, unit="ft", meaning=meaning)


def _text(name: str, meaning: str, choices: tuple[str, ...] = ()) -> Column:
    return Column(name=name, kind=Kind.TEXT, meaning=meaning, choices=choices)


def _count(name: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.WHOLE, meaning=meaning)


def _number(name: str, meaning: str, unit: str | None = None) -> Column:
    return Column(name=name, kind=Kind.NUMBER, unit=unit, meaning=meaning)


ANSWERS = Table(
    name="parcels",
    meaning="The answer for each parcel, one row a parcel of the input.",
    id_column="parcel_id",
    columns=(
        _text("parcel_id", "the parcel, as in the input"),
        _number("lon", "the structure, or a point within the parcel, degrees east (WGS 84)"),
        _number("lat", "the structure, or a point within the parcel, degrees north (WGS 84)"),
        _text(
            "structure_source",
            "what lon and lat are: as given, on the main building, the parcel's own point, or a"
            " point within its polygon",
            tuple(StructureSource),
        ),
        _text(
            "building_columns",
            "columns of the input that the footprints of buildings filled; structure stands for"
            " structure_lat and structure_lon",
        ),
        _number("access_lon", "access point, degrees east; empty where no road is near"),
        _number("access_lat", "access point, degrees north; empty where no road is near"),
        _feet("lay_ft", "hose from the access point to the structure"),
        _text("lay_source", "where lay_ft is from", ("given", "driveway", "straight")),
        _feet("rise_ft", "rise of the supply line from the access point to the structure"),
        _text(
            "rise_source",
            "where rise_ft is from: ground levels, or the scenario where one is not known",
            tuple(RiseSource),
        ),
        _flow("needed_gpm", "needed flow"),
        _number("needed_gal", "needed water, where the method states one", "gal"),
        _text(
            "demand_source",
            "what the needed flow rests on: the parcel's own data, its building's included, or"
            " defaults",
        ),
        _minutes(
            "test_min",
            "time over which the verdict is judged: the planned duration, or as long as the needed"
            " water lasts, at least 30 min, where the source's volume binds",
        ),
        _text("hose_site_id", "fill site near enough to lay hose from"),
        _feet("hose_site_ft", "road from that site to the access point"),
        _flow("hose_gpm", "flow of that hose line, over test_min"),
        _flow(
            "nurse_gpm",
            "flow that nursing alone holds on paper, at constant times; an upper bound where tanks"
            " or trips differ",
        ),
        _flow("dump_site_gpm", "flow that a dump site holds on paper, as nurse_gpm"),
        _flow(
            "sustained_gpm", "the larger of the two, on paper as long as planned; quote held_90_gpm"
        ),
        _flow("margin_gpm", "sustained_gpm less needed_gpm, over the planned duration"),
        _text("verdict", "what holds the needed flow on paper, over test_min", tuple(Verdict)),
        _text("limited_by", "what holds sustained_gpm down", tuple(LimitedBy)),
        Column(
            name="tight",
            kind=Kind.YES_NO,
            meaning="over test_min: not held without the largest tanker, or a margin under 15 %",
        ),
        _flow("minus_one_gpm", "sustained_gpm with the largest tanker out"),
        _text("best_site_id", "fill site that carries most"),
        _text("site_ids", "fill sites that the flow uses, the one that carries most first"),
        _minutes("round_trip_min", "round trip, weighted by the share of each tanker's time"),
        _number("road_miles_to_site", "loaded leg from best_site_id by road", "miles"),
        _count("tankers", "tankers there within assembly_min of dispatch"),
        _count(
            "tankers_needed",
            "fewest, as they arrive (together: larger tank first), that hold the needed flow",
        ),
        _count("engines", "engines there within assembly_min of dispatch"),
        _text("first_due", "station from which the first engine comes"),
        _minutes("first_engine_min", "from dispatch to the first engine"),
        _minutes("first_tanker_min", "from dispatch to the first tanker"),
        _minutes("last_tanker_min", "from dispatch to the last unit that the flow relies on"),
        _minutes(
            "first_water_min",
            "from dispatch to water on the fire, of the first engine's own tank; by the clock, as"
            " the columns after it",
        ),
        _minutes(
            "held_from_min",
            "from when on the needed flow is held without a gap, for the last hour at least, after"
            " whatever gaps there were before (longest_gap_min, short_gal); empty: it is not",
        ),
        _minutes(
            "longest_gap_min",
            "longest time with less water than is asked for, from the first water to the end of the"
            " planned duration",
        ),
        _number("short_gal", "water asked for in that time that does not come", "gal"),
        _number("delivered_120_gal", "water on the fire within 120 min of dispatch", "gal"),
        _flow(
            "clock_gpm", "average of the last hour, with sustained_gpm asked for, at constant times"
        ),
        _flow(
            "held_90_gpm",
            "the same in 9 incidents of 10, where times vary and units stay away: of the draws so"
            " many give at least this",
        ),
        _number(
            "held_share",
            "share of the incidents drawn in which the needed flow is held for the last hour at"
            " least, as held_from_min has it: earlier gaps do not count; it is uncertain by"
            " 2 √(share (1 − share) / draws)",
        ),
    ),
)
