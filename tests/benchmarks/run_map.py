"""Measure the map at the size of a county. From `tests`: ``python -m benchmarks.run_map [TILES]``.

Larkmoor's answers are laid side by side, TILES × TILES of them (6 by default: 108,000 parcels and
61,092 pieces of road), each figure moved by a random share of up to 5 % so that rows differ as
those of a county do. Prints the seconds of making the page and its size beside that of the data as
compact numbers (a position two 4-byte numbers, a figure of a popup one). With selenium, Chromium
and chromedriver (``pip install selenium``; nothing else needs it) also when the map is drawn and
how long the page was busy without a break (tasks over 50 ms): loading, zooming, panning, passing
over it with the mouse. The ruler is a loop of 10 million steps. Compare ratios: machines are noisy.
"""

import shutil
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from haulshed.assess.model import assess
from haulshed.case import Result
from haulshed.inputs.district import read_district
from haulshed.inputs.samples import larkmoor
from haulshed.outputs.map_page import map_html
from haulshed.units import System

NUMBER_BYTES = 4
#: Figures that a popup of a parcel, a piece of road shows at most.
SHOWN = {"parcels": 24, "roads": 5}

WATCH = """
window.longs = [];
new PerformanceObserver((list) => {
  for (const one of list.getEntries()) { longs.push(Math.round(one.duration)); }
}).observe({ entryTypes: ["longtask"] });
(function look() {
  const canvas = document.querySelector("canvas");
  if (!canvas) { setTimeout(look, 5); return; }
  window.begun = performance.now();
  (function wait() {
    if (document.querySelector("[aria-busy=true]")) { setTimeout(wait, 5); return; }
    window.drawn = performance.now();
  })();
})();
"""
MOVES = {
    "zoom in": "m.setZoom(m.getZoom() + 2, {animate: false})",
    "pan": "m.panBy([300, 200], {animate: false})",
    "zoom out": "m.setZoom(m.getZoom() - 2, {animate: false})",
}
MOVE = """
const done = arguments[0], begun = performance.now();
const m = window[Object.keys(window).find((name) => /^map_\\d+$/.test(name))];
window.longs.length = 0;
%s;
const first = performance.now() - begun;
(function wait() {
  if (document.querySelector("[aria-busy=true]")) { setTimeout(wait, 5); return; }
  const drawn = performance.now() - begun;
  setTimeout(() => done([first, drawn, longs]), 300);
})();
"""
HOVER = """
const done = arguments[0], box = document.querySelector(".folium-map").getBoundingClientRect();
const target = document.querySelector("canvas");
let spent = 0, told = 0, n = 0;
(function next() {
  if (n === 40) { done([spent / n, told]); return; }
  n += 1;
  const clientX = box.left + box.width * n / 42, clientY = box.top + box.height * (0.3 + n / 100);
  const begun = performance.now();
  target.dispatchEvent(new MouseEvent("mousemove", { bubbles: true, clientX, clientY }));
  spent += performance.now() - begun;
  told += document.querySelector(".leaflet-tooltip") ? 1 : 0;
  setTimeout(next, 40);
})();
"""
RULER = """
const begun = performance.now();
let sum = 0;
for (let i = 0; i < 1e7; i++) { sum += i % 7; }
return performance.now() - begun + 0 * sum;
"""


def main() -> None:
    """Make the district, draw its map and Larkmoor's, open both."""
    tiles = int(sys.argv[1]) if len(sys.argv) > 1 else 6
    read = read_district(larkmoor(), cache_dir=None, progress=_quiet)
    base = assess(read.inputs, progress=_quiet)
    for result in (base, tiled(base, tiles)):
        measure(result)


def _quiet(_step: str, _done: int = 0, _of: int = 0) -> None:
    """Say nothing of the steps."""


