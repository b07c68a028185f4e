"""The primal simplex on a dense table, compiled: exact, small programmes by the ten thousand.

Maximise c·x over A x ≤ b, x ≥ 0, where b ≥ 0, so x = 0 is a start. The table is the short one:
a column for each variable at zero and a row for each of the others; a pivot swaps one of each.
The largest gain enters. After many pivots without gain the lowest-numbered variable enters and
leaves instead (Bland's rule), which cannot cycle [1]_.

References
----------
.. [1] R. G. Bland, "New finite pivoting rules for the simplex method", *Mathematics of Operations
   Research* 2 (1977), 103-107 (from memory).
"""

from typing import NamedTuple

import numpy as np

from haulshed.shuttle.kernel import Floats, Ints, compiled, inner

SOLVED = 0
UNBOUNDED = 1
GAVE_UP = 2

_LARGEST, _BLAND = 0, 1

#: A gain or a pivot below this, in the scaled table, counts as none.
_TINY = 1e-11
#: A variable above this, in the scaled table, is not zero for rounding.
_CLEAR = 1e-9
#: Pivots without gain before Bland's rule is used.
_PATIENCE = 12
#: Pivots for each row and column before giving up.
_PIVOTS_EACH = 20


class Optimum(NamedTuple):
    """Where the simplex ended."""

    status: int
    x: Floats  #: the variables
    price: Floats  #: what one more of each row's limit would gain (the dual)
    steady: bool  #: no other prices do, neither at these limits nor at those stretched


@inner
def _entering(table: Floats, nonbasic: Ints, rule: int) -> int:
    """Return the column that enters, -1 at the optimum."""
    last = table.shape[0] - 1
    entering, most = -1, _TINY
    for column in range(nonbasic.size):
        gain = table[last, column]
        if gain > _TINY and rule == _BLAND:
            if entering < 0 or nonbasic[column] < nonbasic[entering]:
                entering = column
        elif gain > most:
            entering, most = column, gain
    return entering


@inner
def _leaving(table: Floats, basic: Ints, entering: int, rule: int) -> int:
    """Return the row that leaves, -1 if nothing bounds the gain."""
    width = table.shape[1]
    leaving, least = -1, np.inf
    for row in range(basic.size):
        pivot = table[row, entering]
        if pivot <= _TINY:
            continue
        ratio = max(table[row, width - 1], 0.0) / pivot
        if ratio < least:
            leaving, least = row, ratio
        elif ratio == least:
            lower = basic[row] < basic[leaving]
            if lower if rule == _BLAND else pivot > table[leaving, entering]:
                leaving = row
    return leaving


@inner
def _pivot(table: Floats, row: int, column: int) -> None:
    """Swap the variable of `row` with that of `column`."""
    height, width = table.shape
    inverse = 1.0 / table[row, column]
    table[row, column] = 1.0
    for j in range(width):
        table[row, j] *= inverse
    for i in range(height):
        factor = table[i, column]
        if i != row and factor != 0.0:
            table[i, column] = 0.0
            for j in range(width):
                table[i, j] -= factor * table[row, j]


@inner
def _run(table: Floats, basic: Ints, nonbasic: Ints) -> int:
    """Pivot `table` to the optimum; return how it ended."""
    width = table.shape[1]
    stalled = 0
    for _ in range(_PIVOTS_EACH * (basic.size + nonbasic.size)):
        rule = _BLAND if stalled > _PATIENCE else _LARGEST
        column = _entering(table, nonbasic, rule)
        if column < 0:
            return SOLVED
        row = _leaving(table, basic, column, rule)
        if row < 0:
            return UNBOUNDED
        stalled = stalled + 1 if table[row, width - 1] <= _TINY else 0
        _pivot(table, row, column)
        basic[row], nonbasic[column] = nonbasic[column], basic[row]
    return GAVE_UP


