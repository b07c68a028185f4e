"""What a hydrant gives, from its flow test."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from haulshed.tables.fill_sites import RESIDUAL_PSI


def flow_at_psi(
    static_psi: ArrayLike,
    residual_psi: ArrayLike,
    test_flow_gpm: ArrayLike,
    at_psi: ArrayLike = RESIDUAL_PSI,
) -> NDArray[np.float64]:
    r"""
    Return the flow [gpm] that draws a hydrant's main down to `at_psi`.

    .. math:: Q_R = Q_F \left(\frac{P_s - P_a}{P_s - P_r}\right)^{0.54}

    A main whose static pressure is `at_psi` or less gives 0: by this rule nothing may be drawn
    from it. A result far beyond the test flow is an extrapolation that a small drop makes unsure.

    Parameters
    ----------
    static_psi
        Pressure with no flow [psi].
    residual_psi
        Pressure while the test flow runs [psi]; below `static_psi`.
    test_flow_gpm
        Flow during the test [gpm].
    at_psi
        Pressure that must be left in the main [psi].

    Returns
    -------
    flow_gpm
        Flow at that pressure [gpm]. NaN where a part of the test is missing.

    Raises
    ------
    ValueError
        If a residual pressure is not below its static pressure.

    Examples
    --------
    Static 86, residual 42 psi at 789 gpm [1]_:

    >>> round(float(flow_at_psi(86, 42, 789)))
    982

    References
    ----------
    .. [1] T. Kolb, water supply slides 1, 15 and 16, tkolb.net/WatSup (about 980 gpm).
    """
    static, residual = np.asarray(static_psi, float), np.asarray(residual_psi, float)
    if np.any(residual >= static):
        msg = "residual_psi must be below static_psi: with no drop the flow cannot be worked out"
        raise ValueError(msg)
    above = np.maximum(static - np.asarray(at_psi, float), 0.0)
    return np.asarray(np.asarray(test_flow_gpm, float) * (above / (static - residual)) ** 0.54)
