"""A second run after one change. From `tests`: ``python -m benchmarks.run_second [parcels]``.

Runs the made county once, then again with one fill site changed, one apparatus, and nothing at all,
each from the cache that the first run left. The sites and units changed are those that play a part
at few parcels, at a middling number and at most of them. Processor seconds, as other programs share
the machine; every run has a process of its own. Compares the files with those of a run without a
cache. Roads: ../shared/osm, which is not part of the project.
"""

import shutil
import sys
import tempfile
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd

from benchmarks.county import Size, make_county
from benchmarks.measured import Run, alone, run_once
from benchmarks.run_scale import OSM, fill_cache, make_small
from haulshed import pipeline
from haulshed.assess.chosen import only
from haulshed.assess.model import work_out
from haulshed.inputs.district import read_district

ROADS, PARCELS = "porto_pt.osm.pbf", 100_000
PLAYS = {"playing the incidents", "drawing incidents"}
#: Parcels on which it is looked which sites and units play a part.
SAMPLE = 1000


class Change(NamedTuple):
    """One cell of one table, changed."""

    says: str
    table: str
    row: str  #: its id
    column: str
    cell: str


def main() -> None:
    """Print the table."""
    if not OSM.is_dir():
        sys.exit(f"{OSM} is not here; the benchmark needs it.")
    parcels = int(sys.argv[1]) if len(sys.argv) > 1 else PARCELS
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        size = Size(parcels=parcels, sites=200, stations=30, apparatus=40)
        district = make_county(place / "county", OSM / ROADS, size)
        alone(run_once, make_small(place), place / "compiled")  # kernels onto the disk
        alone(fill_cache, district, place / "roads")
        shutil.copytree(place / "roads", place / "kept")
        first = alone(run_once, district, place / "kept")
        _say(f"{ROADS}: {parcels:,} parcels, {size.sites} sites, {size.apparatus} apparatus")
        _say(f"{'':<66}{'cpu s':>9}{'plays':>9}{'wall s':>9}{'of first':>9}")
        _row("first run, roads from the cache", first, first)
        again, found = _again(place, district, None)
        _row("nothing changed", again, first, found)
        for change in alone(changes, district, place / "roads"):
            again, found = _again(place, district, change)
            _row(change.says, again, first, found)


def changes(district: Path, cache: Path) -> list[Change]:
    """Return what is changed: of sites and of units one little used, a middling and a most used."""
    read = read_district(district, cache_dir=cache, progress=pipeline.quiet)
    ids = read.inputs.parcels["parcel_id"].tolist()[:SAMPLE]
    there = work_out(only(read.inputs, ids), progress=pipeline.quiet)
    base = there.ground
    carried = (there.flows.site_gpm > 0).mean(axis=0)
    called = there.there.counted.mean(axis=0)
    made: list[Change] = []
    for table, names, share, column, cell in (
        ("fill_sites", base.inputs.fill_sites["site_id"], carried, "flow_gpm", "450"),
        ("apparatus", base.assignment.units["unit_id"], called, "tank_gal", "1900"),
    ):
        order = np.argsort(share, kind="stable")
        for word, at in (("least", 0), ("middling", len(order) // 2), ("most", len(order) - 1)):
            row = str(names.iloc[order[at]])
            says = f"{row} of {table}, {word} used (at {share[order[at]]:.0%} of the parcels)"
            made.append(Change(says, table, row, column, cell))
    return made


def change_cell(folder: Path, change: Change) -> None:
    """Write a changed cell into its table."""
    path = folder / f"{change.table}.csv"
    table = pd.read_csv(path, dtype=str, keep_default_na=False)
    table.loc[table.iloc[:, 0] == change.row, change.column] = change.cell
    table.to_csv(path, index=False)


def _again(place: Path, district: Path, change: Change | None) -> tuple[Run, str]:
    """Run a district again, changed, from the cache of the first run; say if that shows."""
    tables = district.parent
    before = place / "before"
    shutil.copytree(tables, before)
    if change is not None:
        change_cell(tables, change)
    shutil.copytree(place / "kept", place / "warm")
    again = alone(run_once, district, place / "warm")
    warm = hashes(tables / "out")
    alone(run_once, district, place / "roads")
    same = warm == hashes(tables / "out")
    for left in (tables, place / "warm"):
        shutil.rmtree(left)
    for file in (place / "roads").glob("plays-*"):
        file.unlink()
    before.rename(tables)
    return again, "same files" if same else "OTHER FILES THAN WITHOUT A CACHE"


def hashes(out: Path) -> dict[str, str]:
    """Return the hash of each output; run.json is dated."""
    return {
        file.relative_to(out).as_posix(): sha256(file.read_bytes()).hexdigest()
        for file in sorted(out.rglob("*"))
        if file.is_file() and file.name != "run.json"
    }


def _row(what: str, spent: Run, first: Run, found: str = "") -> None:
    cpu_s, share = spent.whole.cpu_s, spent.whole.cpu_s / first.whole.cpu_s
    played_s = sum(one.cpu_s for step, one in spent.steps.items() if step in PLAYS)
    _say(f"{what:<66}{cpu_s:9.1f}{played_s:9.1f}{spent.whole.wall_s:9.1f}{share:9.2f}  {found}")


def _say(line: str) -> None:
    print(line, flush=True)  # noqa: T201 — a script prints


if __name__ == "__main__":
    main()
