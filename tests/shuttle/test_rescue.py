"""An answer of the simplex that is missing or wrong is noticed, and HiGHS gives the right one."""

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import OptimizeResult

from haulshed.shuttle import optimum, rescue
from haulshed.shuttle.batch import batch_of
from haulshed.shuttle.dump_site import dump_site_stage
from haulshed.shuttle.fleet import everyone
from haulshed.shuttle.programme import Jobs, PumperRow, Results, Terms
from shuttle.made import drawn

TESTS = Path(__file__).parents[1]

#: The kernels as plain Python, with a simplex that does what FAULT says.
SCRIPT = """
import json
import numpy as np
from haulshed.shuttle import optimum
from haulshed.shuttle.simplex import GAVE_UP, SOLVED, Optimum, simplex
from shuttle.made import drawn

def faulty(a, b, c, stretched):
    end = simplex(a, b, c, stretched)
    x, price, status = end.x.copy(), end.price.copy(), end.status
    FAULT
    return Optimum(status, x, price, end.steady)

optimum.simplex = faulty
got = drawn(SEED, tankers=4, sites=4, places=4).flows()
print(json.dumps([got.nurse_gpm.tolist(), got.dump_site_gpm.tolist(), got.limit.tolist(),
                  int(got.programmes), int(got.rescued)]))
"""


def plain_python(seed: int, fault: str) -> list[list[float]]:
    path = [str(TESTS), *filter(None, [os.environ.get("PYTHONPATH")])]
    done = subprocess.run(  # noqa: S603 — our own interpreter and script
        [sys.executable, "-c", SCRIPT.replace("SEED", str(seed)).replace("FAULT", fault)],
        env=os.environ | {"NUMBA_DISABLE_JIT": "1", "PYTHONPATH": os.pathsep.join(path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@pytest.mark.parametrize(
    "fault",
    [
        "status = GAVE_UP",
        "x *= 1 + 1e-6",  # over some limit
        "x *= 1 - 1e-6",  # less than the prices allow
        "price *= 0",  # no proof
        "price[price.argmax()] *= 1.001",
    ],
)
def test_a_fault_is_mended(fault: str) -> None:
    seed = 8
    expected = drawn(seed, tankers=4, sites=4, places=4).flows()
    nurse, dump, limit, programmes, rescued = plain_python(seed, fault)
    assert expected.rescued == 0
    assert rescued == programmes > 3
    assert nurse == pytest.approx(expected.nurse_gpm, rel=1e-6)
    assert dump == pytest.approx(expected.dump_site_gpm, rel=1e-6)
    assert limit == expected.limit.tolist()


def test_the_kernels_say_the_same_uncompiled() -> None:
    expected = drawn(8, tankers=4, sites=4, places=4).flows()
    nurse, dump, limit, programmes, rescued = plain_python(8, "pass")
    assert rescued == 0
    assert programmes == expected.programmes
    assert nurse == pytest.approx(expected.nurse_gpm, rel=1e-12)
    assert dump == pytest.approx(expected.dump_site_gpm, rel=1e-12)
    assert limit == expected.limit.tolist()
    assert np.count_nonzero(nurse) > 0


def no_row(jobs: Jobs) -> PumperRow:
    return PumperRow(np.zeros(jobs.allowed.shape), np.full(jobs.place.size, np.inf))


def test_the_programme_written_out_has_the_same_optimum() -> None:
    for seed in range(30):
        made = drawn(seed + 900, tankers=6, sites=7, places=3)
        batch = batch_of(made.tankers, made.sites, made.places, made.operation)
        stage = dump_site_stage(batch, everyone(batch))
        for j in np.flatnonzero(stage.flow_gpm > 0):
            flow_gpm, carried_gpm, price = rescue.rescued(
                batch.terms, stage.jobs, no_row(stage.jobs), int(j)
            )
            assert flow_gpm == pytest.approx(stage.flow_gpm[j], rel=1e-7)
            assert carried_gpm.sum() == pytest.approx(flow_gpm)
            assert price.size == stage.results.price.shape[1]


def test_what_the_kernels_leave_is_solved_and_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    made = drawn(8, tankers=4, sites=4, places=4)
    batch = batch_of(made.tankers, made.sites, made.places, made.operation)
    expected_gpm = dump_site_stage(batch, everyone(batch)).flow_gpm
    batch.terms.tally[:] = 0

    def leaves_all(_terms: Terms, jobs: Jobs, _row: PumperRow, results: Results) -> None:
        results.flow_gpm[np.isfinite(jobs.unload_min).any(axis=1)] = np.nan

    monkeypatch.setattr(optimum, "_solve_all", leaves_all)
    got = dump_site_stage(batch, everyone(batch))
    assert got.flow_gpm == pytest.approx(expected_gpm, rel=1e-7)
    assert got.results.tanker_gpm.sum(axis=1) == pytest.approx(expected_gpm)
    assert got.results.class_gpm.sum(axis=(1, 2)) == pytest.approx(expected_gpm)
    assert batch.terms.tally[1] >= (expected_gpm > 0).sum() > 0


def test_what_the_kernels_leave_is_laid_open_too(monkeypatch: pytest.MonkeyPatch) -> None:
    made = drawn(8, tankers=4, sites=4, places=4)
    batch = batch_of(made.tankers, made.sites, made.places, made.operation)
    stage = dump_site_stage(batch, everyone(batch).at(np.array([2])))
    by_kernel_gpm = optimum.laid_open(batch.terms, stage.jobs).sum()
    monkeypatch.setattr(optimum, "_lay_open", lambda *_given: False)
    by_highs_gpm = optimum.laid_open(batch.terms, stage.jobs).sum()
    assert by_kernel_gpm == pytest.approx(stage.flow_gpm[0])
    assert by_highs_gpm == pytest.approx(by_kernel_gpm, rel=1e-7)
    assert by_highs_gpm > 0


@pytest.mark.parametrize(
    "answer",
    [
        {"status": 4},
        {"status": 0, "x": 1e6, "price": 0.0},  # over every limit
        {"status": 0, "x": 0.0, "price": 0.0},  # nothing carried, nothing proved
    ],
)
def test_no_answer_is_taken_on_trust(
    monkeypatch: pytest.MonkeyPatch, answer: dict[str, float]
) -> None:
    def solver(c: np.ndarray, a: np.ndarray, _limit: np.ndarray, *, method: str) -> OptimizeResult:
        assert method == "highs"
        return OptimizeResult(
            status=answer["status"],
            x=np.full(c.size, answer.get("x", 0.0)),
            ineqlin=OptimizeResult(marginals=np.full(a.shape[0], -answer.get("price", 0.0))),
        )

    made = drawn(8, tankers=4, sites=4, places=4)
    batch = batch_of(made.tankers, made.sites, made.places, made.operation)
    stage = dump_site_stage(batch, everyone(batch))
    j = int(stage.flow_gpm.argmax())
    monkeypatch.setattr(rescue, "linprog", solver)
    with pytest.raises(ArithmeticError, match="neither the simplex nor HiGHS"):
        rescue.rescued(batch.terms, stage.jobs, no_row(stage.jobs), j)
