"""The simplex by itself: textbook cases, cycling, bad scales, against HiGHS."""

import numpy as np
import pytest
from scipy.optimize import linprog

from haulshed.shuttle.simplex import SOLVED, UNBOUNDED, simplex


def solved(a: object, b: object, c: object) -> tuple[np.ndarray, np.ndarray]:
    a, b, c = (np.array(value, dtype=np.float64) for value in (a, b, c))
    end = simplex(a, b, c)
    assert end.status == SOLVED
    assert (end.x >= 0).all()
    assert (end.price >= 0).all()
    assert (a @ end.x <= b + 1e-9 * (1 + np.abs(b))).all()
    assert (end.price @ a >= c - 1e-9).all()
    assert end.price @ b == pytest.approx(c @ end.x, rel=1e-10, abs=1e-12)
    return end.x, end.price


def test_the_window_makers() -> None:
    # Hillier and Lieberman, Introduction to Operations Research, the Wyndor Glass example
    # (from memory): x = (2, 6), 36 in all, prices 0, 3/2 and 1.
    x, price = solved([[1, 0], [0, 2], [3, 2]], [4, 12, 18], [3, 5])
    assert x == pytest.approx([2, 6])
    assert price == pytest.approx([0, 1.5, 1])


def test_a_programme_that_cycles_under_the_plain_rule() -> None:
    # Beale's example (from memory): the largest-gain rule goes round and round; optimum 1/20.
    a = [[0.25, -60, -1 / 25, 9], [0.5, -90, -1 / 50, 3], [0, 0, 1, 0]]
    x, _ = solved(a, [0, 0, 1], [0.75, -150, 0.02, -6])
    assert x @ [0.75, -150, 0.02, -6] == pytest.approx(0.05)


@pytest.mark.parametrize("size", [3, 6, 9])
def test_klee_and_minty(size: int) -> None:
    # V. Klee and G. Minty's cube (from memory): the optimum is 5 to the power of the size.
    a = [[2.0 ** (i - j + 1) if j < i else float(j == i) for j in range(size)] for i in range(size)]
    x, _ = solved(
        a, [5.0 ** (i + 1) for i in range(size)], [2.0 ** (size - 1 - j) for j in range(size)]
    )
    assert x[-1] == pytest.approx(5.0**size)


def test_nothing_bounds_it() -> None:
    assert simplex(np.array([[-1.0, 1.0]]), np.ones(1), np.ones(2)).status == UNBOUNDED


def test_no_limit_leaves_nothing() -> None:
    x, _ = solved([[1, 2], [3, 1]], [0, 0], [1, 1])
    assert x.tolist() == [0, 0]


@pytest.mark.parametrize("seed", range(40))
def test_against_highs_however_scaled(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rows, columns = rng.integers(1, 30), rng.integers(1, 80)
    a = rng.random((rows, columns)) + 0.01
    if seed % 3 == 0:
        a = a.round(1) + (rng.random((rows, columns)) < 0.5)  # many ties
    if seed % 4 == 0:
        a[:, ::3] *= rng.random((rows, 1)) < 0.5
    a = np.vstack((a, np.ones(columns)))
    b, c = rng.integers(0 if seed % 5 == 0 else 1, 4, rows + 1).astype(float), rng.random(columns)
    end = linprog(-c, a, b, method="highs")
    x, _ = solved(a, b, c)
    assert c @ x == pytest.approx(-end.fun, rel=1e-9, abs=1e-9)
    # The same programme with rows and columns in units 14 decades apart.
    row, column = 10.0 ** rng.integers(-7, 8, rows + 1), 10.0 ** rng.integers(-7, 8, columns)
    far = simplex(a * row[:, None] * column, b * row, c * column)
    assert far.status == SOLVED
    assert (c * column) @ far.x == pytest.approx(-end.fun, rel=1e-9, abs=1e-9)
    assert far.price @ (b * row) == pytest.approx(-end.fun, rel=1e-9, abs=1e-9)
