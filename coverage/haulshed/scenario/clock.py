"""How an incident runs from dispatch on: when water is asked for, and how long crews take."""

from haulshed.scenario.key import ASSUMED, PRACTICE, Section, key


class ClockRules(Section):
    """Keys of ``[clock]``."""

    attack_setup_min: float = key(
        3, "from the first engine's arrival to water on the fire [min]", ASSUMED, ge=0, le=60
    )
    attack_gpm: float = key(
        150, "asked for at first, until the needed flow is [gpm]", PRACTICE, gt=0, le=5000
    )
    attack_min: float = key(
        10, "how long the attack flow is asked for, from the first water [min]", ASSUMED, ge=0
    )
    overhaul_gpm: float = key(
        100, "asked for once the planned duration is over [gpm]", ASSUMED, gt=0, le=5000
    )
    overhaul_min: float = key(30, "how long that is asked for [min]", ASSUMED, ge=0, le=1440)
    supply_line_min: float = key(
        5,
        "from the arrival of the engine whose hose completes the lay to a line ready for water"
        " [min]",
        ASSUMED,
        ge=0,
        le=120,
    )
    dump_site_people: int = key(
        8,
        "people at the incident before a dump site is built: engine crews, tanker crews less the"
        " driver",
        ASSUMED,
        ge=0,
        le=100,
    )
    dump_site_build_min: float = key(
        10, "to set up the first portable tank and the drafting engine [min]", ASSUMED, ge=0, le=240
    )
    next_tank_min: float = key(
        5, "to set up each further portable tank, once the one before works [min]", ASSUMED, ge=0
    )
    draft_setup_min: float = key(
        6, "from an engine's arrival at a fill site to a tanker filling there [min]", ASSUMED, ge=0
    )
    shortest_gap_min: float = key(
        0.5, "a shorter gap does not count against a flow that is held [min]", ASSUMED, ge=0, le=30
    )
