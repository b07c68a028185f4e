"""What a look at a checked district finds doubtful, and what it rests on that nobody measured."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from enum import StrEnum

import numpy as np
import shapely
from numpy.typing import NDArray

from haulshed.assess.ground import Ground, ground, site_reach
from haulshed.assess.incidents import Incidents, incidents
from haulshed.case import Inputs, Progress
from haulshed.demand.need import DemandSource
from haulshed.demand.needed import needed
from haulshed.roads.lay import LaySource, lays
from haulshed.roads.snap import access_points
from haulshed.roads.speeds import unposted_share
from haulshed.scenario import DemandMethod, TravelMethod

#: Rows that one finding names; the count of all is always said.
ROWS_SHOWN = 5
#: A hydrant's flow at 20 psi this many times its test flow leans on a small pressure drop.
#: Assumption of this project.
FAR_BEYOND_TEST = 2.0


#: Road miles for which the published T = 0.65 + 1.7 D was validated (ISO, Response-Time
#: Considerations).
PUBLISHED_MILES = (0.5, 8.0)


class Weight(StrEnum):
    """How much a finding matters."""

    DOUBTFUL = "doubtful"
    ASSUMED = "assumed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing to look at."""

    weight: Weight
    what: str  #: what was found, as a sentence without its count
    count: int
    of: int
    rows: tuple[str, ...]  #: the first rows by their ids
    cure: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """All that a look at the district found; nothing in it stops a run."""

    district: str
    tables: dict[str, int]  #: rows a table
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]  #: what the readers passed over

    def as_dict(self) -> dict[str, object]:
        """Return the findings as plain values."""
        return asdict(self)


def doubts(inputs: Inputs, *, progress: Progress) -> Findings:
    """
    Return what is doubtful and what is assumed in a district whose tables keep their rules.

    Raises
    ------
    NetworkError
        If no road is open to tankers.
    """
    progress("putting parcels and sites on the road")
    base = ground(inputs)
    access = access_points(inputs.parcels, base.network, inputs.scenario.operation)
    lay = lays(inputs.parcels, access, inputs.scenario.supply_line)
    there = incidents(base, site_reach(base, progress), access.points, lay.lay_ft)
    found = (
        *_off_the_road(base, there),
        *_out_of_reach(base, there),
        *_apparatus(base, there),
        *_assumed_of_parcels(base, lay.lay_source),
        *_assumed(base),
    )
    return Findings(
        district=inputs.name,
        tables={
            "road segments": len(inputs.segments),
            "parcels": len(inputs.parcels),
            "fill_sites": len(inputs.fill_sites),
            "stations": len(inputs.stations),
            "apparatus": len(inputs.apparatus),
        },
        findings=tuple(finding for finding in found if finding.count),
        notes=inputs.reading_notes,
    )


def _finding(
    ids: NDArray[np.object_], where: NDArray[np.bool_], what: str, cure: str, weight: Weight
) -> Finding:
    return Finding(
        weight=weight,
        what=what,
        count=int(where.sum()),
        of=len(ids),
        rows=tuple(str(one) for one in ids[where][:ROWS_SHOWN]),
        cure=cure,
    )


def _doubt(ids: NDArray[np.object_], where: NDArray[np.bool_], what: str, cure: str) -> Finding:
    return _finding(ids, where, what, cure, Weight.DOUBTFUL)


def _off_the_road(base: Ground, there: Incidents) -> Iterator[Finding]:
    inputs, operation = base.inputs, base.inputs.scenario.operation
    moved = "Move the point to where the vehicle stands, add the missing road, or raise"
    yield _doubt(
        inputs.fill_sites["site_id"].to_numpy(),
        ~base.site_points.on_road,
        f"fill sites farther than {operation.site_snap_ft:g} ft from every road; not used",
        f"{moved} operation.site_snap_ft.",
    )
    yield _doubt(
        inputs.stations["station_id"].to_numpy(),
        ~base.station_points.on_road,
        f"stations farther than {operation.site_snap_ft:g} ft from every road; their apparatus"
        " does not count",
        f"{moved} operation.site_snap_ft.",
    )
    yield _doubt(
        inputs.parcels["parcel_id"].to_numpy(),
        ~there.access.on_road,
        f"parcels farther than {operation.parcel_snap_ft:g} ft from every public road; no water",
        "Map the road that serves them, or give access_lat and access_lon.",
    )


