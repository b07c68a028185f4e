"""Friction in fire hose: the coefficients, and the loss of a length."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from haulshed.errors import InputError
from haulshed.tables.apparatus import SAME_HOSE_IN

#: Friction coefficient C by hose diameter [in], for the loss C (Q/100)² (L/100) [psi]. Training
#: slides, records.rpcity.org id 366543. 3-in hose with 2½-in couplings is taken as 3 in; no usable
#: source was found for it, nor for 6 in, which is therefore not here.
COEFFICIENTS = {
    1.0: 150.0,
    1.5: 24.0,
    1.75: 10.0,
    2.5: 2.0,
    3.0: 0.8,
    4.0: 0.2,
    4.5: 0.1,
    5.0: 0.08,
}

_DIAMETERS_IN = np.array(list(COEFFICIENTS))
_COEFFICIENTS = np.array(list(COEFFICIENTS.values()))
_ACCEPTED = ", ".join(f"{diameter:g}" for diameter in COEFFICIENTS)


def _nearest(diameter_in: NDArray[np.float64]) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    gap = np.abs(diameter_in[..., None] - _DIAMETERS_IN)
    nearest = gap.argmin(axis=-1)
    return nearest, gap.min(axis=-1) <= SAME_HOSE_IN


def coefficient_for(diameter_in: ArrayLike) -> NDArray[np.float64]:
    """
    Return the friction coefficient of hose by its diameter [in].

    Raises
    ------
    InputError
        If a diameter is not in :data:`COEFFICIENTS`; nothing is read between two sizes.

    Examples
    --------
    >>> coefficient_for([2.5, 5]).tolist()
    [2.0, 0.08]
    """
    diameter = np.asarray(diameter_in, float)
    nearest, known = _nearest(diameter)
    if not known.all():
        strange = ", ".join(f"{value:g}" for value in np.unique(diameter[~known]))
        msg = f"no friction coefficient for hose of {strange} in. Accepted: {_ACCEPTED} in."
        raise InputError(msg)
    return np.asarray(_COEFFICIENTS[nearest])


def loss_psi_per_gpm2(coefficient: ArrayLike, length_ft: ArrayLike) -> NDArray[np.float64]:
    r"""
    Return the friction loss of hose per flow squared [psi/gpm²].

    .. math:: K = C \cdot 100^{-2} \cdot L / 100, \qquad \text{loss} = K Q^2

    Parameters
    ----------
    coefficient
        Friction coefficient of the hose; see :func:`coefficient_for`.
    length_ft
        Its length [ft].

    Examples
    --------
    200 gpm through 100 ft of 2½-in hose lose 8 psi [1]_:

    >>> float(loss_psi_per_gpm2(2.0, 100) * 200**2)
    8.0

    References
    ----------
    .. [1] Training slides 3 to 8, records.rpcity.org id 366543.
    """
    return np.asarray(np.asarray(coefficient, float) * np.asarray(length_ft, float) / 100**3)
