"""The district in the shuttle model's own terms: tankers, fill sites, places."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.assess.ground import Ground
from haulshed.assess.incidents import Incidents
from haulshed.hydraulics.line_point import BOUNDS, LinePoint
from haulshed.hydraulics.pump import pump_off_gpm
from haulshed.shuttle import Places, Sites, Tankers
from haulshed.shuttle.cycle import usable_gal
from haulshed.shuttle.limits import LIMITS

_LIMIT_OF_BOUND = np.array([LIMITS.index(bound) for bound in BOUNDS], dtype=np.int64)


def tankers_of(ground: Ground) -> Tankers:
    """Return the tankers, in the order of the apparatus table."""
    units, operation = ground.assignment, ground.inputs.scenario.operation
    tank_gal = units.tankers("tank_gal")
    return Tankers(
        tank_gal=tank_gal,
        usable_gal=usable_gal(tank_gal, loss_share=operation.loss_share),
        fill_gpm=units.tankers("fill_gpm"),
        dump_gpm=units.tankers("dump_gpm"),
        portable_tank=units.tankers("portable_tank_gal") > 0,
        release_gpm=pump_off_gpm(units.tankers("tank_to_pump_gpm"), units.tankers("pump_gpm")),
        weight_class=ground.classes.of_tanker,
    )


def sites_of(ground: Ground) -> Sites:
    """Return the fill sites, in the order of their table."""
    sites = ground.sites
    source, _ = pd.factorize(sites["source_id"], sort=True)
    return Sites(
        flow_gpm=sites["rate_gpm"].fillna(0.0).to_numpy(dtype=np.float64),
        usable_gal=sites["volume_gal"].to_numpy(dtype=np.float64),
        recharge_gpm=sites["recharge_gpm"].to_numpy(dtype=np.float64),
        source=source.astype(np.int64),
        fill_positions=sites["fill_positions"].to_numpy(dtype=np.int64),
        handling_min=sites["handling_min"].to_numpy(dtype=np.float64),
        needs_pumper=sites["needs_pumper"].to_numpy(dtype=np.bool_),
        open=ground.site_serves,
    )


def places_of(
    ground: Ground,
    there: Incidents,
    needed_gpm: NDArray[np.float64],
    duration_min: NDArray[np.float64],
) -> Places:
    """Return the access points with their need [gpm] and duration [min], both of shape (P,)."""
    is_tanker = ground.assignment.is_tanker
    return Places(
        loaded_min=_by_class([legs.loaded_min for legs in there.legs]),
        empty_min=_by_class([legs.empty_min for legs in there.legs]),
        arrival_min=np.ascontiguousarray(there.arrival_min[:, is_tanker]),
        counted=np.ascontiguousarray(there.counted[:, is_tanker]),
        engines=there.engines.astype(np.int64),
        dump_positions=there.dump_positions.astype(np.int64),
        other_tanks=there.other_tanks,
        hose_reaches=there.hose.reaches,
        line_gpm=there.line.flow_gpm,
        line_bound=_limit_codes(there.line),
        pump_off_gpm=np.ascontiguousarray(there.pump_off.flow_gpm),
        pump_off_bound=np.ascontiguousarray(_limit_codes(there.pump_off)),
        needed_gpm=needed_gpm,
        duration_min=duration_min,
        on_road=there.access.on_road,
    )


def _limit_codes(point: LinePoint) -> NDArray[np.int64]:
    return _LIMIT_OF_BOUND[point.bound]


def _by_class(legs_min: list[NDArray[np.float64]]) -> NDArray[np.float64]:
    """Return the legs of each weight class, (S, P), as one array (P, C, S); of one no copy."""
    if len(legs_min) == 1:
        return legs_min[0].T[:, None]
    return np.stack([one.T for one in legs_min], axis=1)
