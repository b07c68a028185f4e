"""Each engine beside its reference, in one run. From `tests`: ``python -m benchmarks.run_ratios``.

Machines are noisy, so both take turns, and the ratio is that of the medians. References that would
take hours are timed on a sample, which the line says. Every pair is held to the same answer.
Roads: ../shared/osm, which is not part of the project.
"""

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import networkx as nx
import numpy as np
import osmnx
from numpy.typing import NDArray
from scipy.optimize import linprog

from against.clock_places import larkmoor
from haulshed.clock.batch import WHOLE, kept_of, nothing_heard, play_all, play_some
from haulshed.clock.setting import draws_of, fixed_of, many_of
from haulshed.crosscheck.incident import Incident
from haulshed.crosscheck.simulate import simulate
from haulshed.inputs.roads import read_roads
from haulshed.roads import travel
from haulshed.roads.lines import lines_of
from haulshed.roads.network import Network, build_network, to_networkx
from haulshed.roads.points import Points
from haulshed.roads.snap import snap
from haulshed.scenario import RoadRules
from haulshed.scenario.operation import Operation
from haulshed.shuttle.batch import Batch, batch_of
from haulshed.shuttle.dump_site import dump_site_jobs
from haulshed.shuttle.fleet import everyone
from haulshed.shuttle.optimum import solve
from haulshed.shuttle.programme import Jobs, PumperRow
from haulshed.shuttle.rescue import written
from shuttle.made import drawn

OSM = Path(__file__).parents[3] / "shared" / "osm"
ROUNDS = 3
SITES = 500
#: Draws of the clock, and how many of its incidents SimPy plays too.
DRAWS, SIMULATED = 50, 60
SEED = 20261125


def main() -> None:
    """Print a line a pair."""
    if not OSM.is_dir():
        sys.exit(f"{OSM} is not here; the benchmark needs it.")
    _line("work", "ours", "reference", "ratio", "same to")
    for name in ("terre_haute_in.osm.pbf", "porto_pt.osm.pbf"):
        network = _network(name)
        _legs(network, name)
        _snapping(network, name)
    _fleet(tankers=12, sites=25, places=400)
    _fleet(tankers=26, sites=200, places=100)  # as the county of run_scale has them
    _clock()


def _line(work: str, ours: str, reference: str, ratio: str, same: str) -> None:
    print(f"{work:<64}{ours:>10}{reference:>11}{ratio:>8}  {same}")  # noqa: T201 — a script prints


def _timed(*ways: Callable[[], object]) -> list[float]:
    """Return the median seconds of each, taken in turns; each is called once before."""
    for way in ways:
        way()
    spent: list[list[float]] = [[] for _ in ways]
    for _ in range(ROUNDS):
        for way, seconds in zip(ways, spent, strict=True):
            start = time.perf_counter()
            way()
            seconds.append(time.perf_counter() - start)
    return [statistics.median(seconds) for seconds in spent]


def _said(work: str, ours: float, reference: float, same: str) -> None:
    _line(work, f"{ours:.4g} s", f"{reference:.4g} s", f"×{reference / ours:.1f}", same)


def _network(name: str) -> Network:
    with tempfile.TemporaryDirectory() as cache:
        segments, _ = read_roads(
            OSM / name, RoadRules(), cache_dir=Path(cache), progress=lambda *_step: None
        )
    return build_network(segments, RoadRules())


def _points(network: Network, count: int) -> Points:
    rng = np.random.default_rng(SEED)
    return Points(
        segment=rng.choice(np.flatnonzero(network.may_stop), count),
        share=rng.random(count),
        off_road_m=np.zeros(count),
        xy=np.zeros((count, 2)),
    )


def _legs(network: Network, name: str) -> None:
    """Ways from every site to every junction and back: ours, scipy's Dijkstra, networkx."""
    sites = _points(network, SITES)
    few = travel.MANY_SITES

    def by_scipy() -> travel.SiteReach:
        travel.MANY_SITES = SITES + 1
        found = travel.reach(network, sites)
        travel.MANY_SITES = few
        return found

    ours, scipys = _timed(lambda: travel.reach(network, sites), by_scipy)
    one, other = travel.reach(network, sites), by_scipy()
    apart = max(
        _apart(a.cost, b.cost)
        for a, b in ((one.outward, other.outward), (one.homeward, other.homeward))
    )
    where = f"{SITES} sites, both ways, {name}"
    _said(f"{where}: scipy", ours, scipys, f"{apart:.1e} min")
    graph = to_networkx(network)
    starts = network.node_ids[network.tail[sites.segment[:4]]].tolist()
    start = time.perf_counter()
    for node in starts:
        nx.single_source_dijkstra_path_length(graph, node, weight="minutes")
    each = (time.perf_counter() - start) / len(starts)
    _said(f"{where}: networkx (4 of {2 * SITES} searches)", ours, each * 2 * SITES, "by a test")


