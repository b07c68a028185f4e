"""What a way's OpenStreetMap tags say of it as a road; keys as the OpenStreetMap wiki has them."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import inf, nan

from haulshed.roads.posted import least_posted, posted_height_ft, posted_weight_lb
from haulshed.scenario import RoadRules
from haulshed.units import factor_between

#: Values of `highway` that can be a ramp, too, as ``motorway_link``.
RAMPED = ("motorway", "trunk", "primary", "secondary", "tertiary")

#: Values of `highway` that are roads, the one with least to offer last.
ROAD_CLASSES = (
    *RAMPED,
    *(f"{name}_link" for name in RAMPED),
    *("unclassified", "residential", "road", "living_street", "service", "track"),
)

#: Keys that say whether a tanker may enter, the more specific first; the first one mapped counts.
ACCESS_KEYS = ("motor_vehicle", "vehicle", "access")

#: What a vehicle may weigh as it drives, and what it may be rated for.
WEIGHT_KEYS = ("maxweight", "maxweightrating")
#: The sign, and the room there is.
HEIGHT_KEYS = ("maxheight", "maxheight:physical")

#: Every key that a rule below reads; readers keep no other.
TAGS_USED = (
    *("highway", "area", "emergency", "service", "oneway", "junction", "surface", "maxspeed"),
    *("name", "ref", "bridge", "tunnel"),
    *WEIGHT_KEYS,
    *HEIGHT_KEYS,
    "hgv",
    *ACCESS_KEYS,
)

#: Values of `surface` that are not paved.
UNPAVED = frozenset(
    (
        *("unpaved", "gravel", "dirt", "ground", "earth", "compacted", "fine_gravel", "grass"),
        *("sand", "mud", "pebblestone", "rock", "grass_paver", "woodchips"),
    )
)

_FORWARD = frozenset(("yes", "true", "1"))
_BACKWARD = frozenset(("-1", "reverse"))
_BOTH = frozenset(("no", "false", "0"))
_CIRCLES = frozenset(("roundabout", "circular"))
_LIMIT = re.compile(r"(\d{1,4}(?:\.\d+)?)\s*(mph|km/h|kmh|kph)?", re.ASCII | re.IGNORECASE)
_MPH_PER_KMH = factor_between("kmh", "mph")


class LeftOut(StrEnum):
    """Why a way is no road for us; the key under which it is counted."""

    OTHER_CLASS = "ways_other_class"
    AREA = "ways_area"
    CLOSED = "ways_closed"
    TRACK = "ways_track"


@dataclass(frozen=True, slots=True, kw_only=True)
class Road:
    """A way as a road; columns of :data:`haulshed.tables.segments.SEGMENTS` where named alike."""

    road_class: str
    name: str
    forward_open: bool
    backward_open: bool
    public: bool
    may_stop: bool
    unpaved: bool
    posted_mph: float  #: NaN: no limit known
    bridge: bool
    max_weight_lb: float  #: NaN: none posted
    max_height_ft: float
    max_rated_lb: float
    hgv_allowed: bool
    oneway_understood: bool  #: no: read as two-way
    limit_understood: bool  #: no: a limit is mapped that is no plain speed
    weight_understood: bool  #: no: a weight is mapped that cannot be read
    height_understood: bool

    @property
    def posted_understood(self) -> bool:
        """Whether every posted weight and height can be read."""
        return self.weight_understood and self.height_understood


def left_out(tags: Mapping[str, str], rules: RoadRules) -> LeftOut | None:
    """
    Return why a way is left out, or None if it is a road.

    Examples
    --------
    >>> left_out({"highway": "track"}, RoadRules()).value
    'ways_track'
    >>> left_out({"highway": "service", "access": "no", "emergency": "yes"}, RoadRules())
    """
    if tags.get("highway") not in ROAD_CLASSES:
        return LeftOut.OTHER_CLASS
    if tags.get("area") == "yes":
        return LeftOut.AREA
    if tags["highway"] == "track" and not rules.tracks:
        return LeftOut.TRACK
    if _access(tags) == "no" and tags.get("emergency") != "yes":
        return LeftOut.CLOSED
    return None


def road(tags: Mapping[str, str], rules: RoadRules) -> Road:
    """
    Return what the tags say of a way that is not left out.

    Driveways and private service roads carry the lay; tankers use them only by `rules.private`.
    A service road kept private to all but emergency vehicles is public to us.

    Examples
    --------
    >>> ramp = road({"highway": "tertiary_link", "maxspeed": "45 mph"}, RoadRules())
    >>> ramp.road_class, ramp.posted_mph, ramp.may_stop
    ('tertiary_link', 45.0, False)
    """
    forward_open, backward_open, oneway_understood = _directions(tags)
    posted_mph = posted_limit_mph(tags.get("maxspeed", ""))
    weight, rated = (posted_weight_lb(tags.get(key, "")) for key in WEIGHT_KEYS)
    height = least_posted(*(posted_height_ft(tags.get(key, "")) for key in HEIGHT_KEYS))
    road_class = tags["highway"]
    return Road(
        road_class=road_class,
        name=tags.get("name") or tags.get("ref", ""),
        forward_open=forward_open,
        backward_open=backward_open,
        public=rules.private or not _private(tags),
        may_stop=road_class != "motorway"
        and not road_class.endswith("_link")
        and all(tags.get(key, "no") == "no" for key in ("bridge", "tunnel")),
        unpaved=any(part.strip() in UNPAVED for part in tags.get("surface", "").split(";")),
        posted_mph=posted_mph,
        bridge=tags.get("bridge", "no") != "no",
        max_weight_lb=weight.figure,
        max_height_ft=height.figure,
        max_rated_lb=rated.figure,
        hgv_allowed=tags.get("hgv") != "no",
        oneway_understood=oneway_understood,
        limit_understood="maxspeed" not in tags or posted_mph > 0,
        weight_understood=weight.understood and rated.understood,
        height_understood=height.understood,
    )


def posted_limit_mph(maxspeed: str) -> float:
    """
    Return the posted limit [mph] that a value of `maxspeed` states; NaN where it states none.

    A bare number is km/h, as the tag is defined. The least of a list counts. Words (``none``,
    ``signals``, ``RO:rural``), knots and 0 state no limit that we could drive by.

    Examples
    --------
    >>> posted_limit_mph("45 mph")
    45.0
    >>> round(posted_limit_mph("50;30"), 3)
    18.641
    >>> posted_limit_mph("walk")
    nan
    """
    least = min((_limit_mph(part) for part in maxspeed.split(";")), default=inf)
    return least if least < inf else nan


def _limit_mph(text: str) -> float:
    match = _LIMIT.fullmatch(text.strip())
    if not match or float(match[1]) == 0:
        return inf
    in_mph = (match[2] or "").lower() == "mph"
    return float(match[1]) * (1 if in_mph else _MPH_PER_KMH)


def _access(tags: Mapping[str, str]) -> str:
    return next((tags[key] for key in ACCESS_KEYS if key in tags), "yes")


def _private(tags: Mapping[str, str]) -> bool:
    if tags.get("service") == "driveway":
        return True
    for_emergencies = tags.get("emergency") == "yes"
    return tags["highway"] == "service" and _access(tags) == "private" and not for_emergencies


def _directions(tags: Mapping[str, str]) -> tuple[bool, bool, bool]:
    """Return whether forward is open, backward is open, and `oneway` was understood."""
    said = tags.get("oneway", "")
    implied = tags["highway"] == "motorway" or tags.get("junction") in _CIRCLES
    if said in _FORWARD or (not said and implied):
        return True, False, True
    if said in _BACKWARD:
        return False, True, True
    return True, True, not said or said in _BOTH
