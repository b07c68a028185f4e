"""A state's addresses read as parcels. From `tests`: ``python -m benchmarks.run_loading``.

All 262,811 sites of Vermont's E911 data, from a CSV file and from a GeoPackage, every rule of the
table checked, beside what geopandas takes to read the file and put its points into the same system,
with no check. Each in a process of its own. Addresses: ../shared/addresses, which is not part of
the project.
"""

import resource
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import pandas as pd
from pyproj import CRS

from benchmarks.measured import KB_PER_MB, Spent, alone, timed
from haulshed.inputs.placing import Ground
from haulshed.inputs.settings import TableKeys
from haulshed.inputs.table_file import read_table
from haulshed.tables.parcels import PARCELS

SITES = Path(__file__).parents[3] / "shared" / "addresses" / "vt_e911_sites_derived.csv.gz"
#: UTM zone of the state, and a box around it.
VERMONT = Ground(crs=CRS(32618), west_m=6.2e5, south_m=4.73e6, east_m=8e5, north_m=5e6)


def main() -> None:
    """Print the table."""
    if not SITES.is_file():
        sys.exit(f"{SITES} is not here; the benchmark needs it.")
    with tempfile.TemporaryDirectory() as folder:
        table, layer = Path(folder) / "sites.csv", Path(folder) / "sites.gpkg"
        count = alone(_write, table, layer)
        _say(f"{count:,} addresses{'':<32}{'processor':>10} {'clock':>8} {'peak':>8}")
        for file in (table, layer):
            ours, plain = alone(_of, _checked, file), alone(_of, _plain, file)
            _row(f"{file.suffix}: read and checked", *ours)
            _row(f"{file.suffix}: geopandas, no check", *plain)
            _say(f"{'  times as long':<48}{ours[0].cpu_s / plain[0].cpu_s:10.2f}")


def _write(table: Path, layer: Path) -> int:
    """Write the addresses as a table and as a layer, each with an id; return how many there are."""
    sites = pd.read_csv(SITES)
    sites.insert(0, "parcel_id", [f"V{at}" for at in range(len(sites))])
    sites.to_csv(table, index=False)
    points = gpd.points_from_xy(sites["lon"], sites["lat"], crs=4326)
    gpd.GeoDataFrame(sites[["parcel_id"]], geometry=points).to_file(layer)
    return len(sites)


def _checked(file: Path) -> None:
    found = read_table(file, PARCELS, TableKeys(file=file.name), VERMONT)
    if found.found:
        raise ValueError(str(found.found[0].fault))


def _plain(file: Path) -> None:
    if file.suffix == ".csv":
        sites = pd.read_csv(file)
        points = gpd.points_from_xy(sites["lon"], sites["lat"], crs=4326)
        gpd.GeoDataFrame(sites, geometry=points).to_crs(VERMONT.crs)
    else:
        gpd.read_file(file).to_crs(VERMONT.crs)


def _of(work: Callable[[Path], None], file: Path) -> tuple[Spent, float]:
    """Return what `work` takes, and the peak memory of its process [MB]."""
    spent = timed(work, file)
    return spent, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / KB_PER_MB


def _row(what: str, spent: Spent, peak_mb: float) -> None:
    _say(f"{what:<48}{spent.cpu_s:10.2f} {spent.wall_s:8.2f} {peak_mb:5.0f} MB")


def _say(line: str) -> None:
    print(line, flush=True)  # noqa: T201 — a script prints


if __name__ == "__main__":
    main()
