"""What a fire pump gives: less, the more pressure it must make."""

from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

#: Net pump pressure [psi] → share of the rated flow: 100 % at 150, 70 % at 200, 50 % at 250 psi
#: (rating points of the apparatus standard, value from memory). Up to 150 psi a pump gives its
#: rated flow; between the points the share is read on a straight line; above 250 psi, where no
#: point is published, it is taken to give nothing.
RATING_POINTS = ((250.0, 0.5), (200.0, 0.7), (150.0, 1.0))

#: What the piping of a tanker passes from tank to pump where its row does not say [gpm]: 500 until
#: 80 % of the tank is out (IFSTA ch. 14, read in a summary).
TANK_TO_PUMP_GPM = 500.0


def tank_to_pump_gpm(given_gpm: ArrayLike) -> NDArray[np.float64]:
    """
    Return what the piping from tank to pump passes [gpm]: as given, else 500.

    Examples
    --------
    >>> tank_to_pump_gpm([750, np.nan]).tolist()
    [750.0, 500.0]
    """
    given = np.asarray(given_gpm, float)
    return np.where(np.isnan(given), TANK_TO_PUMP_GPM, given)


def pump_off_gpm(given_gpm: ArrayLike, rated_gpm: ArrayLike) -> NDArray[np.float64]:
    """
    Return the rate at which a tanker pumps itself off with no lay behind it [gpm].

    Parameters
    ----------
    given_gpm
        What its piping from tank to pump passes [gpm]; NaN: 500.
    rated_gpm
        Its rated pump [gpm]; 0: none.

    Examples
    --------
    >>> pump_off_gpm([750, np.nan, np.nan], [500, 1000, 0]).tolist()
    [500.0, 500.0, 0.0]
    """
    return np.asarray(np.minimum(tank_to_pump_gpm(given_gpm), rated_gpm))


def share_through_line(
    loss_at_rating_psi: NDArray[np.float64], fixed_psi: ArrayLike
) -> NDArray[np.float64]:
    r"""
    Return the largest flow that a pump pushes through a line, as a share of its rated flow.

    At a share :math:`x` of the rated flow the line asks for :math:`p_0 + L x^2`, and the pump makes
    up to the pressure of :data:`RATING_POINTS`. On each straight piece of those this is a quadratic
    in x. A share above 1 means that the line would take more than the rated flow.

    Parameters
    ----------
    loss_at_rating_psi
        Friction loss L of the line at the pump's rated flow [psi].
    fixed_psi
        Net pressure p₀ that it takes before anything flows [psi].

    Examples
    --------
    102 psi and 0.7² of 200 are 200 psi; 102 and 0.5² of 592 are 250 psi:

    >>> share_through_line(np.array([200.0, 592.0]), 102.0).round(9).tolist()
    [0.7, 0.5]
    """
    fixed = np.asarray(fixed_psi, float)
    share = np.maximum(positive_root(loss_at_rating_psi, 0.0, RATING_POINTS[0][0] - fixed), 0.0)
    share = np.minimum(share, RATING_POINTS[0][1])
    for (high_psi, low), (low_psi, high) in pairwise(RATING_POINTS):
        slope_psi = (high_psi - low_psi) / (high - low)
        here = positive_root(loss_at_rating_psi, slope_psi, high_psi + slope_psi * low - fixed)
        top = np.inf if high == 1 else high
        share = np.where(here >= low, np.maximum(share, np.minimum(here, top)), share)
    return share


def positive_root(square: ArrayLike, linear: ArrayLike, total: ArrayLike) -> NDArray[np.float64]:
    r"""
    Return the largest x ≥ 0 with :math:`a x^2 + b x \le c`; -1 if c < 0, as there is none.

    a, b ≥ 0; infinite where both are 0 and c is above 0, 0 where a is infinite.

    Examples
    --------
    >>> positive_root([1, 0, 4, 0], [1, 2, 0, 0], [6, 3, -1, 1]).tolist()
    [2.0, 1.5, -1.0, inf]
    """
    square, linear, total = np.broadcast_arrays(
        np.asarray(square, float), np.asarray(linear, float), np.asarray(total, float)
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        root = 2 * total / (linear + np.sqrt(linear**2 + 4 * square * total))
    return np.asarray(np.where(total > 0, root, np.sign(total)))