def _out_of_reach(base: Ground, there: Incidents) -> Iterator[Finding]:
    sites, parcels = base.inputs.fill_sites, base.inputs.parcels
    reached = there.reached
    yield _doubt(
        parcels["parcel_id"].to_numpy(),
        there.access.on_road & ~reached.any(axis=0),
        "parcels on roads that no usable fill site reaches",
        "Look for a gap, a closed way or a one-way in the road file.",
    )
    yield _doubt(
        sites["site_id"].to_numpy(),
        base.site_serves & ~reached.any(axis=1),
        "fill sites from which no parcel can be reached and left again",
        "Look for a gap, a closed way or a one-way in the road file.",
    )
    yield _doubt(
        sites["site_id"].to_numpy(),
        ~base.sites["open"].to_numpy(dtype=bool),
        "fill sites not open in this scenario (status, month, or no flow left)",
        "Nothing to mend if that is meant.",
    )
    by_miles = base.inputs.scenario.roads.method is TravelMethod.ROAD_DISTANCE
    least, most = PUBLISHED_MILES
    miles = np.min([legs.loaded_miles.min(axis=0, initial=np.inf) for legs in there.legs], axis=0)
    yield _doubt(
        parcels["parcel_id"].to_numpy(),
        by_miles & np.isfinite(miles) & ((miles < least) | (miles > most)),
        f"parcels whose nearest fill site is not {least:g} to {most:g} road miles off, where"
        " T = 0.65 + X·D was validated",
        "Use roads.method = 'network' there, or say so where you quote the figure.",
    )
    yield from _without_building(base.inputs)
    tested = sites["test_flow_gpm"].to_numpy(dtype=np.float64, na_value=np.nan)
    by_test = sites["flow_gpm"].isna().to_numpy(dtype=bool)
    yield _doubt(
        sites["site_id"].to_numpy(),
        by_test & (base.sites["rate_gpm"].to_numpy() > FAR_BEYOND_TEST * tested),
        f"hydrants whose flow at 20 psi is over {FAR_BEYOND_TEST:g} times the flow that was tested",
        "Test again with more flow, so that the pressure drops by a quarter or more.",
    )


def _without_building(inputs: Inputs) -> Iterator[Finding]:
    parcels = inputs.parcels
    counted = ["structures" in inputs.building_columns.get(one, ()) for one in parcels["parcel_id"]]
    yield _doubt(
        parcels["parcel_id"].to_numpy(),
        np.array(counted, dtype=bool) & (parcels["structures"] == 0).to_numpy(dtype=bool),
        "parcels on which the footprints show no building: nothing is said to be needed there",
        "Give structures where one stands; a file with gaps needs [buildings] complete = false.",
    )


def _apparatus(base: Ground, there: Incidents) -> Iterator[Finding]:
    stations, units = base.inputs.stations, base.assignment
    ids = units.units["unit_id"].to_numpy()
    yield from _missing_kinds(base, ids)
    manned = np.isin(np.arange(len(stations)), units.station)
    yield _doubt(
        stations["station_id"].to_numpy(), ~manned, "stations without apparatus", "Add it, if any."
    )
    yield _doubt(
        ids,
        ~units.called,
        "units that this scenario does not call (alarm or aid)",
        "Nothing to mend if that is meant; see operation.alarm and operation.aid.",
    )
    yield _doubt(
        ids,
        units.called & ~there.counted.any(axis=0),
        "units that are at no parcel within operation.assembly_min",
        "Check the station's place and turnout_min.",
    )
    tank = units.numbers("portable_tank_gal") > 0
    yield _doubt(
        ids,
        np.full(len(ids), not (tank & units.called).any()),
        "units called, and not one carries a portable tank: no dump site can be built",
        "Fill in portable_tank_gal.",
    )


