"""Time a whole run, step by step. From `tests`: ``python -m benchmarks.run_county``.

Prints each step's seconds and its share of the whole, and the peak memory. Compare shares and
ratios, not seconds: machines are noisy. Roads: ../shared/osm, which is not part of the project.
"""

import resource
import sys
import tempfile
import time
from pathlib import Path

import geopandas as gpd

from benchmarks.county import make_county
from haulshed import pipeline

ROADS = Path(__file__).parents[3] / "shared" / "osm" / "terre_haute_in.osm.pbf"
KB_PER_MB = 1024


def main() -> None:
    """Make the district, run it with an empty road cache, print the table."""
    if not ROADS.is_file():
        sys.exit(f"{ROADS} is not here; the benchmark needs it.")
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        district = make_county(
            place / "county", ROADS, parcels=10_000, sites=30, stations=6, apparatus=20
        )
        steps: list[tuple[str, float]] = []

        def progress(step: str, _done: int = 0, _of: int = 0) -> None:
            steps.append((step.split(":", maxsplit=1)[0], time.perf_counter()))

        start = time.perf_counter()
        done = pipeline.run(district, cache=place / "cache", progress=progress)
        end = time.perf_counter()
        floor = _floor(done.out)
        _print(steps, start, end, floor)
        print(done.as_text())  # noqa: T201 — a script prints


def _floor(out: Path) -> float:
    """Return the seconds of reading the parcels and writing the GeoPackage alone."""
    start = time.perf_counter()
    parcels = gpd.read_file(out / "district.gpkg", layer="parcels")
    parcels.to_file(out / "floor.gpkg", layer="parcels", driver="GPKG")
    return time.perf_counter() - start


def _print(steps: list[tuple[str, float]], start: float, end: float, floor: float) -> None:
    spent: dict[str, float] = {"reading the tables": steps[0][1] - start if steps else 0.0}
    for (step, began), (_, ended) in zip(steps, [*steps[1:], ("", end)], strict=True):
        spent[step] = spent.get(step, 0.0) + ended - began
    for step, seconds in spent.items():
        print(f"{step:<45} {seconds:8.2f} s {seconds / (end - start):6.1%}")  # noqa: T201
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / KB_PER_MB
    print(f"{'whole':<45} {end - start:8.2f} s")  # noqa: T201 — a script prints
    print(f"ratio to reading and writing the parcels alone: {(end - start) / floor:.1f}")  # noqa: T201
    print(f"peak memory {peak_mb:.0f} MB")  # noqa: T201 — a script prints


if __name__ == "__main__":
    main()
