"""Which vehicles a road lets pass: posted weights and heights against what a vehicle is."""

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from haulshed.roads.network import Network, sense_of
from haulshed.scenario import PostedWeights, RoadRules
from haulshed.tables.segments import Segments

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Figures:
    """What vehicles are, or, of roads, what they may be at most; in step with each other."""

    weight_lb: Floats  #: as it drives
    height_ft: Floats
    rated_lb: Floats  #: with all that it may carry

    def exceed(self, limits: "Figures", vehicle: int) -> Bools:
        """Say of which of `limits` one of these vehicles exceeds any."""
        over = [
            getattr(self, field.name)[vehicle] > getattr(limits, field.name)
            for field in fields(self)
        ]
        return np.asarray(np.logical_or.reduce(over))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Passages:
    """Vehicles sorted into passages: those in one are stopped by the same roads."""

    of_vehicle: Ints  #: number of the passage of each vehicle
    stopped: tuple[Bools, ...]  #: by passage, the segments that stop it; none stop the first


def limits_of(segments: Segments, rules: RoadRules) -> Figures:
    """Return what may drive on each segment at most, as the scenario has it; inf: anything."""
    holds = {
        PostedWeights.ALL: np.ones(len(segments), np.bool_),
        PostedWeights.BRIDGES: segments["bridge"].to_numpy(dtype=bool),
        PostedWeights.NONE: np.zeros(len(segments), np.bool_),
    }[rules.posted_weights]

    def where(column: str, counts: Bools) -> Floats:
        posted = segments[column].to_numpy(dtype=np.float64, na_value=np.nan)
        return np.where(counts & ~np.isnan(posted), posted, np.inf)

    return Figures(
        weight_lb=where("max_weight_lb", holds),
        height_ft=where("max_height_ft", np.ones(len(segments), np.bool_)),
        rated_lb=where("max_rated_lb", np.full(len(segments), rules.legal_limits)),
    )


def passages(network: Network, limits: Figures, vehicles: Figures) -> Passages:
    """
    Return the passages of `vehicles`, as few as the limits on roads open to tankers need.

    A vehicle's passage follows from how many different limits it exceeds of each kind. The first
    one is that of a vehicle that nothing stops, whether there is such a one or not.
    """
    levels = np.column_stack(
        [
            _level(getattr(limits, field.name)[network.drivable], getattr(vehicles, field.name))
            for field in fields(Figures)
        ]
    )
    free = np.zeros((1, levels.shape[1]), np.int64)
    _, first, number = np.unique(
        np.concatenate((free, levels)), axis=0, return_index=True, return_inverse=True
    )
    nothing = np.zeros(len(network.lines), np.bool_)
    stopped = [vehicles.exceed(limits, one - 1) if one else nothing for one in first.tolist()]
    return Passages(of_vehicle=number.reshape(-1)[1:].astype(np.int64), stopped=tuple(stopped))


def _level(limit: Floats, figure: Floats) -> Ints:
    """Return how many different limits each figure exceeds."""
    return np.searchsorted(np.unique(limit[np.isfinite(limit)]), figure, side="left")


def without(network: Network, stopped: Bools) -> Network:
    """Return the network as one finds it who may not drive on the segments `stopped`."""
    if not stopped.any():
        return network
    along = np.where(stopped, np.inf, network.forward_min)
    against = np.where(stopped, np.inf, network.backward_min)
    ends, size = (network.tail, network.head, network.length_mi), len(network.node_ids)
    return replace(
        network,
        outward=sense_of(*ends, (along, against), nodes=size),
        homeward=sense_of(*ends, (against, along), nodes=size),
    )