def tiled(base: Result, tiles: int) -> Result:
    """Return the answers of `base` side by side, `tiles` each way, figures moved at random."""
    rng = np.random.default_rng(20261125)
    west, south, east, north = base.roads.total_bounds
    offsets = [(x * (east - west), y * (north - south)) for y in range(tiles) for x in range(tiles)]
    parcels = _laid(base.parcels, offsets, rng)
    parcels["parcel_id"] = [f"{n:06d}" for n in range(len(parcels))]
    parcels[["lon", "lat"]] = _lon_lat(parcels.geometry.centroid)
    away = rng.normal(scale=5e-4, size=(len(parcels), 2))
    parcels[["access_lon", "access_lat"]] = parcels[["lon", "lat"]] + away
    roads = _laid(base.roads, offsets, rng)
    return replace(base, parcels=parcels, roads=roads, build_ups=None)  # as of any as many parcels


def _laid(
    layer: gpd.GeoDataFrame, offsets: list[tuple[float, float]], rng: np.random.Generator
) -> gpd.GeoDataFrame:
    count = len(offsets)
    rows = layer.iloc[np.tile(np.arange(len(layer)), count)].reset_index(drop=True)
    for name in rows.columns[[kind == np.float64 for kind in rows.dtypes]]:
        rows[name] *= rng.uniform(0.95, 1.05, size=len(rows))
    shapes = rows.geometry.to_numpy()
    xy_m, owner = shapely.get_coordinates(shapes, return_index=True)
    moved = xy_m + np.repeat(np.array(offsets), len(layer), axis=0)[owner]
    rows.geometry = gpd.GeoSeries(shapely.set_coordinates(shapes.copy(), moved), crs=layer.crs)
    return rows


def _lon_lat(points: gpd.GeoSeries) -> NDArray[np.float64]:
    return shapely.get_coordinates(points.to_crs(4326).to_numpy())


def measure(result: Result) -> None:
    """Print what the map of `result` costs to make, to keep and to open."""
    start = time.process_time()
    html = map_html(result, scenario_name="", system=System.US)
    spent = time.process_time() - start
    compact = NUMBER_BYTES * sum(
        2 * len(shapely.get_coordinates(layer.geometry.to_numpy())) + SHOWN[name] * len(layer)
        for name, layer in (("parcels", result.parcels), ("roads", result.roads))
    )
    _say(f"{len(result.parcels):,} parcels, {len(result.roads):,} pieces of road")
    _say(f"  made in {spent:.1f} s of processor")
    _say(f"  {len(html.encode()) / 1e6:.1f} MB; as compact numbers {compact / 1e6:.1f} MB")
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "map.html"
        file.write_text(html, encoding="utf-8")
        open_in_browser(file)


def open_in_browser(file: Path) -> None:
    """Print what a headless Chromium needs for the map in `file`, if there is one."""
    try:
        from selenium import webdriver  # noqa: PLC0415 — not a dependency of the project
    except ImportError:
        _say("  selenium is not here: not opened")
        return
    driver = shutil.which("chromedriver")
    if driver is None:
        _say("  chromedriver is not here: not opened")
        return
    options = webdriver.ChromeOptions()
    for flag in ("headless", "no-sandbox", "disable-gpu", "window-size=1440,987"):
        options.add_argument(f"--{flag}")
    browser = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    try:
        browser.set_script_timeout(120)
        browser.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": WATCH})
        _say(f"  ruler {browser.execute_script(RULER):.0f} ms")
        browser.get(file.as_uri())
        while browser.execute_script("return window.drawn") is None:
            time.sleep(0.05)
        begun, drawn, longs = browser.execute_script("return [begun, drawn, longs]")
        _say(
            f"  first drawing after {begun:.0f} ms, whole after {drawn:.0f} ms; long tasks {longs}"
        )
        for name, move in MOVES.items():
            first, drawn, longs = browser.execute_async_script(MOVE % move)
            _say(
                f"  {name}: {first:.0f} ms at once, whole after {drawn:.0f} ms; long tasks {longs}"
            )
        mean, told = browser.execute_async_script(HOVER)
        _say(f"  mouse: {mean:.1f} ms a move, {told} of 40 moves show a tooltip")
    finally:
        browser.quit()


def _say(text: str) -> None:
    print(text)  # noqa: T201 — a script prints


if __name__ == "__main__":
    main()
