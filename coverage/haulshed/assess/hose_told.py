"""The hose line that serves one parcel, with every figure that leads to its flow."""

from dataclasses import dataclass

import numpy as np

from haulshed.assess.hose_lines import flowing, given_gpm, hose_on_engines, laid_lines
from haulshed.assess.working import Working
from haulshed.hydraulics.hose import coefficient_for
from haulshed.hydraulics.supply_hose import used_hose
from haulshed.units import M_PER_FT


@dataclass(frozen=True, slots=True, kw_only=True)
class HoseLaid:
    """The hose of one size in a line."""

    diameter_in: float
    coefficient: float  #: of friction, see :mod:`haulshed.hydraulics.hose`
    feet: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HoseTold:
    """One hose line: how long, how high, what pump and line carry, what the site gives."""

    site_id: str
    site_road_ft: float  #: from the site to its road
    road_ft: float  #: by road to the access point
    lay_ft: float  #: on to the structure
    hose: tuple[HoseLaid, ...]  #: the size that loses least first
    rise_ft: float
    loss_psi_at_500_gpm: float
    pump_gpm: float
    suction_psi: float  #: 0 from a hydrant
    line_gpm: float  #: what pump and line carry
    rate_gpm: float  #: what the site gives
    volume_gpm: float | None  #: what its volume and recharge give over `over_min`; None: no limit
    over_min: float
    gpm: float  #: the least of the three


def hose_told(working: Working, place: int) -> HoseTold | None:
    """Return the hose line that serves a parcel; None where there is none."""
    site = int(working.hose.site[place])
    if site < 0:
        return None
    base, there = working.ground, working.there
    laid = laid_lines(base, there)
    at = int(np.flatnonzero((laid.parcel == place) & (laid.site == site))[0])
    site_road_ft = float(base.site_points.off_road_m[site] / M_PER_FT)
    all_ft = site_road_ft + float(laid.road_ft[at]) + float(there.lay_ft[place])
    rate_gpm, volume_gpm = given_gpm(base, laid.site, working.judged.test_min[laid.parcel])
    return HoseTold(
        site_id=str(base.inputs.fill_sites["site_id"].iloc[site]),
        site_road_ft=site_road_ft,
        road_ft=float(laid.road_ft[at]),
        lay_ft=float(there.lay_ft[place]),
        hose=_laid(working, place, all_ft),
        rise_ft=float(laid.rise_ft[at]),
        loss_psi_at_500_gpm=float(laid.loss_psi_per_gpm2[at] * 500**2),
        pump_gpm=float(laid.pump_gpm[at]),
        suction_psi=float(laid.suction_psi[at]),
        line_gpm=float(laid.carried_gpm[at]),
        rate_gpm=float(rate_gpm[at]),
        volume_gpm=float(volume_gpm[at]) if np.isfinite(volume_gpm[at]) else None,
        over_min=float(working.judged.test_min[place]),
        gpm=float(flowing(base, laid, working.judged.test_min).gpm[at]),
    )


def _laid(working: Working, place: int, all_ft: float) -> tuple[HoseLaid, ...]:
    """Return the hose of a line so long, by size."""
    base, counted = working.ground, working.there.counted[[place]]
    engines = counted[:, base.assignment.is_engine]
    used = used_hose(np.array([all_ft]), engines, *hose_on_engines(base))
    sizes = list(dict.fromkeys(used.diameter_in[used.used_ft[0] > 0].tolist()))
    return tuple(
        HoseLaid(
            diameter_in=size,
            coefficient=float(coefficient),
            feet=float(used.used_ft[0, used.diameter_in == size].sum()),
        )
        for size, coefficient in zip(sizes, coefficient_for(sizes), strict=True)
    )
