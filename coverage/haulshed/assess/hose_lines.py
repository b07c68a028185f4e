"""Hose lines: where a hydrant or a suction point is near enough to lay hose from it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.ground import Ground
from haulshed.assess.incidents import Incidents
from haulshed.hydraulics.line_point import line_point
from haulshed.hydraulics.supply_hose import supply_hose
from haulshed.roads.travel import road_feet

#: Engines that a hose line takes: one attacks; at a suction point another one drafts.
ENGINES_AT_HYDRANT = 1
ENGINES_AT_SUCTION = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HoseLines:
    """The best hose line to each parcel, shape (P,)."""

    site: NDArray[np.int64]  #: row of the fill site; -1 where none is in reach
    road_ft: NDArray[np.float64]  #: road from the site to the access point; NaN where none
    gpm: NDArray[np.float64]  #: flow over the duration asked for [gpm]; 0 where none


def hose_lines(ground: Ground, there: Incidents, duration_min: NDArray[np.float64]) -> HoseLines:
    """
    Return the hose line that gives most at each parcel, over `duration_min` [min], shape (P,).

    The line runs from the site by road to the access point and on along the lay. It is pumped as
    the supply line is, with the counted engines' hose and their largest pump. Its flow is the least
    of the line's, the site's rate, and the site's volume over the duration with its recharge. Of
    lines that give the same the one with the nearest site counts, then the one that stands first.
    """
    supply_line = ground.inputs.scenario.supply_line
    road_ft = road_feet(
        ground.network, ground.site_points, there.access, reach_ft=supply_line.hose_reach_ft
    )
    suction = ground.sites["needs_pumper"].to_numpy(dtype=bool)
    takes = np.where(suction, ENGINES_AT_SUCTION, ENGINES_AT_HYDRANT)
    possible = np.isfinite(road_ft) & (there.engines >= takes[:, None])
    site, parcel = np.nonzero(possible & ground.site_serves[:, None])
    gpm = np.minimum(
        _carried(ground, there, parcel, road_ft[site, parcel], suction[site]),
        _given(ground, site, duration_min[parcel]),
    )
    return _best(len(duration_min), site, parcel, gpm, road_ft[site, parcel])


def _carried(
    ground: Ground,
    there: Incidents,
    parcel: NDArray[np.int64],
    road_ft: NDArray[np.float64],
    suction: NDArray[np.bool_],
) -> NDArray[np.float64]:
    """Return what pump and line carry for each pair of site and parcel [gpm]."""
    units, line = ground.roster, ground.inputs.scenario.supply_line
    engines = there.counted[:, units.is_engine]
    hose = supply_hose(
        there.lay_ft[parcel] + road_ft,
        engines[parcel],
        units.numbers("supply_hose_ft")[units.is_engine],
        units.numbers("supply_hose_in")[units.is_engine],
    )
    pumps_gpm = np.where(engines, units.numbers("pump_gpm")[units.is_engine], 0.0)
    pump_gpm = pumps_gpm.max(axis=1, initial=0.0)[parcel]
    by_hydrant = line_point(hose.loss_psi_per_gpm2, pump_gpm, line, suction_psi=0.0)
    drafted = line_point(hose.loss_psi_per_gpm2, pump_gpm, line, suction_psi=line.suction_psi)
    return np.where(suction, drafted.flow_gpm, by_hydrant.flow_gpm)


def _given(
    ground: Ground, site: NDArray[np.int64], duration_min: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return what each site gives over each duration [gpm]."""
    rate_gpm, volume_gal, recharge_gpm = (
        ground.sites[column].to_numpy(dtype=np.float64)[site]
        for column in ("rate_gpm", "volume_gal", "recharge_gpm")
    )
    return np.asarray(np.minimum(rate_gpm, volume_gal / duration_min + recharge_gpm))


def _best(
    parcels: int,
    site: NDArray[np.int64],
    parcel: NDArray[np.int64],
    gpm: NDArray[np.float64],
    road_ft: NDArray[np.float64],
) -> HoseLines:
    order = np.lexsort((site, road_ft, -gpm, parcel))
    order = order[gpm[order] > 0]
    served, first = np.unique(parcel[order], return_index=True)
    chosen = order[first]
    best_site = np.full(parcels, -1, dtype=np.int64)
    best_ft, best_gpm = np.full(parcels, np.nan), np.zeros(parcels)
    best_site[served] = site[chosen]
    best_ft[served] = road_ft[chosen]
    best_gpm[served] = gpm[chosen]
    return HoseLines(site=best_site, road_ft=best_ft, gpm=best_gpm)
