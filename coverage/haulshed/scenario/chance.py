"""How much times vary from incident to incident, and how many incidents are drawn."""

from haulshed.scenario.key import ASSUMED, Section, key


class ChanceRules(Section):
    """Keys of ``[chance]``."""

    draws: int = key(
        50, "incidents drawn for each parcel; 0: none, and no held_90_gpm", ASSUMED, ge=0, le=10_000
    )
    seed: int = key(1, "the same seed draws the same incidents, unit by unit", ASSUMED, ge=0)
    incident_drive_cv: float = key(
        0.10,
        "driving of all units of an incident, night and weather: standard deviation over mean",
        ASSUMED,
        ge=0,
        le=2,
    )
    drive_cv: float = key(
        0.10,
        "driving of one unit in one incident: standard deviation over mean",
        ASSUMED,
        ge=0,
        le=2,
    )
    turnout_cv: float = key(
        0.25, "turnout of one unit: standard deviation over mean", ASSUMED, ge=0, le=2
    )
    handling_cv: float = key(
        0.30,
        "handling at fill site, dump site and line, each time: standard deviation over mean",
        ASSUMED,
        ge=0,
        le=2,
    )
    fill_cv: float = key(
        0.15, "taking a load, each time: standard deviation over mean", ASSUMED, ge=0, le=2
    )
