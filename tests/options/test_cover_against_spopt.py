"""The covering programme against spopt, on the instance that it publishes with its own tests.

205 census tracts and 16 candidate stores of San Francisco with network distances: Feng, Barcelos,
Gaboardi and others, spopt: a python package for solving spatial optimization problems in PySAL,
Journal of Open Source Software 7 (2022), 3330.
"""

import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pulp
import pytest
from numpy.typing import NDArray

from haulshed.options.cover import Cover, best_cover

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # spopt's own dependencies warn when they are imported
    import spopt
    from spopt.locate import MCLP, PMedian

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning:pulp.*", "ignore:Constructing")

DATA = Path(spopt.__file__).parent / "tests" / "test_locate" / "data"
RADIUS_M = 5000.0
Floats = NDArray[np.float64]


@pytest.fixture(scope="module")
def distance_m() -> Floats:
    table = pd.read_csv(DATA / "SF_network_distance_candidateStore_16_censusTract_205_new.csv")
    wide = table.pivot_table(values="distance", index="DestinationName", columns="name")
    assert wide.shape == (205, 16)
    return wide.to_numpy()


@pytest.fixture(scope="module")
def demand() -> Floats:
    table = pd.read_csv(DATA / "SF_network_distance_candidateStore_16_censusTract_205_new.csv")
    return table.groupby("DestinationName")["demand"].first().to_numpy(dtype=float)


def solver() -> pulp.LpSolver:
    return pulp.PULP_CBC_CMD(msg=False)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 6, 9])
def test_maximal_covering(distance_m: Floats, demand: Floats, count: int) -> None:
    theirs = MCLP.from_cost_matrix(distance_m, demand, RADIUS_M, p_facilities=count)
    theirs.solve(solver())
    reached = (distance_m <= RADIUS_M).astype(float)
    ours = best_cover(Cover(worth=demand, shares=(reached,), cost=np.ones(16), count=count))
    assert ours is not None
    assert ours.worth == pytest.approx(theirs.problem.objective.value())
    assert ours.bound == pytest.approx(ours.worth)
    assert demand[reached[:, list(ours.chosen)].any(axis=1)].sum() == pytest.approx(ours.worth)


def test_the_published_coverage_of_four_stores(distance_m: Floats, demand: Floats) -> None:
    """The best by demand covers 89.756 % of the tracts: spopt's own test of the instance."""
    reached = (distance_m <= RADIUS_M).astype(float)
    ours = best_cover(Cover(worth=demand, shares=(reached,), cost=np.ones(16), count=4))
    assert ours is not None
    covered = reached[:, list(ours.chosen)].any(axis=1)
    assert covered.mean() * 100 == pytest.approx(89.75609756097561)


@pytest.mark.parametrize("count", [2, 4])
def test_p_median(distance_m: Floats, demand: Floats, count: int) -> None:
    """
    The median problem is one of covering at every distance at once.

    The demand's way to its nearest store is the longest way less all the steps between distances
    within which a store is; each step is a row (Church and ReVelle, 1976, show the equivalence).
    """
    km = np.ceil(distance_m / 1000)
    theirs = PMedian.from_cost_matrix(km, demand, p_facilities=count)
    theirs.solve(solver())
    levels = np.unique(km)
    steps = np.diff(levels)
    reached = [(km <= level).astype(float) for level in levels[:-1]]
    cover = Cover(
        worth=np.concatenate([demand * step for step in steps]),
        shares=(np.vstack(reached),),
        cost=np.ones(16),
        count=count,
    )
    ours = best_cover(cover)
    assert ours is not None
    ways_km = demand.sum() * levels[-1] - ours.worth
    assert ways_km == pytest.approx(theirs.problem.objective.value())


def test_a_budget_and_clashes_against_all_subsets() -> None:
    random = np.random.default_rng(3)
    for _ in range(20):
        reached = (random.random((30, 8)) < 0.25).astype(float)
        worth, cost = (
            random.integers(1, 9, 30).astype(float),
            random.integers(1, 9, 8).astype(float),
        )
        cover = Cover(
            worth=worth, shares=(reached,), cost=cost, budget=12.0, clashes=((0, 1), (2, 5))
        )
        ours = best_cover(cover)
        best = 0.0
        for bits in range(256):
            chosen = [c for c in range(8) if bits >> c & 1]
            if {0, 1} <= set(chosen) or {2, 5} <= set(chosen) or cost[chosen].sum() > 12:
                continue
            best = max(best, worth[reached[:, chosen].any(axis=1)].sum() if chosen else 0.0)
        assert ours is not None
        assert ours.worth == pytest.approx(best)


def test_a_choice_unwanted_is_not_given_again() -> None:
    cover = Cover(worth=np.ones(3), shares=(np.eye(3),), cost=np.ones(3), count=1)
    seen: list[tuple[int, ...]] = []
    for _ in range(3):
        found = best_cover(cover, but=seen)
        assert found is not None
        assert found.worth == 1
        seen.append(found.chosen)
    assert sorted(seen) == [(0,), (1,), (2,)]
