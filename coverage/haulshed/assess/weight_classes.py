"""Which roads each unit may drive, full and empty, and the tankers' weight classes that follow."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.assignment import Assignment
from haulshed.roads.network import Network
from haulshed.roads.passage import Figures, limits_of, passages, without
from haulshed.scenario import RoadRules
from haulshed.units import WATER_LB_PER_GAL

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weights:
    """What the units weigh, of shape (n,); tables have it, or the scenario assumes it."""

    full_lb: Floats
    empty_lb: Floats
    height_ft: Floats
    given: NDArray[np.bool_]  #: at least one of the two weights is the table's


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeightClasses:
    """
    The roads as the units find them.

    Units that the same posted limits stop share a passage. A weight class is a pair of passages of
    tankers, full and empty; with nothing posted there is one class, and one network for all.
    """

    weights: Weights
    limits: Figures  #: by segment
    networks: tuple[Network, ...]  #: by passage; the first is that of a vehicle nothing stops
    stopped: tuple[NDArray[np.bool_], ...]  #: by passage, the segments that stop it
    full: Ints  #: passage of each unit with a full tank, as it responds, shape (n,)
    empty: Ints  #: passage of each unit with an empty tank
    pairs: Ints  #: full and empty passage of each class, shape (K, 2)
    of_tanker: Ints  #: class of each tanker, in their order


def weights_of(units: Assignment, rules: RoadRules) -> Weights:
    """
    Return what the units weigh full and empty.

    Of a unit that gives one of the two weights the other follows from its tank; of one that gives
    none the empty weight is the scenario's.
    """
    water_lb = units.numbers("tank_gal") * WATER_LB_PER_GAL
    full_lb, empty_lb = units.numbers("weight_lb"), units.numbers("empty_weight_lb")
    given = ~(np.isnan(full_lb) & np.isnan(empty_lb))
    by_full_lb = np.maximum(full_lb - water_lb, 0.0)
    empty_lb = np.where(np.isnan(empty_lb), by_full_lb, empty_lb)
    empty_lb = np.where(np.isnan(empty_lb), rules.assumed_empty_lb, empty_lb)
    height_ft = units.numbers("height_ft")
    return Weights(
        full_lb=np.where(np.isnan(full_lb), empty_lb + water_lb, full_lb),
        empty_lb=empty_lb,
        height_ft=np.where(np.isnan(height_ft), rules.assumed_height_ft, height_ft),
        given=given,
    )


def weight_classes(network: Network, units: Assignment, rules: RoadRules) -> WeightClasses:
    """Return the units sorted by the posted limits on roads that are open to them."""
    weights, limits = weights_of(units, rules), limits_of(network.segments, rules)
    vehicles = Figures(
        weight_lb=np.concatenate((weights.full_lb, weights.empty_lb)),
        height_ft=np.tile(weights.height_ft, 2),
        rated_lb=np.tile(weights.full_lb, 2),
    )
    sorted_out = passages(network, limits, vehicles)
    full, empty = sorted_out.of_vehicle.reshape(2, -1)
    both = np.column_stack((full, empty))[units.is_tanker]
    if not len(both):
        both = np.zeros((1, 2), np.int64)
    pairs, of_tanker = np.unique(both, axis=0, return_inverse=True)
    return WeightClasses(
        weights=weights,
        limits=limits,
        networks=tuple(without(network, stopped) for stopped in sorted_out.stopped),
        stopped=sorted_out.stopped,
        full=full,
        empty=empty,
        pairs=pairs,
        of_tanker=of_tanker.reshape(-1).astype(np.int64)[: int(units.is_tanker.sum())],
    )
