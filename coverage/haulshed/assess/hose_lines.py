"""Hose lines: where a hydrant or a suction point is near enough to lay hose from it."""

from dataclasses import dataclass, fields

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import KDTree

from haulshed.assess.ground import Ground
from haulshed.assess.incidents import Incidents
from haulshed.assess.rises import rises_between
from haulshed.assess.shuttle_case import sites_of
from haulshed.hydraulics.line_point import line_point
from haulshed.hydraulics.supply_hose import SupplyHose, supply_hose
from haulshed.roads.travel import road_feet
from haulshed.units import M_PER_FT

#: Engines that a hose line takes: one attacks; at a suction point another one drafts.
ENGINES_AT_HYDRANT = 1
ENGINES_AT_SUCTION = 2
#: A way by road is no shorter than the straight one, but for the gaps that a file's lines may have
#: where they meet: it is looked so many times as far.
_ROOM = 1.25


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HoseLines:
    """The best hose line to each parcel, shape (P,)."""

    site: NDArray[np.int64]  #: row of the fill site; -1 where none is in reach
    road_ft: NDArray[np.float64]  #: road from the site to the access point; NaN where none
    gpm: NDArray[np.float64]  #: flow over the duration asked for [gpm]; 0 where none
    volume_binds: NDArray[np.bool_]  #: more volume would carry more


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidLines:
    """Every hose line that can be laid, whatever the duration; arrays in step with each other."""

    parcel: NDArray[np.int64]
    site: NDArray[np.int64]
    road_ft: NDArray[np.float64]
    rise_ft: NDArray[np.float64]  #: from the ground at the site to that at the structure
    loss_psi_per_gpm2: NDArray[np.float64]
    pump_gpm: NDArray[np.float64]  #: rated, the largest of the counted engines
    suction_psi: NDArray[np.float64]  #: net pressure that lifting the water takes
    carried_gpm: NDArray[np.float64]  #: by pump and line


def hose_lines(ground: Ground, laid: LaidLines, duration_min: NDArray[np.float64]) -> HoseLines:
    """
    Return the hose line that gives most at each parcel, over `duration_min` [min], shape (P,).

    The line runs from the site to its road, by road to the access point and on along the lay, and
    rises from the ground at the site to that at the structure. It is pumped as the supply line is,
    with the counted engines' hose and their largest pump. Its flow is the least of the line's, the
    site's rate, and the source's volume over the duration with its recharge. Of lines that give the
    same the one with the nearest site counts, then the first.
    """
    return _best(len(duration_min), laid.parcel, flowing(ground, laid, duration_min))


def laid_lines(ground: Ground, there: Incidents) -> LaidLines:
    """Return every hose line that can be laid."""
    supply_line, sites = ground.inputs.scenario.supply_line, ground.site_points
    reach_ft = supply_line.hose_reach_ft
    near = _near(sites.xy, there.access.xy, reach_ft * M_PER_FT)
    road_ft = road_feet(ground.network, sites, there.access.take(near), reach_ft=reach_ft)
    suction = ground.sites["needs_pumper"].to_numpy(dtype=bool)
    takes = np.where(suction, ENGINES_AT_SUCTION, ENGINES_AT_HYDRANT)
    possible = np.isfinite(road_ft) & (there.engines[near] >= takes[:, None])
    site, column = np.nonzero(possible & ground.site_serves[:, None])
    parcel, road_ft = near[column], road_ft[site, column]
    hose = _hose(ground, there, parcel, road_ft + sites.off_road_m[site] / M_PER_FT)
    pump_gpm, rise_ft = _largest_pump(ground, there)[parcel], _rise(ground, there, site, parcel)
    suction_psi = np.where(suction, supply_line.suction_psi, 0.0)[site]
    point = line_point(
        hose.loss_psi_per_gpm2, pump_gpm, supply_line, rise_ft=rise_ft, suction_psi=suction_psi
    )
    return LaidLines(
        parcel=parcel,
        site=site,
        road_ft=road_ft,
        rise_ft=rise_ft,
        loss_psi_per_gpm2=hose.loss_psi_per_gpm2,
        pump_gpm=pump_gpm,
        suction_psi=suction_psi,
        carried_gpm=point.flow_gpm,
    )


