"""How the time of a run grows: with parcels, fill sites, apparatus and junctions.

From `tests`: ``python -m benchmarks.run_growth [FILE.png]`` prints the processor seconds of each
run and draws them. Of a whole run a part is the same for any size; so the exponents are fitted to
the three largest sizes of each row, where it counts least. Roads: ../shared/osm, which is not part
of the project.
"""

import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from benchmarks.county import Size, make_county
from benchmarks.measured import alone, run_once
from benchmarks.run_scale import OSM, fill_cache, make_small
from haulshed.inputs.roads import read_roads
from haulshed.roads.network import build_network
from haulshed.scenario import RoadRules

ROADS = "terre_haute_in.osm.pbf"
BASE = Size(parcels=4000, sites=60, stations=8, apparatus=24, draws=10)
#: Extracts in the order of their size.
EXTRACTS = (
    "three_rivers_mi.osm",
    "north_bayreuth_de.osm.pbf",
    "terre_haute_in.osm.pbf",
    "porto_pt.osm.pbf",
)
SHOWN = ("whole run", "without drawn incidents")


@dataclass(frozen=True, kw_only=True)
class Curve:
    """The processor seconds of runs that differ in one size: whole, and without draws."""

    what: str
    sizes: Sequence[int]
    seconds: Sequence[tuple[float, float]]

    @property
    def exponents(self) -> list[float]:
        """The exponents of the growth, by least squares over the three largest sizes."""
        sizes, seconds = np.log(self.sizes[-3:]), np.log(np.array(self.seconds[-3:]))
        return [float(one) for one in np.polyfit(sizes, seconds, 1)[0]]


def main() -> None:
    """Print the table and draw the curves."""
    if not OSM.is_dir():
        sys.exit(f"{OSM} is not here; the benchmark needs it.")
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        alone(run_once, make_small(place), place / "compiled")
        curves = [
            _curve(
                place, "parcels", [(ROADS, replace(BASE, parcels=n)) for n in _doubled(1000, 6)]
            ),
            _curve(place, "fill sites", [(ROADS, replace(BASE, sites=n)) for n in _doubled(25, 5)]),
            _curve(
                place, "apparatus", [(ROADS, replace(BASE, apparatus=n)) for n in _doubled(8, 4)]
            ),
            _curve(place, "junctions", [(roads, BASE) for roads in EXTRACTS]),
        ]
    if len(sys.argv) > 1:
        draw(curves, Path(sys.argv[1]))


def _doubled(first: int, count: int) -> list[int]:
    return [first * 2**n for n in range(count)]


def _curve(place: Path, what: str, runs: Sequence[tuple[str, Size]]) -> Curve:
    counts = {"parcels": "parcels", "fill sites": "sites", "apparatus": "apparatus"}
    sizes, seconds = [], []
    for roads, size in runs:
        name = f"{what} {roads} {size}"
        district = make_county(place / name, OSM / roads, size)
        alone(fill_cache, district, place / "cache")
        run = alone(run_once, district, place / "cache")
        sizes.append(getattr(size, counts[what]) if what in counts else alone(_junctions, roads))
        seconds.append((run.whole.cpu_s, run.undrawn.cpu_s))
        _say(f"{what:<12}{sizes[-1]:>9,}{seconds[-1][0]:>9.2f}{seconds[-1][1]:>9.2f} s")
    curve = Curve(what=what, sizes=sizes, seconds=seconds)
    _say(f"{'  exponent':<21}{curve.exponents[0]:>9.2f}{curve.exponents[1]:>9.2f}")
    return curve


def _junctions(roads: str) -> int:
    """Return how many junctions the network of an extract has."""
    rules = RoadRules()
    segments, _ = read_roads(OSM / roads, rules, cache_dir=None, progress=lambda _step: None)
    return len(build_network(segments, rules).node_ids)


def draw(curves: Sequence[Curve], file: Path) -> None:
    """Draw the curves side by side; they read in grey."""
    figure = Figure(figsize=(12, 3.4), layout="constrained")
    FigureCanvasAgg(figure)
    panels = figure.subplots(1, len(curves), sharey=True, squeeze=False)[0]
    for panel, curve in zip(panels, curves, strict=True):
        _panel(panel, curve)
    panels[0].set_ylabel("processor seconds of a run")
    panels[0].legend(fontsize=8, loc="upper left", frameon=False)
    figure.suptitle(
        f"Otherwise {BASE.parcels:,} parcels, {BASE.sites} fill sites, {BASE.apparatus} apparatus,"
        f" {BASE.draws} draws, roads of {ROADS}",
        fontsize=9,
    )
    figure.savefig(file, dpi=110)


def _panel(panel: Axes, curve: Curve) -> None:
    styles = (("o-", "black"), ("s--", "0.45"))
    for column, (style, colour) in enumerate(styles):
        exponent = f"{SHOWN[column]}: exponent {curve.exponents[column]:.2f}"
        own = [seconds[column] for seconds in curve.seconds]
        panel.plot(curve.sizes, own, style, color=colour, label=SHOWN[column], markersize=4)
        panel.text(
            0.97, 0.03 + 0.07 * (1 - column), exponent, fontsize=7.5, color=colour,
            ha="right", transform=panel.transAxes,
        )  # fmt: skip
    panel.set_xscale("log")
    panel.set_yscale("log")
    panel.set_ylim(0.5, 60)
    panel.set_xlabel(curve.what)
    panel.set_xticks(curve.sizes, [f"{size:,}" for size in curve.sizes], fontsize=7, rotation=30)
    panel.minorticks_off()


def _say(line: str) -> None:
    print(line, flush=True)  # noqa: T201 — a script prints


if __name__ == "__main__":
    main()