@inner
def _scales(a: Floats, b: Floats, c: Floats) -> tuple[Floats, Floats, float]:
    """Return factors by row that make limits 1, by column coefficients ≤ 1, and gains ≤ 1."""
    rows, columns = a.shape
    of_row, of_column = np.zeros(rows), np.zeros(columns)
    for i in range(rows):
        size = b[i]
        if size <= 0.0:
            for j in range(columns):
                size = max(size, abs(a[i, j]))
        of_row[i] = 1.0 / size if size > 0.0 else 1.0
        for j in range(columns):
            of_column[j] = max(of_column[j], abs(a[i, j]) * of_row[i])
    gain = 0.0
    for j in range(columns):
        of_column[j] = 1.0 / of_column[j] if of_column[j] > 0.0 else 1.0
        gain = max(gain, abs(c[j]) * of_column[j])
    return of_row, of_column, 1.0 / gain if gain > 0.0 else 1.0


@inner
def _scaled(
    a: Floats, limits: tuple[Floats, Floats], c: Floats, scales: tuple[Floats, Floats, float]
) -> Floats:
    """Return the table to start from: rows of limits, stretched and as they are; then the gains."""
    (rows, columns), (b, stretched) = a.shape, limits
    of_row, of_column, of_gain = scales
    table = np.zeros((rows + 1, columns + 2))
    for i in range(rows):
        for j in range(columns):
            table[i, j] = a[i, j] * of_row[i] * of_column[j]
        table[i, columns] = stretched[i] * of_row[i]
        table[i, columns + 1] = b[i] * of_row[i]
    for j in range(columns):
        table[rows, j] = c[j] * of_column[j] * of_gain
    return table


@inner
def _steady(table: Floats, rows: int) -> bool:
    """
    Say whether all basic variables are well above zero at both columns of limits.

    Then the basis is optimal at both, since the gains do not depend on the limits; and prices that
    are optimal must leave no gain and no price with any variable above zero (complementary
    slackness), which are as many equations as there are prices: there are no others.
    """
    last, least = table.shape[1] - 1, np.inf
    for i in range(rows):
        least = min(least, table[i, last - 1], table[i, last])
    return least > _CLEAR


@compiled
def simplex(a: Floats, b: Floats, c: Floats, stretched: Floats) -> Optimum:
    """
    Return the x ≥ 0 with a x ≤ b that makes c·x largest, and the price of every row.

    Rows and columns are scaled first. `b` must not be negative. `stretched` are limits of which it
    is asked whether they would leave the prices as they are.

    Examples
    --------
    Two goods, two machines: 3 x + 2 y is largest at (2, 1), and prices × limits give it again.

    >>> a, b, c = np.array([[1.0, 1.0], [2.0, 1.0]]), np.array([3.0, 5.0]), np.array([3.0, 2.0])
    >>> end = simplex(a, b, c, 1.01 * b)
    >>> end.x.round(9).tolist(), end.price.round(9).tolist(), end.steady
    ([2.0, 1.0], [1.0, 1.0], True)
    """
    rows, columns = a.shape
    of_row, of_column, of_gain = _scales(a, b, c)
    table = _scaled(a, (b, stretched), c, (of_row, of_column, of_gain))
    basic, nonbasic = np.zeros(rows, np.int64), np.zeros(columns, np.int64)
    for i in range(rows):
        basic[i] = columns + i
    for j in range(columns):
        nonbasic[j] = j
    status = _run(table, basic, nonbasic)
    x, price = np.zeros(columns), np.zeros(rows)
    for i in range(rows):
        if basic[i] < columns:
            x[basic[i]] = max(table[i, columns + 1], 0.0) * of_column[basic[i]]
    for j in range(columns):
        row = nonbasic[j] - columns
        if row >= 0:
            price[row] = max(-table[rows, j], 0.0) * of_row[row] / of_gain
    return Optimum(status, x, price, status == SOLVED and _steady(table, rows))
