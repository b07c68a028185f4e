"""What does not depend on the place of the fire: roads, fill sites and apparatus, put together."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.assess.assignment import Assignment, assignment
from haulshed.assess.failures import with_failures
from haulshed.assess.fill_sites import ready_sites
from haulshed.assess.weight_classes import WeightClasses, weight_classes
from haulshed.case import Inputs, Progress
from haulshed.roads.closures import without_ways
from haulshed.roads.network import Network, build_network
from haulshed.roads.points import Points
from haulshed.roads.search import Reach, search
from haulshed.roads.snap import snap
from haulshed.roads.travel import SiteReach, reach
from haulshed.tables.apparatus import Apparatus
from haulshed.tables.fill_sites import FillSites
from haulshed.tables.stations import Stations


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """The district before any fire; sites, stations and apparatus stand in the order of ids."""

    inputs: Inputs
    network: Network  #: as one finds it whom no posted limit stops
    sites: pd.DataFrame  #: as :func:`haulshed.assess.fill_sites.ready_sites` gives them
    site_points: Points
    station_points: Points
    assignment: Assignment
    classes: WeightClasses
    #: By passage of the units with a full tank, the ways from each station to every junction.
    responses: Mapping[int, Reach]

    @property
    def site_serves(self) -> NDArray[np.bool_]:
        """Which sites can be used: open in the scenario and on a road."""
        return self.sites["open"].to_numpy(dtype=bool) & self.site_points.on_road


def ground(inputs: Inputs) -> Ground:
    """
    Return the district's network with its sites and stations put on the road.

    Raises
    ------
    NetworkError
        If no road is open to tankers, or a way that the scenario closes is not there.
    """
    inputs = with_failures(_by_id(inputs))
    segments = without_ways(inputs.segments, inputs.scenario.roads.closed_ways)
    inputs = replace(inputs, segments=segments)
    operation = inputs.scenario.operation
    network = build_network(inputs.segments, inputs.scenario.roads)
    limit_ft = operation.site_snap_ft
    units = assignment(inputs.apparatus, inputs.stations, operation)
    classes = weight_classes(network, units, inputs.scenario.roads)
    stations = snap(inputs.stations.geometry, network, limit_ft=limit_ft)
    return Ground(
        inputs=inputs,
        network=network,
        sites=ready_sites(inputs.fill_sites, operation),
        site_points=snap(inputs.fill_sites.geometry, network, limit_ft=limit_ft),
        station_points=stations,
        assignment=units,
        classes=classes,
        responses={
            number: search(classes.networks[number], classes.networks[number].outward, stations)
            for number in np.unique(classes.full).tolist()
        },
    )


def _by_id(inputs: Inputs) -> Inputs:
    """Return the inputs with sites, stations and apparatus by id: their order must not matter."""
    return replace(
        inputs,
        fill_sites=FillSites(inputs.fill_sites.sort_values("site_id", ignore_index=True)),
        stations=Stations(inputs.stations.sort_values("station_id", ignore_index=True)),
        apparatus=Apparatus(inputs.apparatus.sort_values("unit_id", ignore_index=True)),
    )


def site_reach(ground: Ground, progress: Progress) -> tuple[SiteReach, ...]:
    """
    Return, by weight class, the ways from each fill site to every junction and back.

    Says how far it is. A class leaves a site full and comes back empty.
    """
    classes = ground.classes
    passages = np.unique(classes.pairs).tolist()

    def driven(number: int) -> SiteReach:
        def said(done: int, of: int) -> None:
            before = passages.index(number) * of
            progress("driving from the fill sites", before + done, len(passages) * of)

        return reach(classes.networks[number], ground.site_points, progress=said)

    by_passage = {number: driven(number) for number in passages}
    return tuple(
        SiteReach(outward=by_passage[full].outward, homeward=by_passage[empty].homeward)
        for full, empty in classes.pairs.tolist()
    )
