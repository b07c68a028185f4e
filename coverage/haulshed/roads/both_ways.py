"""Which places can be driven to and back from: whether there is a way, not how long it takes."""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.csgraph import connected_components

from haulshed.roads.network import Network
from haulshed.roads.points import Points
from haulshed.roads.search import part


def there_and_back(network: Network, sites: Points, access: Points) -> NDArray[np.bool_]:
    """
    Return which of `access` can be driven to from any of `sites`, and back to that one.

    One look at the whole network instead of a search a site: between two places there are ways both
    ways exactly where they lie in the same strongly connected part of the roads. Two that are one
    and the same place, on a road by which neither comes back, do not count.
    """
    _, parts = connected_components(network.outward.graph, connection="strong")
    theirs, own = _parts(network, parts, sites), _parts(network, parts, access)
    return (own >= 0) & np.isin(own, theirs)


def _parts(network: Network, parts: NDArray[np.int32], points: Points) -> NDArray[np.int64]:
    """Return the part that each point lies in, given that of each junction; -1: in none."""
    segment, share = np.where(points.on_road, points.segment, 0), points.share
    along, against = network.outward.along[segment], network.outward.against[segment]
    ends = parts[network.tail[segment]], parts[network.head[segment]]
    comes = part(share, along), part(1 - share, against)
    goes = part(share, against), part(1 - share, along)
    own = np.full(len(segment), -1)
    for over, out in ((0, 0), (0, 1), (1, 0), (1, 1)):
        back = np.isfinite(comes[over] + goes[out]) & (ends[over] == ends[out])
        own = np.where(points.on_road & back, ends[over], own)
    return own
