"""The model from end to end: a checked district in, every parcel's answer out. No I/O."""

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.assess.answers import answers
from haulshed.assess.build_ups import build_ups
from haulshed.assess.clocked import clocked
from haulshed.assess.ground import Ground, ground, site_reach
from haulshed.assess.hose_lines import LaidLines, hose_lines, laid_lines
from haulshed.assess.incidents import Incidents, arrivals, incidents, incidents_by, take
from haulshed.assess.rises import parcel_rises, rises_between
from haulshed.assess.shuttle_case import places_of, sites_of, tankers_of
from haulshed.assess.summary import summary
from haulshed.assess.working import Judged, Working
from haulshed.case import Inputs, Memory, Progress, Result
from haulshed.demand.need import Need
from haulshed.demand.needed import needed
from haulshed.roads.lay import SHORTEST_LAY_FT, lays
from haulshed.roads.points import Points
from haulshed.roads.snap import access_points
from haulshed.shuttle import Flows, StageFlows, flows, stage_flows
from haulshed.units import M_PER_FT
from haulshed.verdict import judged_minutes

Floats = NDArray[np.float64]

#: Places along the roads that are worked out together: a county's legs at once take gigabytes.
_MIDDLES_AT_ONCE = 4000


def assess(inputs: Inputs, *, progress: Progress, memory: Memory | None = None) -> Result:
    """
    Return what the model says of a district.

    Parameters
    ----------
    inputs
        A checked district.
    progress
        Called with each step as it starts, and with how far the long ones are.
    memory
        What earlier runs worked out; None: nothing is remembered.

    Raises
    ------
    NetworkError
        If no road is open to tankers.
    """
    working = work_out(inputs, progress=progress)
    played = clocked(working, memory=memory, progress=progress)
    table = answers(working, played)
    roads, by_highs = _roads(working, progress)
    return Result(
        inputs=inputs,
        parcels=gpd.GeoDataFrame(table, geometry=inputs.parcels.geometry, crs=inputs.parcels.crs),
        roads=roads,
        fill_sites=_fill_sites(working, table),
        stations=_stations(working.ground),
        build_ups=build_ups(working, progress=progress),
        summary=summary(
            working.ground,
            working.there,
            table,
            played=played,
            handed_over=int(working.flows.rescued + working.judged.flows.rescued) + by_highs,
        ),
    )


def work_out(inputs: Inputs, *, progress: Progress) -> Working:
    """Return every intermediate figure for the parcels, from roads to flows."""
    progress("building the road network")
    base = ground(inputs)
    scenario = inputs.scenario
    progress("putting the parcels on the road")
    access = access_points(inputs.parcels, base.network, scenario.operation)
    lay = lays(inputs.parcels, access, scenario.supply_line)
    found = site_reach(base, progress)
    progress("driving to the parcels")
    rises = parcel_rises(inputs, access)
    there = incidents(base, found, access.points, lay.lay_ft, rises)
    need = needed(inputs.parcels, scenario.demand)
    planned_min = np.full(len(inputs.parcels), float(scenario.operation.duration_min))
    held = shuttle_flows(base, there, need.needed_gpm, planned_min, progress=progress)
    progress("laying hose lines")
    laid = laid_lines(base, there)
    judged = _judged(base, there, need, held, laid)
    return Working(
        ground=base,
        found=found,
        access=access,
        lay=lay,
        need=need,
        there=there,
        flows=held,
        hose=hose_lines(base, laid, judged.test_min),
        judged=judged,
    )


def shuttle_flows(
    base: Ground,
    there: Incidents,
    needed_gpm: Floats,
    duration_min: Floats,
    *,
    progress: Progress,
) -> Flows:
    """Return the shuttle's flows for a need [gpm] and a duration [min] at each access point."""

    def said(done: int, of: int) -> None:
        progress("finding the sustained flow", done, of)

    return flows(
        tankers_of(base),
        sites_of(base),
        places_of(base, there, needed_gpm, duration_min),
        base.inputs.scenario.operation,
        progress=said,
    )


def _judged(base: Ground, there: Incidents, need: Need, held: Flows, laid: LaidLines) -> Judged:
    """Work out anew, over the time that the needed water lasts, where a source's volume binds."""
    planned_min = base.inputs.scenario.operation.duration_min
    asked_min = judged_minutes(need.needed_gpm, need.needed_gal, planned_min)
    hose = hose_lines(base, laid, np.full(len(asked_min), planned_min))
    test_min = np.where(held.volume_binds | hose.volume_binds, asked_min, planned_min)
    rows = np.flatnonzero(test_min != planned_min)
    places = places_of(base, take(there, rows), need.needed_gpm[rows], test_min[rows])
    operation = base.inputs.scenario.operation
    return Judged(
        test_min=test_min,
        rows=rows,
        flows=flows(tankers_of(base), sites_of(base), places, operation),
    )


