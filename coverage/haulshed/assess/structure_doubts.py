"""What check finds doubtful about where the structures stand and on what ground."""

from collections.abc import Iterator
from functools import partial

import numpy as np
import shapely

from haulshed.assess.findings import Finding, Weight, finding
from haulshed.assess.incidents import Incidents
from haulshed.case import Inputs
from haulshed.tables.answers import RiseSource

_doubt = partial(finding, Weight.DOUBTFUL)
_assumption = partial(finding, Weight.ASSUMED)


def structure_doubts(inputs: Inputs, there: Incidents) -> Iterator[Finding]:
    """Yield what is doubtful or assumed of buildings, of places and of the rise."""
    parcels = inputs.parcels["parcel_id"].to_numpy()
    none_there = (inputs.parcels["structures"] == 0).to_numpy(dtype=bool)
    counted = ["structures" in inputs.building_columns.get(one, ()) for one in parcels]
    yield _doubt(
        "parcels",
        parcels,
        np.array(counted, dtype=bool) & none_there,
        "parcels on which the footprints show no building: nothing is said to be needed there",
        "Give structures where one stands; a file with gaps needs [buildings] complete = false.",
    )
    areas = shapely.get_dimensions(np.asarray(inputs.parcels.geometry, dtype=object)) > 0
    unplaced = shapely.is_missing(np.asarray(inputs.parcels["structure"], dtype=object))
    yield _assumption(
        "parcels",
        parcels,
        unplaced & areas & ~none_there,
        "parcels whose structure is taken at a point within the polygon",
        'Name a file of footprints, [parcels] buildings = "…", or give structure_lat and _lon.',
    )
    yield _assumption(
        "parcels",
        parcels,
        there.access.on_road & (there.rises.rise_source == RiseSource.SCENARIO),
        f"parcels on ground not known: a rise of {inputs.scenario.supply_line.rise_ft:g} ft",
        'Name a file of ground levels that has them, [supply_line] dem = "…".',
    )
