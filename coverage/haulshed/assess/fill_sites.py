"""What each fill site gives in the scenario: rate, volume, whether it can be used at all."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.hydraulics.hydrant import flow_at_psi
from haulshed.scenario import Operation
from haulshed.tables.fill_sites import FillSites, SiteKind, open_in_month

#: Kinds whose flow is lower where less water is left, not their volume alone.
_FLOW_FALLS = (SiteKind.STREAM, SiteKind.HYDRANT)


def ready_sites(sites: FillSites, operation: Operation) -> pd.DataFrame:
    """
    Return one row a site, in the order of the table, as the scenario has it.

    Columns: `rate_gpm` [gpm], `volume_gal` (inf where not limited) [gal], `recharge_gpm` [gpm],
    `handling_min` [min], `fill_positions`, `needs_pumper`, `source_id`, `open` (status, month,
    a rate and water above 0), `why_closed` (empty where open).
    """
    tested = flow_at_psi(
        sites["static_psi"].to_numpy(float),
        sites["residual_psi"].to_numpy(float),
        sites["test_flow_gpm"].to_numpy(float),
    )
    stated = sites["flow_gpm"].to_numpy(float)
    by_kind = {
        kind: operation.water_left.of_kind(kind, operation.drought_factor) for kind in SiteKind
    }
    left = sites["kind"].map(by_kind).to_numpy(float)
    flow_left = np.where(sites["kind"].isin(_FLOW_FALLS), left, 1.0)
    rate_gpm = np.where(np.isnan(stated), tested, stated) * flow_left
    usable_gal = sites["usable_gal"].fillna(np.inf).to_numpy(float)
    limited = np.isfinite(usable_gal)  # a stream without a stated volume stays without one
    volume_gal = np.multiply(usable_gal, left, out=usable_gal.copy(), where=limited)
    recharge_gpm = sites["recharge_gpm"].to_numpy(float) * left
    source = sites["source_id"].to_numpy()
    has_water = pd.Series((volume_gal > 0) | (recharge_gpm > 0)).groupby(source).transform("any")
    gives = (rate_gpm > 0) & has_water.to_numpy(dtype=bool)
    why_closed = _why_closed(sites, operation, gives)
    return pd.DataFrame(
        {
            "rate_gpm": rate_gpm,
            "volume_gal": volume_gal,
            "recharge_gpm": recharge_gpm,
            "handling_min": sites["handling_min"].fillna(operation.fill_handling_min).to_numpy(),
            "fill_positions": sites["fill_positions"].to_numpy(np.int64),
            "needs_pumper": sites["needs_pumper"].to_numpy(bool),
            "source_id": sites["source_id"].to_numpy(),
            "open": why_closed == "",
            "why_closed": why_closed,
        },
        index=sites.index,
    )


def _why_closed(
    sites: FillSites, operation: Operation, gives: NDArray[np.bool_]
) -> NDArray[np.str_]:
    """Return why each site cannot be used, empty where it can; `gives` says which have water."""
    in_month = open_in_month(sites["open_months"], operation.month)
    return np.select(
        [(sites["status"] != "open").to_numpy(), ~in_month, ~gives],
        ["closed", f"closed in month {operation.month}", "no flow or no water left"],
        default="",
    )
