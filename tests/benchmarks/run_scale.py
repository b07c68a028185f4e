"""A made county at size beside the floor and beside plain loops.

From `tests`: ``python -m benchmarks.run_scale --parcels 5000`` (100,000 by default).

The floor is reading the parcels and writing the GeoPackage, nothing else. The plain loops are what
a careful analyst would write with osmnx, networkx and scipy; they are timed on a sample and scaled,
and do less than the run: of about 7 fleet programmes a parcel only one a stage is counted, and no
incident is played. Roads: ../shared/osm, which is not part of the project.
"""

import argparse
import sys
import tempfile
import time
from pathlib import Path

import networkx as nx
import numpy as np
import osmnx
from scipy.optimize import linprog

from benchmarks.county import Size, make_county
from benchmarks.measured import Run, Spent, alone, floor, read_cold, run_once
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
#: What of the plain loops is timed.
SEARCHES, SNAPPED, PROGRAMMES = 4, 1000, 20
#: Programmes of a place, at least: one of each stage.
STAGES = 2


def main() -> None:
    """Print the table."""
    asked = _asked()
    if not OSM.is_dir():
        sys.exit(f"{OSM} is not here; the benchmark needs it.")
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        cache, district = place / "cache", _made(place / "county", asked)
        alone(run_once, make_small(place), place / "compiled")  # kernels onto the disk
        roads_s, roads_mb = alone(read_cold, OSM / asked.roads)
        alone(fill_cache, district, cache)
        first = alone(run_once, district, cache)
        change_site(district.parent)
        second = alone(run_once, district, cache)
        least = alone(floor, district.parent)
        plain = alone(plain_loops, district, cache, asked)
    _print(asked, first)
    _row("roads read without the cache, besides", roads_s, first.whole)
    _say(f"{'their peak memory':<58}{roads_mb:10.0f} MB")
    _row("second run, one fill site changed", second.whole, first.whole)
    _row("floor: read the parcels, write the GeoPackage", least, first.whole)
    for loop, seconds in plain.items():
        _row(f"{loop} (scaled)", Spent(cpu_s=seconds, wall_s=seconds), first.whole)
    _compare(first, least, sum(plain.values()))


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--roads", default="porto_pt.osm.pbf", help="a file of ../shared/osm")
    for name, count in (
        ("parcels", 100_000),
        ("sites", 200),
        ("stations", 30),
        ("apparatus", 40),
        ("draws", 50),
    ):
        parser.add_argument(f"--{name}", type=int, default=count)
    return parser.parse_args()


def _made(folder: Path, asked: argparse.Namespace) -> Path:
    return make_county(
        folder,
        OSM / asked.roads,
        Size(
            parcels=asked.parcels,
            sites=asked.sites,
            stations=asked.stations,
            apparatus=asked.apparatus,
            draws=asked.draws,
        ),
    )


def make_small(place: Path) -> Path:
    """Make a district that is quickly run."""
    roads = OSM / "hudson_nh.osm.pbf"
    return make_county(place / "small", roads, Size(parcels=20, sites=45, stations=3, apparatus=9))


def fill_cache(district: Path, cache: Path) -> None:
    """Read a district, which puts its roads into the cache."""
    read_district(
        district, scenario=None, set_aside=False, cache_dir=cache, progress=pipeline.quiet
    )


def change_site(county: Path) -> None:
    """Give the first fill site another flow."""
    table = county / "fill_sites.csv"
    lines = table.read_text(encoding="utf-8").splitlines()
    header, first = lines[0].split(","), lines[1].split(",")
    first[header.index("flow_gpm")] = "450"
    table.write_text("\n".join([lines[0], ",".join(first), *lines[2:], ""]), encoding="utf-8")


def plain_loops(district: Path, cache: Path, asked: argparse.Namespace) -> dict[str, float]:
    """Return the seconds of each plain loop, timed on a sample and scaled to the whole."""
    read = read_district(
        district, scenario=None, set_aside=False, cache_dir=cache, progress=pipeline.quiet
    )
    base = ground(read.inputs)
    places = asked.parcels + int(base.network.may_stop.sum())
    searches, snapped = 2 * asked.sites + asked.stations, asked.parcels + asked.sites
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


def _print(asked: argparse.Namespace, run: Run) -> None:
    _say(
        f"{asked.roads}: {asked.parcels:,} parcels, {asked.sites} sites, {asked.stations} stations,"
        f" {asked.apparatus} apparatus, {asked.draws} draws"
    )
    _say(f"{'step':<58}{'processor':>10} {'clock':>8}  share")
    for step, spent in run.steps.items():
        _row(step, spent, run.whole)
    _row("whole run, roads from the cache", run.whole, run.whole)
    _say(f"{'peak memory':<58}{run.peak_mb:10.0f} MB")


def _compare(run: Run, least: Spent, plain_s: float) -> None:
    for what, spent in (("the run", run.whole), ("without drawn incidents", run.undrawn)):
        by_clock, by_processor = spent.wall_s / least.wall_s, spent.cpu_s / least.cpu_s
        _say(f"{what}: {by_clock:.1f} floors by the clock, {by_processor:.1f} by processor")
        _say(f"  the plain loops take {plain_s / spent.wall_s:.0f} times as long")


def _row(what: str, spent: Spent, whole: Spent) -> None:
    _say(f"{what:<58}{spent.cpu_s:10.2f} {spent.wall_s:8.2f} {spent.cpu_s / whole.cpu_s:6.1%}")


def _say(line: str) -> None:
    print(line, flush=True)  # noqa: T201 — a script prints


if __name__ == "__main__":
    main()
