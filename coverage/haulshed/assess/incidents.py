"""An operation at each access point: who is there, what hose lies, how far the water is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.ground import Ground
from haulshed.assess.rises import Rises
from haulshed.hydraulics.line_point import LinePoint, line_point, nurse_point
from haulshed.hydraulics.supply_hose import SupplyHose, supply_hose
from haulshed.roads.points import Points
from haulshed.roads.travel import Legs, SiteReach, response_from, usable_legs

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Incidents:
    """One operation at each of P access points, with n units and S fill sites."""

    access: Points
    lay_ft: Floats  #: shape (P,); NaN where there is no access point
    rises: Rises  #: of each lay, from the access point to the structure
    arrival_min: Floats  #: from dispatch, shape (P, n); infinite: not called or no way
    counted: Bools  #: there within assembly_min, shape (P, n)
    #: By weight class, of shape (S, P); infinite where there is no way or the site cannot be used.
    legs: tuple[Legs, ...]
    hose: SupplyHose  #: from what the counted engines carry
    line: LinePoint  #: what the dump site's pump moves through it, shape (P,)
    pump_off: LinePoint  #: what each tanker pumps off through it, shape (P, tankers)
    tankers: NDArray[np.int64]  #: tankers counted, shape (P,)
    engines: NDArray[np.int64]  #: engines counted, shape (P,)
    dump_positions: NDArray[np.int64]  #: portable tanks there, up to the scenario's limit
    other_tanks: NDArray[np.int64]  #: those of them that no tanker brings

    @property
    def reached(self) -> Bools:
        """Whether a tanker of any class can drive between site and access point, shape (S, P)."""
        ways = [np.isfinite(legs.loaded_min) for legs in self.legs]
        return np.asarray(np.logical_or.reduce(ways))


def incidents(
    ground: Ground, found: tuple[SiteReach, ...], access: Points, lay_ft: Floats, rises: Rises
) -> Incidents:
    """Return the operation at each of `access` with a lay of `lay_ft` [ft] that `rises`."""
    return incidents_by(ground, found, access, lay_ft, rises, arrivals(ground, access))


def incidents_by(
    ground: Ground,
    found: tuple[SiteReach, ...],
    access: Points,
    lay_ft: Floats,
    rises: Rises,
    arrival_min: Floats,
) -> Incidents:
    """Return the same where it is known when the units arrive, as :func:`arrivals` says it."""
    scenario, units = ground.inputs.scenario, ground.assignment
    counted = arrival_min <= scenario.operation.assembly_min
    engines = counted & units.is_engine
    hose = supply_hose(
        lay_ft,
        counted[:, units.is_engine],
        units.numbers("supply_hose_ft")[units.is_engine],
        units.numbers("supply_hose_in")[units.is_engine],
    )
    pump_gpm = np.where(engines, units.numbers("pump_gpm"), 0.0).max(axis=1, initial=0.0)
    nursing_gpm = units.tankers("pump_gpm"), units.tankers("tank_to_pump_gpm")
    tanks = counted & (units.numbers("portable_tank_gal") > 0)
    line = scenario.supply_line
    loss = np.where(np.isnan(hose.loss_psi_per_gpm2), np.inf, hose.loss_psi_per_gpm2)
    return Incidents(
        access=access,
        lay_ft=lay_ft,
        rises=rises,
        arrival_min=arrival_min,
        counted=counted,
        legs=tuple(
            usable_legs(ground.network, scenario.roads, one, access, ground.site_serves)
            for one in found
        ),
        hose=hose,
        line=line_point(loss, pump_gpm, line, rise_ft=rises.rise_ft, suction_psi=line.suction_psi),
        pump_off=nurse_point(loss, *nursing_gpm, line, rise_ft=rises.rise_ft),
        tankers=(counted & units.is_tanker).sum(axis=1),
        engines=engines.sum(axis=1),
        dump_positions=np.minimum(tanks.sum(axis=1), scenario.operation.dump_positions_max),
        other_tanks=(tanks & ~units.is_tanker).sum(axis=1),
    )


def take(there: Incidents, rows: NDArray[np.int64]) -> Incidents:
    """Return some of the incidents."""
    return Incidents(
        access=there.access.take(rows),
        lay_ft=there.lay_ft[rows],
        rises=there.rises.take(rows),
        arrival_min=there.arrival_min[rows],
        counted=there.counted[rows],
        legs=tuple(
            Legs(
                loaded_min=legs.loaded_min[:, rows],
                empty_min=legs.empty_min[:, rows],
                loaded_miles=legs.loaded_miles[:, rows],
                empty_miles=legs.empty_miles[:, rows],
            )
            for legs in there.legs
        ),
        hose=SupplyHose(
            loss_psi_per_gpm2=there.hose.loss_psi_per_gpm2[rows],
            carried_ft=there.hose.carried_ft[rows],
            reaches=there.hose.reaches[rows],
        ),
        line=LinePoint(flow_gpm=there.line.flow_gpm[rows], bound=there.line.bound[rows]),
        pump_off=LinePoint(
            flow_gpm=there.pump_off.flow_gpm[rows], bound=there.pump_off.bound[rows]
        ),
        tankers=there.tankers[rows],
        engines=there.engines[rows],
        dump_positions=there.dump_positions[rows],
        other_tanks=there.other_tanks[rows],
    )


def arrivals(ground: Ground, access: Points) -> Floats:
    """Return when each unit is there: with a full tank, by the roads that it may drive so."""
    units, passage = ground.assignment, ground.classes.full
    arrival_min = np.full((len(access.segment), len(passage)), np.inf)
    for number in np.unique(passage).tolist():
        own = passage == number
        network, rules = ground.classes.networks[number], ground.inputs.scenario.roads
        drive_min, _ = response_from(network, rules, ground.responses[number], access)
        arrival_min[:, own] = drive_min[units.station[own]].T + units.turnout_min[own]
    return np.where(units.called, arrival_min, np.inf)
