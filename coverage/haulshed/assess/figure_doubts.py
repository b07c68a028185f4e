"""What check finds doubtful of single figures: those that look like another unit's."""

from collections.abc import Iterator
from functools import partial

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.assess.findings import Finding, Weight, finding
from haulshed.case import Inputs
from haulshed.units import WATER_LB_PER_GAL

#: Loaded less empty weight may differ from the weight of a tank of water by this share: crew, hose
#: and foam. Common practice, no source.
WEIGHT_OFF = 0.3
#: A smaller tank is rarely called a tanker [gal]. Common practice, no source; NFPA 1901 asks
#: 1,000 gal of mobile water supply apparatus (value from memory).
SMALL_TANKER_GAL = 800.0
#: No tanker fill site is said to give more [gpm]. Common practice, no source.
LARGE_FLOW_GPM = 5000.0

_doubt = partial(finding, Weight.DOUBTFUL)


def figure_doubts(inputs: Inputs) -> Iterator[Finding]:
    """Yield the units and fill sites with a figure that does not fit the others, or hardly any."""
    apparatus, sites = inputs.apparatus, inputs.fill_sites
    units = apparatus["unit_id"].to_numpy()
    tank_gal = _numbers(apparatus, "tank_gal")
    load_lb = _numbers(apparatus, "weight_lb") - _numbers(apparatus, "empty_weight_lb")
    water_lb = tank_gal * WATER_LB_PER_GAL
    yield _doubt(
        "apparatus",
        units,
        (tank_gal > 0) & (np.abs(load_lb - water_lb) > WEIGHT_OFF * water_lb),
        f"units with weights over {WEIGHT_OFF:.0%} off those of their tank at"
        f" {WATER_LB_PER_GAL:g} lb/gal",
        "Is tank_gal or a weight in another unit? A header carries its own, as tank_l and"
        " weight_kg do.",
    )
    yield _doubt(
        "apparatus",
        units,
        (apparatus["kind"] == "tanker").to_numpy(dtype=bool) & (tank_gal < SMALL_TANKER_GAL),
        f"tankers with a tank under {SMALL_TANKER_GAL:,.0f} gal",
        "Is the tank in another unit than its header says (tank_gal, tank_l)?",
    )
    yield _doubt(
        "fill_sites",
        sites["site_id"].to_numpy(),
        _numbers(sites, "flow_gpm") > LARGE_FLOW_GPM,
        f"fill sites said to give over {LARGE_FLOW_GPM:,.0f} gpm",
        "Is the flow in another unit than its header says (flow_gpm, flow_lpm)?",
    )


def _numbers(table: pd.DataFrame, column: str) -> NDArray[np.float64]:
    return table[column].to_numpy(dtype=np.float64, na_value=np.nan)
