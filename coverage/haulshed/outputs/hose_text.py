"""The hose line to one parcel as text, to be followed with a pencil."""

import math
from collections.abc import Iterator

from haulshed.assess.hose_told import HoseTold
from haulshed.hydraulics.line_point import PSI_PER_FT
from haulshed.hydraulics.pump import RATING_POINTS
from haulshed.scenario import SupplyLine

#: The flow at which losses are told [gpm].
_AT_GPM = 500.0


def hose_text(hose: HoseTold, line: SupplyLine) -> Iterator[str]:
    """Yield the lines of the section, its head first."""
    yield f"Hose line from {hose.site_id}, over {hose.over_min:,.1f} min: {hose.gpm:,.1f} gpm"
    all_ft = hose.site_road_ft + hose.road_ft + hose.lay_ft
    yield (
        f"   hose: {hose.site_road_ft:,.0f} ft from site to road + {hose.road_ft:,.0f} ft by road"
        f" + {hose.lay_ft:,.0f} ft lay = {all_ft:,.0f} ft"
    )
    sizes = " + ".join(
        f"{one.coefficient:g} × {one.feet:,.0f} ft of {one.diameter_in:g} in" for one in hose.hose
    )
    yield f"   loss [psi] = (Q / 100)² / 100 × ({sizes})"
    rise_psi = PSI_PER_FT * hose.rise_ft
    left_psi = line.discharge_psi - line.residual_psi - line.appliance_psi - rise_psi
    per_gpm2 = hose.loss_psi_at_500_gpm / _AT_GPM**2
    yield (
        f"   loss at {_AT_GPM:.0f} gpm {hose.loss_psi_at_500_gpm:.1f} psi;"
        f" rise {hose.rise_ft:,.0f} ft = {rise_psi:.1f} psi"
    )
    yield (
        f"   left for loss: {line.discharge_psi:g} psi discharge - {line.residual_psi:g} residual"
        f" - {line.appliance_psi:g} appliance - {rise_psi:.1f} rise = {left_psi:.1f} psi"
    )
    if per_gpm2 > 0 and left_psi > 0:
        by_line_gpm = math.sqrt(left_psi / per_gpm2)
        yield (
            f"   the line alone: {_AT_GPM:.0f} × √({left_psi:.1f} / {hose.loss_psi_at_500_gpm:.1f})"
            f" = {by_line_gpm:,.0f} gpm"
        )
    points = ", ".join(
        f"{100 * share:.0f} % at {psi:.0f} psi" for psi, share in reversed(RATING_POINTS)
    )
    yield f"   largest pump in time: {hose.pump_gpm:,.0f} gpm; it gives {points}"
    lift = f", {hose.suction_psi:g} psi more to lift the water" if hose.suction_psi else ""
    yield f"   pump and line together carry {hose.line_gpm:,.1f} gpm{lift}"
    volume = (
        "its volume is no limit"
        if hose.volume_gpm is None
        else f"its volume and recharge {hose.volume_gpm:,.1f} gpm"
    )
    yield f"   the site gives {hose.rate_gpm:,.1f} gpm, {volume}; the least counts"
