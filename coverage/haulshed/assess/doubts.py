"""What a look at a checked district finds doubtful, and what it rests on that nobody measured."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.assess.figure_doubts import figure_doubts
from haulshed.assess.findings import Finding, Findings, Weight, finding
from haulshed.assess.ground import Ground, ground, site_reach
from haulshed.assess.incidents import Incidents, incidents
from haulshed.assess.posted_doubts import posted_doubts
from haulshed.assess.rises import parcel_rises
from haulshed.assess.structure_doubts import structure_doubts
from haulshed.case import Inputs, Progress
from haulshed.demand.need import DemandSource
from haulshed.demand.needed import needed
from haulshed.roads.lay import LaySource, lays
from haulshed.roads.snap import access_points
from haulshed.roads.speeds import unposted_share
from haulshed.scenario import DemandMethod, TravelMethod
from haulshed.tables.fill_sites import STORED
from haulshed.tables.sources import Source

#: A hydrant's flow at 20 psi this many times its test flow leans on a small pressure drop.
#: Assumption of this project.
FAR_BEYOND_TEST = 2.0

#: Road miles for which the published T = 0.65 + 1.7 D was validated (ISO, Response-Time
#: Considerations).
PUBLISHED_MILES = (0.5, 8.0)

Bools = NDArray[np.bool_]
_doubt = partial(finding, Weight.DOUBTFUL)
_assumption = partial(finding, Weight.ASSUMED)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Looked:
    """The district with everything put on the road."""

    base: Ground
    there: Incidents
    lay_source: NDArray[np.object_]

    @property
    def sites(self) -> NDArray[np.object_]:
        return self.base.inputs.fill_sites["site_id"].to_numpy()

    @property
    def parcels(self) -> NDArray[np.object_]:
        return self.base.inputs.parcels["parcel_id"].to_numpy()

    @property
    def units(self) -> NDArray[np.object_]:
        return self.base.assignment.units["unit_id"].to_numpy()


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
    rises = parcel_rises(inputs, access)
    there = incidents(base, site_reach(base, progress), access.points, lay.lay_ft, rises)
    look = _Looked(base=base, there=there, lay_source=lay.lay_source)
    found = (
        *_empty_tables(inputs),
        *_missing_kinds(look),
        *_off_the_road(look),
        *_out_of_reach(look),
        *_measured_by_nobody(look),
        *_apparatus(look),
        *figure_doubts(inputs),
        *_shared_sources(look),
        *structure_doubts(inputs, there),
        *_tests(look),
        *posted_doubts(look.base),
        *_assumed_of_parcels(look),
        *_assumed(look),
    )
    return Findings(
        district=inputs.name,
        tables={
            "road segments": len(inputs.segments),
            "parcels": len(inputs.parcels),
            "fill sites": len(inputs.fill_sites),
            "stations": len(inputs.stations),
            "apparatus": len(inputs.apparatus),
        },
        findings=tuple(one for one in found if one.count),
        notes=inputs.reading_notes,
    )


def _empty_tables(inputs: Inputs) -> Iterator[Finding]:
    tables = {
        "fill_sites": inputs.fill_sites,
        "stations": inputs.stations,
        "apparatus": inputs.apparatus,
    }
    yield _doubt(
        "",
        np.array(list(tables), dtype=object),
        np.array([not len(table) for table in tables.values()]),
        "tables without a row: no water is hauled to any parcel",
        "Fill them in; there is no answer before that.",
    )


def _missing_kinds(look: _Looked) -> Iterator[Finding]:
    """Yield what nothing can be hauled without: an engine, a tanker, supply hose."""
    units = look.base.assignment
    for kind in ("engine", "tanker"):
        called = units.called & (units.units["kind"] == kind).to_numpy(dtype=bool)
        yield _doubt(
            "apparatus",
            look.units,
            np.full(len(look.units), not called.any()),
            f"units, and no {kind} among those called: nothing can be hauled",
            f"Add the {kind}s that come, or see operation.alarm and operation.aid.",
        )
    hose = units.called & units.is_engine & (units.numbers("supply_hose_ft") > 0)
    yield _doubt(
        "apparatus",
        look.units,
        np.full(len(look.units), not hose.any()),
        "units, and no engine called carries supply hose: no lay reaches",
        "Fill in supply_hose_ft and supply_hose_in; check how the columns are called.",
    )
    tank = units.called & (units.numbers("portable_tank_gal") > 0)
    yield _doubt(
        "apparatus",
        look.units,
        np.full(len(look.units), not tank.any()),
        "units called, and not one carries a portable tank: no dump site can be built",
        "Fill in portable_tank_gal.",
    )


def _off_the_road(look: _Looked) -> Iterator[Finding]:
    base, operation = look.base, look.base.inputs.scenario.operation
    moved = "Move the point to where the vehicle stands, map the road, or raise site_snap_ft."
    yield _doubt(
        "fill_sites",
        look.sites,
        ~base.site_points.on_road,
        f"fill sites farther than {operation.site_snap_ft:g} ft from every road; not used",
        moved,
    )
    yield _doubt(
        "stations",
        base.inputs.stations["station_id"].to_numpy(),
        ~base.station_points.on_road,
        f"stations farther than {operation.site_snap_ft:g} ft from every road; nobody comes"
        " from there",
        moved,
    )
    yield _doubt(
        "parcels",
        look.parcels,
        ~look.there.access.on_road,
        f"parcels farther than {operation.parcel_snap_ft:g} ft from every public road; no water",
        "Map the road that serves them, or give access_lat and access_lon.",
    )


def _shared_sources(look: _Looked) -> Iterator[Finding]:
    sites = look.base.inputs.fill_sites
    volumes = sites.groupby("source_id")["usable_gal"].nunique()  # of those that are stated
    yield _doubt(
        "fill_sites",
        look.sites,
        (sites["source_id"].map(volumes) > 1).to_numpy(dtype=bool),
        "fill sites on one source that state different volumes of it; the largest counts",
        "Give them the same usable_gal, or each a source_id of its own.",
    )


def _out_of_reach(look: _Looked) -> Iterator[Finding]:
    base, reached = look.base, look.there.reached
    yield _doubt(
        "parcels",
        look.parcels,
        look.there.access.on_road & ~reached.any(axis=0) & bool(len(look.sites)),
        "parcels on roads that no usable fill site reaches",
        "Look for a gap, a one-way, a closed way or a posted weight.",
    )
    yield _doubt(
        "fill_sites",
        look.sites,
        base.site_serves & ~reached.any(axis=1),
        "fill sites from which no parcel can be reached and left again",
        "Look for a gap, a one-way, a closed way or a posted weight.",
    )
    yield _doubt(
        "fill_sites",
        look.sites,
        ~base.sites["open"].to_numpy(dtype=bool),
        "fill sites not open in this scenario (status, month, or no flow left)",
        "Nothing to mend if that is meant.",
    )


def _measured_by_nobody(look: _Looked) -> Iterator[Finding]:
    """Yield the fill sites whose figures are defaults, those that are nearest to most first."""
    sites, busiest = look.base.inputs.fill_sites, _busiest_first(look.there)
    tested = sites[["static_psi", "residual_psi", "test_flow_gpm"]].notna().all(axis=1)
    measured = "Test these first, sound ponds in a dry summer; put given in the _source column."
    stored = sites["kind"].isin(STORED).to_numpy(dtype=bool)
    yield _doubt(
        "fill_sites",
        look.sites,
        _is_default(sites["flow_source"]) & ~(sites["flow_gpm"].isna() & tested).to_numpy(bool),
        "fill sites whose flow nobody tested, nearest to most parcels first",
        measured,
        order=busiest,
    )
    yield _doubt(
        "fill_sites",
        look.sites,
        stored & _is_default(sites["volume_source"]),
        "ponds, dry hydrants and cisterns whose volume nobody measured",
        measured,
        order=busiest,
    )


def _busiest_first(there: Incidents) -> NDArray[np.int64]:
    """Return the sites in the order of how many parcels have none that is nearer by road."""
    both_min = np.min([legs.loaded_min + legs.empty_min for legs in there.legs], axis=0)
    if not both_min.size:
        return np.arange(len(both_min))
    nearest = both_min.argmin(axis=0)[np.isfinite(both_min).any(axis=0)]
    count = np.bincount(nearest, minlength=len(both_min))
    return np.argsort(-count, kind="stable")


def _is_default(source: "pd.Series[Any]") -> Bools:
    return (source == str(Source.DEFAULT)).to_numpy(dtype=bool)


def _apparatus(look: _Looked) -> Iterator[Finding]:
    stations, units = look.base.inputs.stations, look.base.assignment
    yield _doubt(
        "apparatus",
        look.units,
        _is_default(units.units["unit_source"]),
        "units that only stand in for yours",
        "List what really comes; unit_source = given.",
    )
    yield _doubt(
        "stations",
        stations["station_id"].to_numpy(),
        ~np.isin(np.arange(len(stations)), units.station),
        "stations without apparatus",
        "Add it, if any.",
    )
    yield _doubt(
        "apparatus",
        look.units,
        ~units.called,
        "units that this scenario does not call (alarm or aid)",
        "Nothing to mend if that is meant; see operation.alarm and operation.aid.",
    )
    yield _doubt(
        "apparatus",
        look.units,
        units.called & ~look.there.counted.any(axis=0),
        "units that are at no parcel within operation.assembly_min",
        "Check the station's place and turnout_min.",
    )


def _tests(look: _Looked) -> Iterator[Finding]:
    """Yield what leans on a published figure beyond where it was tested."""
    base, sites = look.base, look.base.inputs.fill_sites
    tested = sites["test_flow_gpm"].to_numpy(dtype=np.float64, na_value=np.nan)
    by_test = sites["flow_gpm"].isna().to_numpy(dtype=bool)
    yield _doubt(
        "fill_sites",
        look.sites,
        by_test & (base.sites["rate_gpm"].to_numpy() > FAR_BEYOND_TEST * tested),
        f"hydrants whose flow at 20 psi is over {FAR_BEYOND_TEST:g} times the flow that was tested",
        "Test again with more flow, so that the pressure drops by a quarter or more.",
    )
    by_miles = base.inputs.scenario.roads.method is TravelMethod.ROAD_DISTANCE
    least, most = PUBLISHED_MILES
    nearest = [legs.loaded_miles.min(axis=0, initial=np.inf) for legs in look.there.legs]
    miles = np.min(nearest, axis=0)
    yield _doubt(
        "parcels",
        look.parcels,
        by_miles & np.isfinite(miles) & ((miles < least) | (miles > most)),
        f"parcels not {least:g} to {most:g} road miles from a fill site: T = 0.65 + X·D untested",
        "Use roads.method = 'network' there, or say so where you quote the figure.",
    )


def _assumed_of_parcels(look: _Looked) -> Iterator[Finding]:
    inputs = look.base.inputs
    source = needed(inputs.parcels, inputs.scenario.demand).demand_source
    own = inputs.parcels["needed_gpm"].notna().to_numpy(dtype=bool)
    yield _assumption(
        "parcels",
        look.parcels,
        ~own & (inputs.scenario.demand.method is DemandMethod.COLUMN),
        "parcels without a needed_gpm of their own: by the volume method",
        "Fill in needed_gpm, or map it under columns.",
    )
    yield _assumption(
        "parcels",
        look.parcels,
        np.isin(source, [DemandSource.DEFAULT, DemandSource.PART_DEFAULT]),
        "parcels whose need rests on the default dwelling, in part or whole",
        "Give floor_area_ft2, stories and the rest where a structure is larger.",
    )
    yield _assumption(
        "parcels",
        look.parcels,
        look.lay_source == LaySource.STRAIGHT,
        "parcels whose lay is straight distance times supply_line.detour",
        "Map long driveways, or give lay_ft.",
    )


def _assumed(look: _Looked) -> Iterator[Finding]:
    inputs, units = look.base.inputs, look.base.assignment
    yield _assumption(
        "fill_sites",
        look.sites,
        inputs.fill_sites["handling_min"].isna().to_numpy(dtype=bool)
        | _is_default(inputs.fill_sites["positions_source"]),
        f"fill sites with {inputs.scenario.operation.fill_handling_min:g} min of handling or one"
        " fill position by default",
        "Time a drill there with two tankers; give handling_min and fill_positions.",
    )
    pumps = units.is_tanker & (units.numbers("pump_gpm") > 0)
    yield _assumption(
        "apparatus",
        look.units[pumps],
        np.isnan(units.numbers("tank_to_pump_gpm"))[pumps],
        "tankers with a pump that gets 500 gpm from the tank by default",
        "Measure it and give tank_to_pump_gpm.",
    )
    classes = unposted_share(inputs.segments)
    yield _assumption(
        "",
        np.array(list(classes), dtype=object),
        np.array(list(classes.values())) > 0,
        "road classes with no posted speed on some miles: roads.speed_mph",
        "Calibrate roads.speed_mph by driving a loaded tanker.",
    )