def _apart(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    """Return how far two tables are apart where a way is, which must be in both or in neither."""
    there = np.isfinite(other)
    return float(np.abs(one[there] - other[there]).max(initial=0.0))


def _snapping(network: Network, name: str) -> None:
    """100,000 points on their nearest edge, set-up included: ours and osmnx's."""
    rng = np.random.default_rng(SEED)
    west, south, east, north = network.segments.total_bounds
    xy = rng.uniform((west, south), (east, north), (100_000, 2))
    points = gpd.GeoSeries.from_xy(*xy.T, crs=network.segments.crs)
    graph = nx.MultiDiGraph(crs=network.segments.crs)
    ends = zip(network.tail.tolist(), network.head.tolist(), network.lines, strict=True)
    for node in range(len(network.node_ids)):
        graph.add_node(node, x=0.0, y=0.0)
    for number, (tail, head, line) in enumerate(ends):
        graph.add_edge(tail, head, key=number, geometry=line, length=line.length)
        graph.add_edge(head, tail, key=number, geometry=line.reverse(), length=line.length)
    everywhere = np.ones(len(network.lines), dtype=bool)

    def ours() -> Points:
        fresh = replace(network, paths=lines_of(network.lines))
        return snap(points, fresh, eligible=everywhere, limit_ft=1e9)

    def theirs() -> tuple[object, object]:
        found: tuple[object, object] = osmnx.distance.nearest_edges(graph, *xy.T, return_dist=True)
        return found

    fast, slow = _timed(ours, theirs)
    apart = float(np.abs(ours().off_road_m - np.asarray(theirs()[1], dtype=float)).max())
    _said(f"100,000 points to the nearest edge, {name}: osmnx", fast, slow, f"{apart:.1e} m")


def _fleet(*, tankers: int, sites: int, places: int) -> None:
    """Fleet programmes: the compiled simplex and linprog, one by one."""
    made = drawn(SEED, tankers=tankers, sites=sites, places=places, like=0.3)
    batch: Batch = batch_of(made.tankers, made.sites, made.places, Operation())
    jobs: Jobs = dump_site_jobs(batch, everyone(batch))
    row = PumperRow(np.zeros(jobs.allowed.shape), np.full(jobs.place.size, np.inf))
    texts = [written(batch.terms, jobs, row, j) for j in range(jobs.place.size)]
    texts_of = [(j, text) for j, text in enumerate(texts) if text.a.size]

    def by_linprog() -> list[float]:
        return [
            -linprog(-np.ones(t.a.shape[1]), t.a, t.limit, method="highs").fun for _, t in texts_of
        ]

    ours, slow = _timed(lambda: solve(batch.terms, jobs), by_linprog)
    flow = solve(batch.terms, jobs).flow_gpm
    apart = max(abs(flow[j] - best) for (j, _), best in zip(texts_of, by_linprog(), strict=True))
    work = f"{len(texts_of)} fleet programmes, {tankers} tankers, {sites} sites: linprog"
    _said(work, ours, slow, f"{apart:.1e} gpm")


def _clock() -> None:
    """Every draw at every parcel of the demo district in one call, and some of them by SimPy."""
    district = larkmoor(draws=DRAWS)
    given = district.setting, district.scenes, district.luck
    packed = fixed_of(given[0]), many_of(given[1]), draws_of(given[2])
    places, rng = np.flatnonzero(district.wanted), np.random.default_rng(SEED)
    sample = [(int(rng.choice(places)), int(rng.integers(DRAWS))) for _ in range(SIMULATED)]
    incidents = [district.incident(*one) for one in sample]
    heard = nothing_heard(district.wanted.size, DRAWS)
    kept = kept_of(0, tankers=0, sources=district.setting.water.source_gpm.size)
    whole = 0, district.wanted.size
    one_core, all_cores, slow = _timed(
        lambda: play_some(packed, district.wanted, whole, heard, kept, WHOLE),
        lambda: play_all(*given, wanted=district.wanted),
        lambda: [simulate(one) for one in incidents],
    )
    said = _same_water(heard.delivered_120_gal, sample, incidents, district.wanted)
    plays = places.size * DRAWS
    for cores, ours in (("one core", one_core), ("all cores", all_cores)):
        work = f"{plays:,} incidents, {cores}: SimPy, scaled from {SIMULATED} of them"
        _said(work, ours, slow * plays / SIMULATED, said)


def _same_water(
    clock_gal: np.ndarray,
    sample: list[tuple[int, int]],
    incidents: list[Incident],
    wanted: np.ndarray,
) -> str:
    """Say how far the water of 2 h is apart: of the same incidents, and of all in the mean."""
    simulated_gal = np.array([simulate(one).delivered_gal(120.0) for one in incidents])
    apart_gal = np.abs(simulated_gal - [clock_gal[one] for one in sample]).max()
    error_gal = simulated_gal.std(ddof=1) / np.sqrt(len(sample))
    errors = abs(simulated_gal.mean() - clock_gal[wanted].mean()) / error_gal
    return f"{apart_gal:.1e} gal; means {errors:.1f} standard errors apart"


if __name__ == "__main__":
    main()
