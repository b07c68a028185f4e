"""The ladder: what each next best buy brings, against what all of them cost so far."""

import itertools
from collections.abc import Sequence

from haulshed.options.choose import Choice, Step
from haulshed.options.limits import Money
from haulshed.outputs.choice_words import GAINS
from haulshed.outputs.svg import line, page, text

_WIDTH_PX, _PLOT_PX = 900, 300
_LEFT_PX, _RIGHT_PX = 74, 26
_ROW_PX = 18
_TICKS = 4
_PALE = "#d5cdd2"


def ladder_curve(choice: Choice, district: str) -> str:
    """Return the curve with a numbered point a rung, and the rungs by name below it."""
    steps = choice.ladder
    yearly = choice.limits.money is Money.YEARLY
    costs = [0.0, *(step.cost_a_year if yearly else step.capital for step in steps)]
    gains = [0.0, *(step.score - choice.score_before for step in steps)]
    right, top = _round_up(max(costs)), _round_up(max(gains))
    points = [(_x(cost, right), _y(gain, top)) for cost, gain in zip(costs, gains, strict=True)]
    parts = [*_grid(right, top), _stairs(points)]
    for number, (x, y) in enumerate(points[1:], start=1):
        parts += [
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9" fill="#ffffff" stroke="#2a2228"/>',
            text(x, y + 4, str(number), size=11, anchor="middle", weight=700),
        ]
    what = "cost a year, all in" if yearly else "capital"
    parts += [
        text(_WIDTH_PX - _RIGHT_PX, _PLOT_PX + 34, f"{what}, all rungs so far", anchor="end"),
        text(_LEFT_PX - 58, 4, GAINS[choice.objective]),
        *_named(steps),
    ]
    height = _PLOT_PX + 58 + _ROW_PX * len(steps)
    return page(_WIDTH_PX, height, f"{district}: what each next best buy brings", parts)


def _x(cost: float, right: float) -> float:
    return _LEFT_PX + (_WIDTH_PX - _LEFT_PX - _RIGHT_PX) * cost / right


def _y(gain: float, top: float) -> float:
    return _PLOT_PX - (_PLOT_PX - 24) * gain / top


def _stairs(points: Sequence[tuple[float, float]]) -> str:
    """Return the curve as stairs: nothing is gained until a rung is paid for."""
    path = [points[0]]
    for before, here in itertools.pairwise(points):
        path += [(here[0], before[1]), here]
    return line(path, width=2.2)


def _grid(right: float, top: float) -> list[str]:
    parts = []
    for tick in range(_TICKS + 1):
        gain, cost = top * tick / _TICKS, right * tick / _TICKS
        y, x = _y(gain, top), _x(cost, right)
        parts += [
            line([(_LEFT_PX, y), (_WIDTH_PX - _RIGHT_PX, y)], ink=_PALE),
            text(_LEFT_PX - 8, y + 4, f"{gain:,.6g}", anchor="end", size=11),
            text(x, _PLOT_PX + 17, f"{cost:,.6g}", anchor="middle", size=11),
        ]
    return parts


def _round_up(value: float) -> float:
    """
    Return the next of 1, 2, 4, 6, 8, 10 times a power of ten.

    Examples
    --------
    >>> _round_up(48_500), _round_up(0), _round_up(105)
    (60000.0, 1.0, 200.0)
    """
    if value <= 0:
        return 1.0
    power = 10.0 ** (len(str(int(value))) - 1) if value >= 1 else 1.0
    return next(step * power for step in (1, 2, 4, 6, 8, 10) if step * power >= value)


def _named(steps: Sequence[Step]) -> list[str]:
    top = _PLOT_PX + 58
    return [
        text(
            16,
            top + _ROW_PX * number,
            f"{number + 1}  {step.title}: {step.gain:,.6g} more",
            size=12,
        )
        for number, step in enumerate(steps)
    ]
