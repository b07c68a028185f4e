"""The flow that a pump and a supply line settle to, and which of the two binds it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from haulshed.hydraulics.pump import positive_root, share_through_line, tank_to_pump_gpm
from haulshed.scenario.supply_line import SupplyLine
from haulshed.tables.answers import LimitedBy

#: Pressure of a column of water [psi/ft] (NWCG, table 3.1).
PSI_PER_FT = 0.434

#: What `LinePoint.bound` counts into, in the order that settles ties.
BOUNDS = (LimitedBy.NURSE_LINE, LimitedBy.SUPPLY_LINE, LimitedBy.PUMP)
_NURSE_LINE, _SUPPLY_LINE, _PUMP = range(3)


@dataclass(frozen=True, slots=True, kw_only=True)
class LinePoint:
    """Where pump and line settle."""

    flow_gpm: NDArray[np.float64]  #: the largest flow that both give [gpm]
    bound: NDArray[np.int8]  #: which of :data:`BOUNDS` binds it


def line_point(
    loss_psi_per_gpm2: ArrayLike,
    rated_gpm: ArrayLike,
    line: SupplyLine,
    *,
    rise_ft: ArrayLike,
    suction_psi: ArrayLike,
) -> LinePoint:
    r"""
    Return the most that a pump moves through a supply line, at any allowed pressure.

    .. math:: Q = \max_{P \le P_{max}} \min\left(\sqrt{(P - p_0) / K},\ \text{pump}(P + s)\right)

    with :math:`p_0` = residual + appliance + 0.434 psi/ft of rise. Solved exactly, piece by piece.
    The appliance's loss is taken whole at every flow, which is on the safe side below 350 gpm. A
    line that falls has a negative rise: the ground helps, and what is left at its end is still
    the residual asked for.

    Parameters
    ----------
    loss_psi_per_gpm2
        Friction loss K of the line [psi/gpm²]; infinite: it does not reach, so nothing flows.
    rated_gpm
        Rated pump [gpm], of a shape that broadcasts with the loss.
    line
        Pressures.
    rise_ft
        From the line's start to its end [ft], of a shape that broadcasts with the loss.
    suction_psi
        Net pressure that lifting the water takes [psi]: the scenario's when drafting, 0 from a tank
        or a hydrant; of a shape that broadcasts with the loss.

    Returns
    -------
    point
        The flow, NaN where the loss is NaN; and what binds it: *pump* where a larger hose would not
        raise the flow, else *supply line*, also where both curves cross.

    Examples
    --------
    1,000 ft of 5-in hose (80 psi at 1,000 gpm), drafted through by a 1,500-gpm and a 500-gpm pump:

    >>> point = line_point(80 / 1000**2, [1500, 500], SupplyLine(), rise_ft=0, suction_psi=5)
    >>> point.flow_gpm.round().tolist(), [str(BOUNDS[code]) for code in point.bound]
    ([1306.0, 500.0], ['supply line', 'pump'])
    """
    loss, rated = np.asarray(loss_psi_per_gpm2, float), np.asarray(rated_gpm, float)
    fixed_psi = line.residual_psi + line.appliance_psi + PSI_PER_FT * np.asarray(rise_ft, float)
    by_line = np.maximum(positive_root(loss, 0.0, line.discharge_psi - fixed_psi), 0.0)
    at_rating_psi = np.where(rated > 0, loss, 0.0) * rated**2
    share = share_through_line(at_rating_psi, fixed_psi + np.asarray(suction_psi, float))
    by_pump = rated * np.minimum(share, 1.0)
    pump_alone = (by_line > by_pump) & ((share > 1) | (by_pump == 0))
    return LinePoint(
        flow_gpm=np.minimum(by_line, by_pump),
        bound=np.where(pump_alone, _PUMP, _SUPPLY_LINE).astype(np.int8),
    )


def nurse_point(
    loss_psi_per_gpm2: ArrayLike,
    rated_gpm: ArrayLike,
    given_tank_to_pump_gpm: ArrayLike,
    line: SupplyLine,
    *,
    rise_ft: ArrayLike,
) -> LinePoint:
    """
    Return the rate at which a tanker pumps off through the lay, and what binds it.

    As :func:`line_point` with the tanker's own pump, from its tank, and no more than the piping
    from tank to pump passes (bound: *nurse line*, also on a tie).

    Parameters
    ----------
    loss_psi_per_gpm2
        Friction loss of the line [psi/gpm²], shape (parcels,).
    rated_gpm
        Each tanker's rated pump [gpm], shape (tankers,); 0: none, so it does not nurse.
    given_tank_to_pump_gpm
        What its piping passes [gpm], shape (tankers,); NaN: 500.
    line
        Pressures.
    rise_ft
        Rise of the lay [ft], shape (parcels,) or one for all.

    Returns
    -------
    point
        Arrays of shape (parcels, tankers).

    Examples
    --------
    300 ft of 3-in hose, two tankers:

    >>> loss, unknown = [0.8 * 300 / 100**3], [np.nan, np.nan]
    >>> point = nurse_point(loss, [750, 250], unknown, SupplyLine(), rise_ft=0)
    >>> point.flow_gpm.tolist(), [str(BOUNDS[code]) for code in point.bound[0]]
    ([[500.0, 250.0]], ['nurse line', 'pump'])
    """
    loss = np.asarray(loss_psi_per_gpm2, float)[:, None]
    rise = np.broadcast_to(np.asarray(rise_ft, float), loss.shape[:1])[:, None]
    through = line_point(loss, rated_gpm, line, rise_ft=rise, suction_psi=0.0)
    piping = tank_to_pump_gpm(given_tank_to_pump_gpm)
    return LinePoint(
        flow_gpm=np.minimum(piping, through.flow_gpm),
        bound=np.where(piping <= through.flow_gpm, _NURSE_LINE, through.bound).astype(np.int8),
    )