def _near(
    sites_xy: NDArray[np.float64], access_xy: NDArray[np.float64], reach_m: float
) -> NDArray[np.int64]:
    """Return the access points that may be in reach of a site by road: those straight across."""
    on_road = np.flatnonzero(~np.isnan(access_xy[:, 0]))
    sites = KDTree(sites_xy[~np.isnan(sites_xy[:, 0])])
    straight_m, _ = sites.query(access_xy[on_road])
    return on_road[straight_m <= reach_m * _ROOM]


def flowing(ground: Ground, laid: LaidLines, duration_min: NDArray[np.float64]) -> HoseLines:
    """Return what flows over `duration_min` [min], shape (P,), in step with the lines laid."""
    rate_gpm, volume_gpm = given_gpm(ground, laid.site, duration_min[laid.parcel])
    steady_gpm = np.minimum(laid.carried_gpm, rate_gpm)
    return HoseLines(
        site=laid.site,
        road_ft=laid.road_ft,
        gpm=np.minimum(steady_gpm, volume_gpm),
        volume_binds=volume_gpm < steady_gpm,
    )


def _hose(
    ground: Ground,
    there: Incidents,
    parcel: NDArray[np.int64],
    laid_ft: NDArray[np.float64],
) -> SupplyHose:
    """Return the hose of each line: from the site to the access point, then along the lay."""
    return supply_hose(
        there.lay_ft[parcel] + laid_ft,
        there.counted[:, ground.assignment.is_engine][parcel],
        *hose_on_engines(ground),
    )


def hose_on_engines(ground: Ground) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the feet of supply hose on each engine, and its diameter [in]."""
    units = ground.assignment
    feet, inches = units.numbers("supply_hose_ft"), units.numbers("supply_hose_in")
    return feet[units.is_engine], inches[units.is_engine]


def _largest_pump(ground: Ground, there: Incidents) -> NDArray[np.float64]:
    """Return the rated pump of the largest counted engine at each parcel [gpm]."""
    units = ground.assignment
    counted, pump_gpm = there.counted[:, units.is_engine], units.numbers("pump_gpm")
    largest = np.where(counted, pump_gpm[units.is_engine], 0.0).max(axis=1, initial=0.0)
    return np.asarray(largest)


def _rise(
    ground: Ground, there: Incidents, site: NDArray[np.int64], parcel: NDArray[np.int64]
) -> NDArray[np.float64]:
    places = shapely.get_coordinates(np.asarray(ground.inputs.fill_sites.geometry, dtype=object))
    return rises_between(ground.inputs, places[site], there.rises.end_xy[parcel]).rise_ft


def given_gpm(
    ground: Ground, site: NDArray[np.int64], duration_min: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return what each site gives by its rate, and by its volume over each duration [gpm]."""
    sites = sites_of(ground)
    rate_gpm = sites.flow_gpm[site]
    volume_gal = sites.of_source(sites.usable_gal)[site]
    recharge_gpm = sites.of_source(sites.recharge_gpm)[site]
    return rate_gpm, volume_gal / duration_min + recharge_gpm


def _best(parcels: int, parcel: NDArray[np.int64], lines: HoseLines) -> HoseLines:
    """Return the best of the `lines` to each `parcel`; both are in step with each other."""
    order = np.lexsort((lines.site, lines.road_ft, -lines.gpm, parcel))
    order = order[lines.gpm[order] > 0]
    served, first = np.unique(parcel[order], return_index=True)
    chosen = order[first]
    best = HoseLines(
        site=np.full(parcels, -1, dtype=np.int64),
        road_ft=np.full(parcels, np.nan),
        gpm=np.zeros(parcels),
        volume_binds=np.zeros(parcels, dtype=np.bool_),
    )
    for field in fields(HoseLines):
        getattr(best, field.name)[served] = getattr(lines, field.name)[chosen]
    return best
