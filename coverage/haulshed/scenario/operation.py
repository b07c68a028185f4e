"""How the shuttle is run: times, limits and who counts."""

from typing import Any, Literal

from haulshed.scenario.key import ASSUMED, PRACTICE, Section, key

Aid = Literal["own", "automatic", "mutual"]


def _left(kind: str) -> Any:  # noqa: ANN401 — the type is that of pydantic's own Field
    return key(None, f"share left of {kind}; none: drought_factor", ASSUMED, ge=0, le=1)


class WaterLeft(Section):
    """Keys of ``[operation.water_left]``: what a season leaves of the fill sites, by kind."""

    pond: float | None = _left("the volume and recharge of ponds")
    dry_hydrant: float | None = _left("the volume and recharge behind dry hydrants")
    stream: float | None = _left("the flow and recharge of streams, and of a volume stated")
    hydrant: float = key(1, "share left of the flow of hydrants", ASSUMED, ge=0, le=1)
    cistern: float = key(
        1, "share left of the volume and recharge of cisterns", ASSUMED, ge=0, le=1
    )

    def of_kind(self, kind: str, drought_factor: float) -> float:
        """Return the share that is left of a kind of site; 0 switches it off."""
        own: float | None = getattr(self, kind)
        return drought_factor if own is None else own


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
    water_left: WaterLeft = key(WaterLeft(), "share left by kind of fill site", ASSUMED)
    month: int | None = key(
        None,
        "month of the incident, 1 to 12; none: sites with open_months count as open",
        ASSUMED,
        ge=1,
        le=12,
    )
