"""How the shuttle is run: times, limits and who counts."""

from typing import Literal

from haulshed.scenario.key import ASSUMED, PRACTICE, Section, key

Aid = Literal["own", "automatic", "mutual"]


class Operation(Section):
    """Keys of ``[operation]``."""

    duration_min: float = key(
        120,
        "how long the flow is to be held [min]",
        "ISO, Alternative Water Supplies: 250 gpm for 2 hours",
        gt=0,
        le=1440,
    )
    assembly_min: float = key(
        30, "a unit that arrives later than this after dispatch does not count [min]", ASSUMED, gt=0
    )
    loss_share: float = key(
        0.10,
        "share of a tank that is not filled or not delivered",
        "tank less 10 %: ISO, Alternative Water Supplies; NFPA 1142 Annex C (from memory)",
        ge=0,
        lt=1,
    )
    fill_handling_min: float = key(
        2.5,
        "manoeuvre, make and break at a fill site without its own figure [min]",
        "assumption of this project, under the 3 min of a measured drill (Talbot County MD, 2010)",
        ge=0,
        le=60,
    )
    dump_handling_min: float = key(
        1.5,
        "manoeuvre and open the valve at the dump site [min]",
        "assumption of this project, under the 3 min of a measured drill (Talbot County MD, 2010)",
        ge=0,
        le=60,
    )
    nurse_handling_min: float = key(
        2.0, "couple to and leave the supply line [min]", PRACTICE, ge=0, le=60
    )
    nurse_limit_gpm: float = key(
        500, "what one stream into the supply line carries [gpm]", PRACTICE, gt=0
    )
    nurse_buffer_gal: float = key(
        0, "water at the inlet that bridges the gap between tankers [gal]", ASSUMED, ge=0
    )
    dump_positions_max: int = key(3, "tankers that unload at once, at most", PRACTICE, ge=0, le=20)
    parcel_snap_ft: float = key(
        2640, "a parcel farther from every public road has none [ft]", ASSUMED, gt=0
    )
    site_snap_ft: float = key(
        200, "a fill site or station farther from every road is not on it [ft]", ASSUMED, gt=0
    )
    turnout_min: float = key(
        5, "from dispatch to rolling, where the station gives none [min]", PRACTICE, ge=0
    )
    aid: tuple[Aid, ...] = key(("own", "automatic"), "stations that are called", PRACTICE)
    alarm: int = key(3, "alarms struck: units of a later alarm do not count", PRACTICE, ge=1)
    drought_factor: float = key(
        1,
        "share left of the stated volume, recharge and flow of ponds, dry hydrants and streams",
        ASSUMED,
        ge=0,
        le=1,
    )
    month: int | None = key(
        None,
        "month of the incident, 1 to 12; none: sites with open_months count as open",
        ASSUMED,
        ge=1,
        le=12,
    )
