"""A made-up district on a real US county's roads, for benchmarks and for the tests on real roads.

Roads are real (OpenStreetMap); fill sites, stations, apparatus and parcels are drawn at random with
a fixed seed. Nothing in it says anything of the real place.
"""

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from pyproj import Transformer

from haulshed.inputs.roads import read_roads
from haulshed.scenario import RoadRules

TOML = """
[district]
name = "Benchmark county"
[roads]
file = "{roads}"
[parcels]
file = "parcels.csv"
[fill_sites]
file = "fill_sites.csv"
[stations]
file = "stations.csv"
[apparatus]
file = "apparatus.csv"
[demand]
method = "fixed"
fixed_gpm = 750
[chance]
draws = {draws}
"""


@dataclass(frozen=True, kw_only=True)
class Size:
    """How many of each, and the incidents drawn for a parcel."""

    parcels: int
    sites: int
    stations: int
    apparatus: int
    draws: int = 50


def make_county(folder: Path, roads: Path, size: Size) -> Path:
    """Write a district over `roads` into `folder` and return its district.toml."""
    rng = np.random.default_rng(20261125)
    segments, _ = read_roads(roads, RoadRules(), cache_dir=None, progress=lambda _step: None)
    public = segments[segments["public"] & segments["may_stop"]]
    back = Transformer.from_crs(segments.crs, 4326, always_xy=True)

    def lonlat(count: int, off_m: float) -> list[tuple[str, str]]:
        weight = public.length.to_numpy()
        chosen = rng.choice(len(public), size=count, p=weight / weight.sum())
        lines = public.geometry.to_numpy()[chosen]
        xy = shapely.get_coordinates(
            shapely.line_interpolate_point(lines, rng.random(count), normalized=True)
        ) + rng.normal(scale=off_m, size=(count, 2))
        lon, lat = back.transform(xy[:, 0], xy[:, 1])
        return [(f"{x:.7f}", f"{y:.7f}") for x, y in zip(lon, lat, strict=True)]

    kinds = ("hydrant", "dry_hydrant", "pond", "stream", "cistern")
    rows = {
        "parcels": [
            {"parcel_id": f"P{i}", "lon": lon, "lat": lat}
            for i, (lon, lat) in enumerate(lonlat(size.parcels, 60.0))
        ],
        "fill_sites": [
            {
                "site_id": f"F{i}",
                "kind": kinds[i % 5],
                "lon": lon,
                "lat": lat,
                "flow_gpm": int(rng.integers(5, 15)) * 100,
                "usable_gal": "" if kinds[i % 5] in {"hydrant", "stream"} else 60_000 + 9_000 * i,
                "fill_positions": 1 + i % 2,
            }
            for i, (lon, lat) in enumerate(lonlat(size.sites, 2.0))
        ],
        "stations": [
            {"station_id": f"S{i}", "lon": lon, "lat": lat}
            for i, (lon, lat) in enumerate(lonlat(size.stations, 2.0))
        ],
        "apparatus": [
            {
                "unit_id": f"U{i}",
                "station_id": f"S{i % size.stations}",
                "kind": "engine" if i % 3 == 0 else "tanker",
                "tank_gal": 1000 if i % 3 == 0 else 1500 + 250 * (i % 7),
                "dump_gpm": "" if i % 3 == 0 else 800 + 100 * (i % 5),
                "pump_gpm": 1250 if i % 3 == 0 else 500,
                "portable_tank_gal": 0 if i % 3 == 0 else 2500,
                "supply_hose_ft": 1000 if i % 3 == 0 else 0,
                "supply_hose_in": 5 if i % 3 == 0 else "",
            }
            for i in range(size.apparatus)
        ],
    }
    folder.mkdir(parents=True, exist_ok=True)
    for table, lines in rows.items():
        with (folder / f"{table}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, fieldnames=list(lines[0]))
            writer.writeheader()
            writer.writerows(lines)
    district = folder / "district.toml"
    district.write_text(
        TOML.format(roads=roads.resolve().as_posix(), draws=size.draws), encoding="utf-8"
    )
    return district
