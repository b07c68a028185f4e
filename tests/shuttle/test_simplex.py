"""The simplex by itself: textbook cases, cycling, bad scales, against HiGHS."""

import numpy as np
import pytest
from scipy.optimize import linprog

from haulshed.shuttle.simplex import SOLVED, UNBOUNDED, simplex


def solved(a: object, b: object, c: object) -> tuple[np.ndarray, np.ndarray]:
    a, b, c = (np.array(value, dtype=np.float64) for value in (a, b, c))
    end = simplex(a, b, c, b)
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
    assert simplex(np.array([[-1.0, 1.0]]), np.ones(1), np.ones(2), np.ones(1)).status == UNBOUNDED


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
    far = simplex(a * row[:, None] * column, b * row, c * column, b * row)
    assert far.status == SOLVED
    assert (c * column) @ far.x == pytest.approx(-end.fun, rel=1e-9, abs=1e-9)
    assert far.price @ (b * row) == pytest.approx(-end.fun, rel=1e-9, abs=1e-9)


def by_highs(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> np.ndarray:
    return -linprog(-c, a, b, method="highs").ineqlin.marginals


@pytest.mark.parametrize("start", range(0, 60, 20))
def test_prices_said_to_stay_are_those_of_highs_at_both_limits(start: int) -> None:
    steady = 0
    for seed in range(start, start + 20):
        rng = np.random.default_rng(seed)
        rows, columns = rng.integers(2, 12), rng.integers(2, 30)
        a, c = rng.random((rows, columns)) + 0.01, rng.random(columns)
        b = rng.integers(1, 4, rows).astype(float)
        if seed % 2 == 0:  # ties: small whole numbers, and a row twice
            a, c = np.vstack((a, a[:1])).round(1) + 0.1, c.round(1) + 0.1
            b = np.append(b, b[0])
        stretched = b * (1 + rng.choice([0.0, 1e-6, 0.05], b.size))
        end = simplex(a, b, c, stretched)
        if end.steady:
            steady += 1
            assert end.price == pytest.approx(by_highs(a, b, c), abs=1e-9)
            assert end.price == pytest.approx(by_highs(a, stretched, c), abs=1e-9)
    assert 5 < steady < 20


@pytest.mark.parametrize(
    ("b", "stretched", "steady"),
    [
        # x + y within 3, 2 x + y within 5, gains 3 and 2: at (2, 1) prices are 1 and 1.
        ([3, 5, 9], [3.1, 5.1, 9], True),
        ([3, 5, 2], [3, 5, 2], False),  # x within 2 meets the same corner: any mixture prices it
        ([3, 5, 2.5], [3, 5, 1.9], False),  # after the stretch x is the limit
        ([3, 5, 1.9], [3, 5, 2.5], False),
    ],
)
def test_a_corner_of_three_limits_has_no_prices_of_its_own(
    b: list[float], stretched: list[float], *, steady: bool
) -> None:
    a = np.array([[1.0, 1.0], [2.0, 1.0], [1.0, 0.0]])
    end = simplex(a, np.array(b, float), np.array([3.0, 2.0]), np.array(stretched, float))
    assert end.status == SOLVED
    assert end.steady == steady
