"""How fast a tanker drives and which ways it may use."""

from enum import StrEnum

from haulshed.scenario.key import ASSUMED, Section, key


class TravelMethod(StrEnum):
    """How road becomes minutes."""

    NETWORK = "network"  #: minutes of each road segment at its own speed
    ROAD_DISTANCE = "road_distance"  #: published T = 0.65 + X·D on road miles


class PostedWeights(StrEnum):
    """Where a posted weight stops apparatus."""

    ALL = "all"  #: everywhere
    BRIDGES = "bridges"  #: on bridges; elsewhere the sign is law that apparatus is exempt from
    NONE = "none"  #: nowhere


class SpeedTable(Section):
    """Speed of a loaded tanker by road class [mph], before posted limit, max_mph and unpaved."""

    motorway: float = key(50, "motorway", ASSUMED, gt=0, le=90)
    trunk: float = key(45, "trunk road", ASSUMED, gt=0, le=90)
    primary: float = key(40, "primary road", ASSUMED, gt=0, le=90)
    secondary: float = key(40, "secondary road", ASSUMED, gt=0, le=90)
    tertiary: float = key(35, "tertiary road", ASSUMED, gt=0, le=90)
    unclassified: float = key(30, "unclassified road", ASSUMED, gt=0, le=90)
    residential: float = key(
        30, "residential road; in US data most of the rural county grid", ASSUMED, gt=0, le=90
    )
    living_street: float = key(15, "living street", ASSUMED, gt=0, le=90)
    service: float = key(10, "service road", ASSUMED, gt=0, le=90)
    road: float = key(25, "road of unknown class", ASSUMED, gt=0, le=90)
    track: float = key(10, "track", ASSUMED, gt=0, le=90)
    link: float = key(30, "ramp between roads of any class", ASSUMED, gt=0, le=90)


class RoadRules(Section):
    """Keys of ``[roads]`` that shape travel."""

    method: TravelMethod = key(
        TravelMethod.NETWORK, "how road becomes minutes: network or road_distance", ASSUMED
    )
    unpaved_factor: float = key(0.75, "speed on unpaved road, as a share", ASSUMED, gt=0, le=1)
    leg_fixed_min: float = key(
        0.65,
        "added to every leg for gathering speed and turning [min]",
        "ISO, Response-Time Considerations: T = 0.65 + 1.7 D",
        ge=0,
        le=30,
    )
    max_mph: float = key(45, "no tanker drives faster [mph]", ASSUMED, gt=0, le=90)
    road_distance_min_per_mile: float = key(
        1.7,
        "X of T = 0.65 + X·D [min/mile]",
        "ISO, Response-Time Considerations: 1.7 at an average of 35 mph",
        gt=0,
        le=20,
    )
    tracks: bool = key(default=False, meaning="tankers use tracks", source=ASSUMED)
    private: bool = key(
        default=False, meaning="tankers use driveways and private service roads", source=ASSUMED
    )
    posted_weights: PostedWeights = key(
        PostedWeights.ALL,
        "posted weights that stop apparatus: all; bridges, where it is exempt elsewhere; or none",
        "assumption of this project, the cautious one: a weak culvert is seldom mapped as a bridge",
    )
    legal_limits: bool = key(
        default=False,
        meaning="hgv = no and a posted rated weight stop apparatus too",
        source="emergency vehicles are exempt by common practice; local law governs",
    )
    assumed_empty_lb: float = key(
        33_000,
        "weight with an empty tank, where a unit gives no weight at all [lb]",
        ASSUMED,
        gt=0,
        le=200_000,
    )
    assumed_height_ft: float = key(
        11, "height of a unit that gives none [ft]", ASSUMED, gt=0, le=20
    )
    closed_ways: tuple[int, ...] = key(
        (), "ways of the road file, by their ids, that are closed", ASSUMED
    )
    closed_area: str | None = key(None, "file with an area in which every road is closed", ASSUMED)
    speed_mph: SpeedTable = key(SpeedTable(), "speed by road class [mph]", ASSUMED)
