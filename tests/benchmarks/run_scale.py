"""A made county at size beside the floor and beside plain loops.

From `tests`: ``python -m benchmarks.run_scale [parcels]``.

The floor is reading the parcels and writing the GeoPackage, nothing else. The plain loops are what
a careful analyst would write with osmnx, networkx and scipy; they are timed on a sample and scaled,
and of fleet programmes only one a stage and place is counted, so they would take longer still.
Processor seconds, as other programs share the machine. Every run has a process of its own, so that
its peak memory is its own. Roads: ../shared/osm, which is not part of the project.
"""

import multiprocessing
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import ParamSpec, TypeVar

import geopandas as gpd
import networkx as nx
import numpy as np
import osmnx
import pandas as pd
from pyogrio import list_layers
from scipy.optimize import linprog

from benchmarks.county import make_county
from haulshed import pipeline
from haulshed.assess.ground import Ground, ground, site_reach
from haulshed.assess.incidents import incidents
from haulshed.assess.rises import parcel_rises
from haulshed.assess.shuttle_case import places_of, sites_of, tankers_of
from haulshed.inputs.district import read_district
from haulshed.roads.lay import lays
from haulshed.roads.network import to_networkx
from haulshed.roads.snap import access_points
from haulshed.shuttle.dump_site import dump_site_jobs
from haulshed.shuttle.fleet import everyone
from haulshed.shuttle.flow import by_part
from haulshed.shuttle.programme import PumperRow
from haulshed.shuttle.rescue import written

OSM = Path(__file__).parents[3] / "shared" / "osm"
ROADS = OSM / "porto_pt.osm.pbf"
PARCELS, SITES, STATIONS, APPARATUS = 100_000, 200, 30, 40
KB_PER_MB = 1024
#: What of the plain loops is timed.
SEARCHES, SNAPPED, PROGRAMMES = 4, 1000, 20
#: Programmes of a place, at least: one of each stage.
STAGES = 2

_Given = ParamSpec("_Given")
_Got = TypeVar("_Got")


@dataclass(frozen=True, kw_only=True)
class Spent:
    """What one run took."""

    steps: dict[str, float]  #: processor seconds by step
    cpu_s: float
    wall_s: float
    peak_mb: float


def main() -> None:
    """Print the table."""
    if not OSM.is_dir():
        sys.exit(f"{OSM} is not here; the benchmark needs it.")
    parcels = int(sys.argv[1]) if len(sys.argv) > 1 else PARCELS
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        district = make_county(
            place / "county",
            ROADS,
            parcels=parcels,
            sites=SITES,
            stations=STATIONS,
            apparatus=APPARATUS,
        )
        alone(run_once, make_small(place), place / "compiled")  # kernels onto the disk
        cold = alone(run_once, district, place / "cache")
        warm = alone(run_once, district, place / "cache")
        floor_s = alone(floor, district.parent)
        plain = alone(plain_loops, district, place / "cache", parcels)
    _print(parcels, cold, warm, floor_s, plain)


def alone(work: Callable[_Given, _Got], *args: _Given.args, **kwargs: _Given.kwargs) -> _Got:
    """Return what `work` returns, done in a fresh process."""
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(1, mp_context=fresh) as process:
        return process.submit(work, *args, **kwargs).result()


def make_small(place: Path) -> Path:
    """Make a district that is quickly run."""
    roads = OSM / "hudson_nh.osm.pbf"
    return make_county(place / "small", roads, parcels=20, sites=45, stations=3, apparatus=9)


def run_once(district: Path, cache: Path) -> Spent:
    """Run a district, the time of its steps taken."""
    steps: list[tuple[str, float]] = [("reading the tables", time.process_time())]

    def progress(step: str, _done: int = 0, _of: int = 0) -> None:
        steps.append((step.split(":", maxsplit=1)[0], time.process_time()))

    began = time.perf_counter()
    pipeline.run(district, cache=cache, progress=progress)
    end = time.process_time()
    spent: dict[str, float] = {}
    for (step, start), (_, stop) in zip(steps, [*steps[1:], ("", end)], strict=True):
        spent[step] = spent.get(step, 0.0) + stop - start
    return Spent(
        steps=spent,
        cpu_s=end - steps[0][1],
        wall_s=time.perf_counter() - began,
        peak_mb=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / KB_PER_MB,
    )


def floor(county: Path) -> float:
    """Return the seconds of reading the parcels and writing the GeoPackage alone."""
    written_before = county / "out" / "district.gpkg"
    layers = {
        name: gpd.read_file(written_before, layer=name)
        for name, kind in list_layers(written_before)
        if kind is not None
    }
    start = time.process_time()
    pd.read_csv(county / "parcels.csv")
    for name, layer in layers.items():
        layer.to_file(county / "floor.gpkg", layer=name, driver="GPKG")
    return time.process_time() - start


