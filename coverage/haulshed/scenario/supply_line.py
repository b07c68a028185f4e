"""The hose line from the dump site to the structure."""

from haulshed.scenario.key import ASSUMED, PRACTICE, Section, key


class SupplyLine(Section):
    """Keys of ``[supply_line]``."""

    discharge_psi: float = key(
        185,
        "highest pressure at which the line is pumped [psi]",
        "large-diameter supply hose operating maximum, Shapiro, fireapparatusmagazine.com",
        gt=0,
    )
    residual_psi: float = key(20, "pressure left where the line ends [psi]", PRACTICE, ge=0)
    appliance_psi: float = key(
        10, "lost in the inlet appliance [psi]", "10 psi from 350 gpm on, IFSTA ch. 7", ge=0
    )
    suction_psi: float = key(
        5, "added to the pump's net pressure when drafting [psi]", ASSUMED, ge=0
    )
    detour: float = key(
        1.2, "lay over straight distance, where no driveway is mapped", ASSUMED, ge=1, le=5
    )
    hose_reach_ft: float = key(
        1000,
        "a hydrant within this by road can be reached by hose [ft]",
        "ISO, Alternative Water Supplies: suction point within 1,000 ft",
        ge=0,
    )
    rise_ft: float = key(
        0, "rise from dump site to structure where none is known [ft]", ASSUMED, ge=-1000, le=1000
    )
