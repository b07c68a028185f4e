"""Time a choice among 200 candidate fill sites on Larkmoor: 3,000 parcels, 5 picks.

    python tests/benchmarks/run_choose.py

Prints the seconds of each part; run it on a quiet machine, twice, for compiled kernels.
"""

import time
from pathlib import Path

from haulshed.inputs.district import read_district
from haulshed.inputs.waters import read_waters
from haulshed.options.candidate_keys import CandidateKeys
from haulshed.options.candidates import as_options, find_candidates
from haulshed.options.choose import choose
from haulshed.options.limits import Limits
from haulshed.options.objective import Objective

LARKMOOR = Path(__file__).parents[2] / "data_samples" / "larkmoor"
PICKS, CANDIDATES = 5, 200


def quiet(step: str, done: int = 0, of: int = 0) -> None:
    """Report nothing."""


def main() -> None:
    """Run and print."""
    inputs = read_district(LARKMOOR, progress=quiet).inputs
    keys = CandidateKeys(
        sources=("ponds", "streams", "crossroads"), apart_ft=1500.0, at_most=CANDIDATES
    )
    waters = read_waters(LARKMOOR / "roads.osm", inputs.segments.crs)
    options = as_options(find_candidates(inputs, waters, keys))
    for objective in (Objective.PARCELS, Objective.PEOPLE, Objective.GPM):
        start, cpu = time.perf_counter(), time.process_time()
        choice = choose(
            inputs, options, objective=objective, limits=Limits(count=PICKS), progress=quiet
        )
        wall, busy = time.perf_counter() - start, time.process_time() - cpu
        print(  # noqa: T201 — a script for people
            f"{objective}: {len(options)} candidates, {len(inputs.parcels)} parcels, {PICKS} picks:"
            f" {wall:.1f} s ({busy:.1f} s of processor), {choice.parcels_solved:,} parcels solved,"
            f" gain {choice.plans[0].gain:,.0f}, bound {choice.bound}, gap {choice.gap}"
        )


if __name__ == "__main__":
    main()