def plain_loops(district: Path, cache: Path, parcels: int) -> dict[str, float]:
    """Return the seconds of each plain loop, timed on a sample and scaled to the whole."""
    read = read_district(
        district, scenario=None, set_aside=False, cache_dir=cache, progress=pipeline.quiet
    )
    base = ground(read.inputs)
    places = parcels + int(base.network.may_stop.sum())
    searches, snapped = 2 * SITES + STATIONS, parcels + SITES + STATIONS
    return {
        "networkx: a search a site and way": _searching(base) * searches,
        "osmnx: nearest edges of all points": _snapping(base) * snapped,
        "scipy linprog: a programme a place and stage": _solving(base) * places * STAGES,
    }


def _searching(base: Ground) -> float:
    graph, network = to_networkx(base.network), base.network
    nodes = network.node_ids[network.tail[base.site_points.segment[:SEARCHES]]].tolist()
    start = time.process_time()
    for node in nodes:
        nx.single_source_dijkstra_path_length(graph, node, weight="minutes")
    return (time.process_time() - start) / len(nodes)


def _snapping(base: Ground) -> float:
    """Return what osmnx takes for a point, its tree of edges set up for all points once."""
    network = base.network
    graph = nx.MultiDiGraph(crs=network.segments.crs)
    graph.add_nodes_from(range(len(network.node_ids)), x=0.0, y=0.0)
    ends = zip(network.tail.tolist(), network.head.tolist(), network.lines, strict=True)
    for tail, head, line in ends:
        graph.add_edge(tail, head, geometry=line, length=line.length)
    points = base.inputs.parcels.geometry.iloc[:SNAPPED].representative_point()
    start = time.process_time()
    osmnx.distance.nearest_edges(graph, points.x.to_numpy(), points.y.to_numpy())
    return (time.process_time() - start) / len(points)


def _solving(base: Ground) -> float:
    """Return what linprog takes for one dump site's programme, written out."""
    few = base.inputs.parcels.iloc[:PROGRAMMES]
    operation = base.inputs.scenario.operation
    access = access_points(few, base.network, operation)
    lay = lays(few, access, base.inputs.scenario.supply_line)
    there = incidents(
        base,
        site_reach(base, pipeline.quiet),
        access.points,
        lay.lay_ft,
        parcel_rises(base.inputs, access),
    )
    asked = np.full(len(few), np.nan), np.full(len(few), float(operation.duration_min))
    given = tankers_of(base), sites_of(base), places_of(base, there, *asked), operation
    batch = next(by_part(*given, answer=lambda part: part.batch))
    jobs = dump_site_jobs(batch, everyone(batch))
    row = PumperRow(np.zeros(jobs.allowed.shape), np.full(jobs.place.size, np.inf))
    texts = [written(batch.terms, jobs, row, j) for j in range(jobs.place.size)]
    texts = [text for text in texts if text.a.size]
    start = time.process_time()
    for text in texts:
        linprog(-np.ones(text.a.shape[1]), text.a, text.limit, method="highs")
    return (time.process_time() - start) / max(len(texts), 1)


def _print(parcels: int, cold: Spent, warm: Spent, floor_s: float, plain: dict[str, float]) -> None:
    _say(f"{ROADS.name}: {parcels:,} parcels, {SITES} sites, {APPARATUS} apparatus; processor s")
    for step, seconds in warm.steps.items():
        _row(step, seconds, warm.cpu_s)
    _row("whole run, roads from the cache", warm.cpu_s, warm.cpu_s)
    _say(f"{'peak memory':<48}{warm.peak_mb:9.0f} MB;  {warm.wall_s:.0f} s by the clock")
    reading = [seconds for step, seconds in cold.steps.items() if step.startswith("Reading the ro")]
    _row("roads without the cache, besides", sum(reading), warm.cpu_s)
    _row("floor: read the parcels, write the GeoPackage", floor_s, warm.cpu_s)
    for loop, seconds in plain.items():
        _row(f"{loop} (scaled)", seconds, warm.cpu_s)
    ratio = sum(plain.values()) / warm.cpu_s
    _say(f"the run is {warm.cpu_s / floor_s:.1f} floors; the plain loops are {ratio:.1f} runs")


def _row(what: str, seconds: float, whole: float) -> None:
    _say(f"{what:<58}{seconds:10.2f} {seconds / whole:7.1%}")


def _say(line: str) -> None:
    print(line)  # noqa: T201 — a script prints


if __name__ == "__main__":
    main()