def _missing_kinds(base: Ground, ids: NDArray[np.object_]) -> Iterator[Finding]:
    """Yield what nothing can be hauled without: an engine, a tanker, supply hose."""
    units = base.assignment
    for kind in ("engine", "tanker"):
        called = units.called & (units.units["kind"] == kind).to_numpy(dtype=bool)
        yield _doubt(
            ids,
            np.full(len(ids), not called.any()),
            f"units, and no {kind} among those called: nothing can be hauled",
            f"Add the {kind}s that come, or see operation.alarm and operation.aid.",
        )
    hose = units.called & units.is_engine & (units.numbers("supply_hose_ft") > 0)
    yield _doubt(
        ids,
        np.full(len(ids), not hose.any()),
        "units, and no engine called carries supply hose: no lay reaches",
        "Fill in supply_hose_ft and supply_hose_in; check how the columns are called.",
    )


def _assumption(
    ids: NDArray[np.object_], where: NDArray[np.bool_], what: str, cure: str
) -> Finding:
    return _finding(ids, where, what, cure, Weight.ASSUMED)


def _assumed_of_parcels(base: Ground, lay_source: NDArray[np.object_]) -> Iterator[Finding]:
    inputs = base.inputs
    parcels = inputs.parcels["parcel_id"].to_numpy()
    source = needed(inputs.parcels, inputs.scenario.demand).demand_source
    own = inputs.parcels["needed_gpm"].notna().to_numpy(dtype=bool)
    yield _assumption(
        parcels,
        ~own & (inputs.scenario.demand.method is DemandMethod.COLUMN),
        "parcels without a needed_gpm of their own: by the volume method instead",
        "Fill in needed_gpm, or map it under columns.",
    )
    yield _assumption(
        parcels,
        np.isin(source, [DemandSource.DEFAULT, DemandSource.PART_DEFAULT]),
        "parcels whose needed flow rests on the default dwelling in whole or in part",
        "Give floor_area_ft2, stories and the rest where a structure is larger.",
    )
    yield _assumption(
        parcels,
        shapely.is_missing(np.asarray(inputs.parcels["structure"], dtype=object))
        & (inputs.parcels["structures"] != 0).to_numpy(dtype=bool)
        & (shapely.get_dimensions(np.asarray(inputs.parcels.geometry, dtype=object)) > 0),
        "parcels whose structure is taken at a point within the polygon",
        'Name a file of footprints, [parcels] buildings = "…", or give structure_lat and _lon.',
    )
    yield _assumption(
        parcels,
        lay_source == LaySource.STRAIGHT,
        "parcels whose lay is straight distance times supply_line.detour",
        "Map long driveways, or give lay_ft.",
    )


def _assumed(base: Ground) -> Iterator[Finding]:
    inputs, units = base.inputs, base.assignment
    yield _assumption(
        inputs.fill_sites["site_id"].to_numpy(),
        inputs.fill_sites["handling_min"].isna().to_numpy(dtype=bool),
        f"fill sites handled in {inputs.scenario.operation.fill_handling_min:g} min by default",
        "Time a drill there and give handling_min.",
    )
    pumps = units.is_tanker & (units.numbers("pump_gpm") > 0)
    yield _assumption(
        units.units["unit_id"].to_numpy()[pumps],
        np.isnan(units.numbers("tank_to_pump_gpm"))[pumps],
        "tankers with a pump whose tank-to-pump rate is taken as 500 gpm or the pump's",
        "Measure it and give tank_to_pump_gpm.",
    )
    classes = unposted_share(inputs.segments)
    yield _assumption(
        np.array(list(classes), dtype=object),
        np.array(list(classes.values())) > 0,
        "road classes with miles that have no posted limit: driven at the scenario's speed",
        "Calibrate roads.speed_mph by driving a loaded tanker.",
    )
