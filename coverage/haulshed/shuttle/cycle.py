r"""One tanker, one site: the times of a round trip and the flow that it alone carries.

The published shuttle formula: flow = usable load / (fill + drive + unload + drive) [1]_.

References
----------
.. [1] NFPA 1142, *Standard on Water Supplies for Suburban and Rural Fire Fighting*, Annex C (from
   memory); IFSTA, *Pumping Apparatus*, 1st ed., ch. 14 (from a summary).
"""

import numpy as np

from haulshed.shuttle.kernel import Floats


def usable_gal(tank_gal: Floats, *, loss_share: float) -> Floats:
    """
    Return what a tank delivers each trip [gal]: `loss_share` of it stays behind or is not filled.

    Examples
    --------
    >>> usable_gal(np.array([3000.0]), loss_share=0.10).tolist()
    [2700.0]
    """
    return (1.0 - loss_share) * tank_gal


def fill_min(
    tank_gal: Floats, fill_gpm: Floats, *, site_gpm: Floats, handling_min: Floats
) -> Floats:
    """
    Return the time at the fill site [min]: handling, then the tank at the slower of two rates.

    The arrays broadcast, so tankers may stand in rows and sites in columns.

    Examples
    --------
    2,000 gal at a 1,000-gpm hydrant, the tanker taking 1,200, handling 2.0 min:

    >>> tank, rate = np.array([[2000.0]]), np.array([[1200.0]])
    >>> fill_min(
    ...     tank, rate, site_gpm=np.array([1000.0]), handling_min=np.array([2.0])
    ... ).tolist()
    [[4.0]]
    """
    return handling_min + tank_gal / np.minimum(site_gpm, fill_gpm)


def unload_min(load_gal: Floats, rate_gpm: Floats, *, handling_min: float) -> Floats:
    """
    Return the time at the dump site [min]; infinite for a tanker that cannot unload (rate 0).

    Examples
    --------
    >>> unload_min(np.array([1800.0, 1800.0]), np.array([1000.0, 0.0]), handling_min=1.5).tolist()
    [3.3, inf]
    """
    able = rate_gpm > 0.0
    return np.where(able, handling_min + load_gal / np.where(able, rate_gpm, 1.0), np.inf)


def round_trip_min(
    *, fill_min: Floats, unload_min: Floats, loaded_min: Floats, empty_min: Floats
) -> Floats:
    """
    Return the round trip [min]: unload, drive empty, fill, drive loaded.

    Examples
    --------
    >>> one = np.array([1.0])
    >>> round_trip_min(
    ...     fill_min=4 * one, unload_min=3 * one, loaded_min=2.5 * one, empty_min=2 * one
    ... ).tolist()
    [11.5]
    """
    return unload_min + empty_min + fill_min + loaded_min


def shuttle_gpm(load_gal: Floats, trip_min: Floats) -> Floats:
    """
    Return the flow that one tanker carries [gpm]: its usable load once a round trip.

    Examples
    --------
    A 3,000-gal tanker less 10 %, 12 min a trip (Firehouse article on IFSTA's method, p. 12):

    >>> shuttle_gpm(np.array([2700.0]), np.array([12.0])).tolist()
    [225.0]
    """
    return load_gal / trip_min
