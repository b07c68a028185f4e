"""All measurements of the README, one after the other: ``python -m benchmarks``, from `tests`.

Says on what machine first. Takes about half an hour where nothing else runs. Each can be had alone,
as `DEVELOPERS.md` says; what kills and full disks leave behind is not among them, as it needs root.
"""

import os
import platform
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

_TILED = "--roads=derived_terre_haute_tiled_3x3.osm.pbf"
MEASUREMENTS = (
    "run_scale",
    f"run_scale {_TILED} --parcels=200000 --sites=500 --draws=0",
    "run_loading",
    "run_second 10000",
    "run_ratios",
    "run_growth",
    "run_map",
)
LIBRARIES = ("numba", "numpy", "scipy", "networkx", "osmnx", "geopandas", "shapely", "simpy")


def main() -> None:
    """Print the machine, then every table."""
    _say(f"{_processor()}, {os.cpu_count()} cores, {_memory_gb():.0f} GB, {platform.platform()}")
    used = (f"{name} {version(name)}" for name in LIBRARIES)
    _say(f"Python {platform.python_version()}, {', '.join(used)}")
    for asked in MEASUREMENTS:
        _say(f"\n== {asked}")
        command = [sys.executable, "-m", *f"benchmarks.{asked}".split()]
        subprocess.run(command, check=True)  # noqa: S603 — our own modules


def _processor() -> str:
    """Return what the system calls its processor."""
    lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    return next((line.split(": ")[1] for line in lines if line.startswith("model name")), "?")


def _memory_gb() -> float:
    return os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30


def _say(line: str) -> None:
    print(line, flush=True)  # noqa: T201 — a script prints


if __name__ == "__main__":
    main()
