"""Why no water can be hauled to a place at all."""

import numpy as np

from haulshed.shuttle.given import Places, Sites, Tankers
from haulshed.shuttle.kernel import Flags, Ints
from haulshed.shuttle.limits import LIMITS
from haulshed.tables.answers import LimitedBy


def zero_flow_reasons(
    tankers: Tankers, sites: Sites, places: Places, *, engine_helps: Flags
) -> Ints:
    """
    Return, for each place, the code of why nothing can be hauled there if nothing can.

    The first that applies, in this order: no road (no access point, or no way to it from any site
    that gives water for a tanker there), no water (no open site gives any), no engine, no tanker,
    one tanker (which cannot nurse without a gap), supply hose too short, supply line (neither stage
    gets water through the lay, long enough as it is), engines (`engine_helps`: one more would make
    a flow), dump site (no portable tank), one tanker (of several only one has a pump and a way),
    tankers (none that came can unload).
    """
    wet = sites.gives_water
    ways = np.isfinite(places.loaded_min + places.empty_min)[:, :, wet]
    by_class: Flags = np.asarray(ways.any(axis=2))
    hauling = places.counted & by_class[:, tankers.weight_class]
    tankers_there = places.counted.sum(axis=1)
    reached = np.where(tankers_there > 0, hauling.any(axis=1), by_class.any(axis=1))
    unloading = (hauling & (tankers.unload_gpm > 0)).sum(axis=1)
    pumping = (hauling & (places.pump_off_gpm > 0)).sum(axis=1)
    tanks = places.other_tanks + (places.counted & tankers.portable_tank).sum(axis=1)
    no_tank = np.minimum(places.dump_positions, tanks) == 0
    no_lay = (places.line_gpm <= 0) & ~(places.pump_off_gpm > 0).any(axis=1)
    reasons = (
        (~places.on_road, LimitedBy.NO_ROAD),
        (np.full(reached.shape, not wet.any()), LimitedBy.NO_WATER),
        (~reached, LimitedBy.NO_ROAD),
        (places.engines == 0, LimitedBy.NO_ENGINE),
        (tankers_there == 0, LimitedBy.NO_TANKER),
        (tankers_there == 1, LimitedBy.ONE_TANKER),
        (~places.hose_reaches, LimitedBy.HOSE_TOO_SHORT),
        (no_lay, LimitedBy.SUPPLY_LINE),
        (engine_helps, LimitedBy.ENGINES),
        (no_tank & (unloading > 0), LimitedBy.DUMP_SITE),
        (pumping == 1, LimitedBy.ONE_TANKER),
    )
    conditions = [condition for condition, _ in reasons]
    codes = [np.int64(LIMITS.index(reason)) for _, reason in reasons]
    return np.select(conditions, codes, default=np.int64(LIMITS.index(LimitedBy.TANKERS)))
