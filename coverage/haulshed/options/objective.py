"""What a plan is judged by: one score a parcel, to be as large as can be in sum."""

from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from haulshed.options.world import World
from haulshed.tables.parcels import Parcels

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Objective(StrEnum):
    """What is to be as large as can be."""

    PARCELS = "parcels"  #: parcels held at their needed flow
    PEOPLE = "people"  #: people on parcels held at their needed flow
    VALUE = "value"  #: assessed value held at its needed flow
    GPM = "gpm"  #: what is missing to the needs, all parcels together, as small as can be
    EQUITY = "equity"  #: worst served first: squares of the missing shares as small as can be

    @property
    def by_holding(self) -> bool:
        """Whether a parcel scores by being held or not, and by nothing between."""
        return self in {Objective.PARCELS, Objective.PEOPLE, Objective.VALUE}


def weights(parcels: Parcels, objective: Objective, needed_gpm: Floats) -> Floats:
    """
    Return the score of each parcel when its need is held, shape (P,); 0 where nothing is needed.

    A parcel whose people or value is not known weighs nothing by them.
    """
    weight = {
        Objective.PARCELS: np.ones(len(parcels)),
        Objective.PEOPLE: parcels["people"].fillna(0.0).to_numpy(dtype=np.float64),
        Objective.VALUE: parcels["value"].fillna(0.0).to_numpy(dtype=np.float64),
        Objective.GPM: np.nan_to_num(needed_gpm),
        Objective.EQUITY: np.ones(len(parcels)),
    }[objective]
    return np.where(needed_gpm > 0, weight, 0.0)


def scores(world: World, weight: Floats, objective: Objective, rows: Ints, columns: Ints) -> Floats:
    """Return the score of the parcels of `rows` over the sites `columns`."""
    if objective.by_holding:
        return np.where(world.held(rows, columns), weight[rows], 0.0)
    needed_gpm = world.needed_gpm[rows]
    missing = np.clip(1 - world.flow_gpm(rows, columns) / needed_gpm, 0.0, 1.0)
    # Beyond a hair all of the need is there; see haulshed.verdict.
    missing = np.where(missing * needed_gpm <= _HAIR_GPM, 0.0, missing)
    power = 1 if objective is Objective.GPM else 2
    return np.asarray(weight[rows] * (1 - missing**power))


#: A flow this little under the need holds it [gpm].
_HAIR_GPM = 1e-6
