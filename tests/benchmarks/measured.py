"""What a whole run takes, step by step, in a process of its own; and the floor to hold it against.

Processor seconds are the sum over all cores, and hardly change when other programs share the
machine; seconds by the clock are what a user waits.
"""

import multiprocessing
import resource
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import ParamSpec, TypeVar

import geopandas as gpd
import pandas as pd
from pyogrio import list_layers

from haulshed import pipeline
from haulshed.inputs.roads import read_roads
from haulshed.scenario import RoadRules

KB_PER_MB = 1024
#: How the steps begin in which incidents are drawn.
DRAWING = "drawing incidents"

_Given = ParamSpec("_Given")
_Got = TypeVar("_Got")


@dataclass(frozen=True, kw_only=True)
class Spent:
    """Seconds."""

    cpu_s: float
    wall_s: float


@dataclass(frozen=True, kw_only=True)
class Run:
    """What one run took."""

    steps: dict[str, Spent]
    whole: Spent
    peak_mb: float

    @property
    def undrawn(self) -> Spent:
        """The whole without the incidents drawn by chance."""
        drawn = [spent for step, spent in self.steps.items() if step.startswith(DRAWING)]
        return Spent(
            cpu_s=self.whole.cpu_s - sum(spent.cpu_s for spent in drawn),
            wall_s=self.whole.wall_s - sum(spent.wall_s for spent in drawn),
        )


def alone(work: Callable[_Given, _Got], *args: _Given.args, **kwargs: _Given.kwargs) -> _Got:
    """Return what `work` returns, done in a fresh process: its peak memory is its own."""
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(1, mp_context=fresh) as process:
        return process.submit(work, *args, **kwargs).result()


def timed(work: Callable[_Given, object], *args: _Given.args, **kwargs: _Given.kwargs) -> Spent:
    """Return what it takes to do `work` once."""
    cpu_s, wall_s = time.process_time(), time.perf_counter()
    work(*args, **kwargs)
    return Spent(cpu_s=time.process_time() - cpu_s, wall_s=time.perf_counter() - wall_s)


def run_once(district: Path, cache: Path) -> Run:
    """Run a district, the time of its steps taken."""
    began = time.process_time(), time.perf_counter()
    marks = [("reading the tables", *began)]

    def progress(step: str, _done: int = 0, _of: int = 0) -> None:
        marks.append((step.split(":", maxsplit=1)[0], time.process_time(), time.perf_counter()))

    pipeline.run(district, cache=cache, progress=progress)
    marks.append(("", time.process_time(), time.perf_counter()))
    steps: dict[str, Spent] = {}
    for (step, cpu_s, wall_s), (_, cpu_end_s, wall_end_s) in pairwise(marks):
        before = steps.get(step, Spent(cpu_s=0.0, wall_s=0.0))
        steps[step] = Spent(
            cpu_s=before.cpu_s + cpu_end_s - cpu_s, wall_s=before.wall_s + wall_end_s - wall_s
        )
    return Run(
        steps=steps,
        whole=Spent(cpu_s=marks[-1][1] - began[0], wall_s=marks[-1][2] - began[1]),
        peak_mb=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / KB_PER_MB,
    )


def read_cold(roads: Path) -> tuple[Spent, float]:
    """Return what it takes to read the roads without a cache, and the peak memory [MB]."""
    spent = timed(read_roads, roads, RoadRules(), cache_dir=None, progress=lambda _step: None)
    return spent, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / KB_PER_MB


def floor(county: Path) -> Spent:
    """Return what it takes to read the parcels and write the GeoPackage, and nothing else."""
    written_before = county / "out" / "district.gpkg"
    layers = {
        name: gpd.read_file(written_before, layer=name)
        for name, kind in list_layers(written_before)
        if kind is not None
    }

    def read_and_write() -> None:
        pd.read_csv(county / "parcels.csv")
        for name, layer in layers.items():
            layer.to_file(county / "floor.gpkg", layer=name, driver="GPKG")

    return timed(read_and_write)
