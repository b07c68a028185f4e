"""The supply line that the counted engines' hose makes at each parcel."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.hydraulics.hose import coefficient_for, loss_psi_per_gpm2


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyHose:
    """One supply line a parcel."""

    #: Loss of the whole line per flow squared [psi/gpm²]. Infinite where the hose does not reach
    #: (nothing flows), NaN where the lay is not known.
    loss_psi_per_gpm2: NDArray[np.float64]
    carried_ft: NDArray[np.float64]  #: hose on the counted units together [ft]
    reaches: NDArray[np.bool_]  #: that hose is as long as the lay


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedHose:
    """The hose of one supply line a parcel, unit by unit, the hose that loses least first."""

    diameter_in: NDArray[np.float64]  #: (units with hose,)
    used_ft: NDArray[np.float64]  #: (parcels, units with hose)
    carried_ft: NDArray[np.float64]  #: hose on the counted units together [ft]


def supply_hose(
    lay_ft: NDArray[np.float64],
    counted: NDArray[np.bool_],
    hose_ft: NDArray[np.float64],
    hose_in: NDArray[np.float64],
) -> SupplyHose:
    """
    Lay the hose that loses least: one line, in series, the least-loss hose first.

    Of the last hose only the feet that are needed count (hose comes in lengths of 50 or 100 ft, so
    a little more is laid). Two lines side by side would lose less; they are not considered.

    Parameters
    ----------
    lay_ft
        Lay of each parcel [ft], shape (parcels,). NaN: not known.
    counted
        Whether a unit's hose is there, shape (parcels, units).
    hose_ft
        Supply hose on each unit [ft], shape (units,).
    hose_in
        Diameter of that hose [in], shape (units,); not looked at where there is no hose.

    Raises
    ------
    InputError
        If a hose has a diameter with no friction coefficient.

    Examples
    --------
    1,200 ft from 1,000 ft of 5-in and 500 ft of 3-in hose:

    >>> line = supply_hose(
    ...     np.array([1200.0]),
    ...     np.array([[True, True]]),
    ...     np.array([500.0, 1000.0]),
    ...     np.array([3.0, 5.0]),
    ... )
    >>> float(line.loss_psi_per_gpm2[0].round(12) * 1000**2)  # 10 times 8 psi, 2 times 80 psi
    240.0
    """
    used = used_hose(lay_ft, counted, hose_ft, hose_in)
    carried_ft = used.carried_ft
    loss = loss_psi_per_gpm2(coefficient_for(used.diameter_in), used.used_ft).sum(axis=1)
    loss[lay_ft > carried_ft] = np.inf
    loss[np.isnan(lay_ft)] = np.nan
    return SupplyHose(loss_psi_per_gpm2=loss, carried_ft=carried_ft, reaches=lay_ft <= carried_ft)


def used_hose(
    lay_ft: NDArray[np.float64],
    counted: NDArray[np.bool_],
    hose_ft: NDArray[np.float64],
    hose_in: NDArray[np.float64],
) -> UsedHose:
    """
    Return what of each unit's hose is laid, as :func:`supply_hose` lays it.

    Raises
    ------
    InputError
        If a hose has a diameter with no friction coefficient.
    """
    carries = np.flatnonzero(hose_ft > 0)
    order = carries[np.argsort(coefficient_for(hose_in[carries]), kind="stable")]
    there_ft = np.where(counted[:, order], hose_ft[order], 0.0)
    before_ft = np.cumsum(there_ft, axis=1) - there_ft
    return UsedHose(
        diameter_in=hose_in[order],
        used_ft=np.clip(lay_ft[:, None] - before_ft, 0.0, there_ft),
        carried_ft=there_ft.sum(axis=1),
    )
