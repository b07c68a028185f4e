"""What meets at each junction."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.roads.network import Network

Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Junctions:
    """The segments by the junctions at their ends; a loop stands twice at its own."""

    starts: Ints  #: where each junction's part of `segments` begins, shape (junctions + 1,)
    segments: Ints

    def at(self, junction: int) -> Ints:
        """Return the segments that meet at a junction, by id."""
        return self.segments[self.starts[junction] : self.starts[junction + 1]]


def junctions_of(network: Network) -> Junctions:
    """Return what meets where: closed segments too."""
    ends = np.concatenate((network.tail, network.head))
    segments = np.tile(np.arange(len(network.tail)), 2)
    order = np.lexsort((segments, ends))
    count = np.bincount(ends, minlength=len(network.node_ids))
    return Junctions(starts=np.concatenate(([0], np.cumsum(count))), segments=segments[order])