def _roads(working: Working, progress: Progress) -> tuple[gpd.GeoDataFrame, int]:
    """Return the segments with the flow at their middles, 50-ft lay; what HiGHS had to solve."""
    base = working.ground
    network = base.network
    rows = np.flatnonzero(network.may_stop)
    middles = Points(
        segment=rows,
        share=np.full(len(rows), 0.5),
        off_road_m=np.zeros(len(rows)),
        xy=np.full((len(rows), 2), np.nan),
    )
    arrival_min, by_highs = arrivals(base, middles), 0
    sustained_gpm = np.full(len(network.lines), np.nan)
    for start in range(0, len(rows), _MIDDLES_AT_ONCE):
        progress("finding the flow along the roads", start, len(rows))
        some = slice(start, start + _MIDDLES_AT_ONCE)
        held = _along(working, middles.take(some), arrival_min[some])
        sustained_gpm[rows[some]] = held.sustained_gpm
        by_highs += int(held.rescued)
    columns = ["segment_id", "way_id", "name", "road_class", "unpaved"]
    columns += ["bridge", "max_weight_lb", "max_height_ft"]
    roads = gpd.GeoDataFrame(
        network.segments[columns].assign(
            speed_mph=network.speed_mph,
            speed_source=network.speed_source.astype(str),
            closed=network.closed,
            sustained_gpm=sustained_gpm,
        ),
        geometry=network.segments.geometry,
        crs=network.segments.crs,
    )
    return roads, by_highs


def _along(working: Working, middles: Points, arrival_min: Floats) -> StageFlows:
    """Return the flows at some places on the road."""
    base, count = working.ground, len(middles.segment)
    # No structure stands there: the scenario's rise.
    rises = rises_between(base.inputs, middles.xy, middles.xy)
    lay_ft = np.full(count, SHORTEST_LAY_FT)
    there = incidents_by(base, working.found, middles, lay_ft, rises, arrival_min)
    planned_min = np.full(count, float(base.inputs.scenario.operation.duration_min))
    return stage_flows(
        tankers_of(base),
        sites_of(base),
        places_of(base, there, np.full(count, np.nan), planned_min),
        base.inputs.scenario.operation,
    )


def _fill_sites(working: Working, table: pd.DataFrame) -> gpd.GeoDataFrame:
    base = working.ground
    sites = base.inputs.fill_sites
    best = table["best_site_id"].value_counts()
    reached = working.there.reached.sum(axis=1)
    return sites.assign(
        rate_gpm=base.sites["rate_gpm"].to_numpy(),
        volume_gal=base.sites["volume_gal"].replace(np.inf, np.nan).to_numpy(),
        refill_gpm=base.sites["recharge_gpm"].to_numpy(),
        open=base.sites["open"].to_numpy(),
        on_road=base.site_points.on_road,
        road_ft=base.site_points.off_road_m / M_PER_FT,
        parcels_reached=reached,
        parcels_best=sites["site_id"].map(best).fillna(0).astype(int).to_numpy(),
        why_not=_why_not(base, reached),
    )


def _why_not(base: Ground, reached: NDArray[np.int64]) -> NDArray[np.object_]:
    """Return why each site is of no use; None where it is of use."""
    reasons = np.select(
        [~base.site_points.on_road, reached == 0],
        ["off the road", "no way by road to any parcel"],
        default="",
    ).astype(object)
    closed = base.sites["why_closed"].to_numpy(dtype=object)
    reasons = np.where(closed != "", closed, reasons)
    reasons[reasons == ""] = None
    return np.asarray(reasons, dtype=object)


def _stations(base: Ground) -> gpd.GeoDataFrame:
    units, stations = base.assignment, base.inputs.stations
    ids = units.units["unit_id"].to_numpy()

    def based(kind: NDArray[np.bool_]) -> list[str]:
        return ["; ".join(ids[kind & (units.station == row)]) for row in range(len(stations))]

    return stations.assign(
        on_road=base.station_points.on_road,
        road_ft=base.station_points.off_road_m / M_PER_FT,
        tankers=based(units.is_tanker),
        engines=based(units.is_engine),
    )
