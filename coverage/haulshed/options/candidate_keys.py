"""Which candidate fill sites are looked for, and what is assumed of each kind."""

from typing import Literal

from haulshed.options.cost import Cost
from haulshed.scenario.key import ASSUMED, PRACTICE, Section, key

#: Where candidates come from.
Origin = Literal["ponds", "streams", "crossroads", "main ends"]

#: Sums to start a talk with; ask for offers. The published figures differ too much to lean on.
_BALLPARK = "a round sum to start from, assumption of this project; replace it by an offer"


class PondKeys(Cost):
    """A dry hydrant or a ramp at standing water."""

    capital: float = key(10_000, "paid once", _BALLPARK, ge=0)
    yearly: float = key(200, "paid every year: back-flushing, mowing, testing", _BALLPARK)
    life_years: float = key(30, "years that it serves", ASSUMED, gt=0)
    flow_gpm: float = key(
        1000, "rate of the suction line [gpm]", "common practice, no source", gt=0
    )
    draw_ft: float = key(
        2, "depth over the whole surface that can be drawn in a drought [ft]", ASSUMED, gt=0
    )
    least_gal: float = key(
        30_000,
        "less water is no candidate [gal]",
        "NFPA 1142: water supplies are to hold 30,000 gal (value from memory)",
        ge=0,
    )


class StreamKeys(Cost):
    """A dry hydrant or a drafting place at running water."""

    capital: float = key(12_000, "paid once", _BALLPARK, ge=0)
    yearly: float = key(300, "paid every year", _BALLPARK)
    life_years: float = key(25, "years that it serves", ASSUMED, gt=0)
    flow_gpm: float = key(
        250, "what the stream gives in a drought, until it is measured [gpm]", ASSUMED, gt=0
    )


class CisternKeys(Cost):
    """A buried tank at a crossroads."""

    capital: float = key(60_000, "paid once", _BALLPARK, ge=0)
    yearly: float = key(400, "paid every year", _BALLPARK)
    life_years: float = key(40, "years that it serves", ASSUMED, gt=0)
    flow_gpm: float = key(1000, "rate of the suction line [gpm]", PRACTICE, gt=0)
    usable_gal: float = key(
        30_000, "water that it holds [gal]", "NFPA 1142: 30,000 gal (value from memory)", gt=0
    )


class HydrantKeys(Cost):
    """A hydrant where a main ends, beyond the last one that is there."""

    capital: float = key(9_000, "paid once, without a longer main", _BALLPARK, ge=0)
    yearly: float = key(150, "paid every year", _BALLPARK)
    life_years: float = key(50, "years that it serves", ASSUMED, gt=0)


class CandidateKeys(Section):
    """Keys of ``[candidates]``."""

    file: str | None = key(
        None, "the user's own list, or pond_candidates.csv of `haulshed new`", ""
    )
    crs: str | None = key(
        None, "coordinate system of that file, where it does not say it: that of x and y", ""
    )
    sources: tuple[Origin, ...] = key(
        (), "found on the map: ponds, streams, crossroads, main ends", ""
    )
    water: str | None = key(None, "OpenStreetMap file with the waters; the road file if none", "")
    within_ft: float = key(
        200, "from the road to the water, at most [ft]", "reach of the site's own road", gt=0
    )
    apart_ft: float = key(
        2640, "candidates of one kind are at least so far apart [ft]", ASSUMED, ge=0
    )
    at_most: int = key(200, "candidates taken, those that most parcels need first", "", ge=1)
    pond: PondKeys = key(PondKeys(), "standing water", "")
    stream: StreamKeys = key(StreamKeys(), "running water", "")
    cistern: CisternKeys = key(CisternKeys(), "buried tanks", "")
    hydrant: HydrantKeys = key(HydrantKeys(), "hydrants", "")
