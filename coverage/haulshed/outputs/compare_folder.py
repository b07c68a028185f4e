"""The folder of a comparison: tables, layers, the map with its switch, the bars."""

from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd

from haulshed.case import Progress, Provenance
from haulshed.options.compare import Comparison, Way
from haulshed.outputs.csv_table import write_csv
from haulshed.outputs.folder import MAP_FILE, SUMMARY_FILE, write_records, written_whole
from haulshed.outputs.geopackage import write_layers
from haulshed.outputs.map_page import map_html
from haulshed.outputs.map_states import State, gain_classes
from haulshed.outputs.measures import converted
from haulshed.outputs.qgis_style import parcels_style
from haulshed.outputs.staging import RUN_FILE
from haulshed.outputs.verdict_bars import verdict_bars
from haulshed.tables.answers import Verdict
from haulshed.units import System

COMPARE_FILE = "compare.csv"
LAYERS_FILE = "compare.gpkg"
BARS_FILE = "verdicts.svg"

_NAMES = frozenset((COMPARE_FILE, LAYERS_FILE, BARS_FILE, MAP_FILE, SUMMARY_FILE, RUN_FILE))


def write_comparison(
    comparison: Comparison,
    provenance: Provenance,
    out: Path,
    *,
    units: System,
    base_map: bool,
    progress: Progress,
) -> None:
    """
    Write a comparison into `out`, replacing what an earlier one left there.

    Raises
    ------
    OutputError
        If `out` holds what no run of ours wrote, or cannot be written. What was there stays.
    """
    with written_whole(out, _NAMES) as folder:
        progress(f"writing {COMPARE_FILE}")
        tables = [way.table for way in comparison.ways]
        write_csv(converted(pd.concat(tables, ignore_index=True), units), folder / COMPARE_FILE)
        progress(f"writing {LAYERS_FILE}")
        _write_layers(comparison, folder / LAYERS_FILE, units)
        progress("drawing the map")
        html = map_html(
            comparison.base,
            scenario_name=provenance.scenario_name,
            system=units,
            base_map=base_map,
            states=states(comparison),
        )
        (folder / MAP_FILE).write_text(html, encoding="utf-8")
        (folder / BARS_FILE).write_text(bars(comparison), encoding="utf-8")
        write_records(summary(comparison), provenance, folder, units)


def summary(comparison: Comparison) -> Mapping[str, object]:
    """Return the comparison as plain values, ready for JSON."""
    return {
        "district": comparison.base.inputs.name,
        "parcels": len(comparison.base.parcels),
        "verdicts": comparison.base.summary["verdicts"],
        "options": [asdict(way.figures) for way in comparison.ways],
    }


def states(comparison: Comparison) -> tuple[State, ...]:
    """Return the district as it is and under each option, for the map's switch."""
    base = comparison.base
    count = len(base.parcels)
    before = State(
        title="As it is",
        result=base,
        gain=gain_classes(np.zeros(count)),
        lifted=(False,) * count,
    )
    return (before, *(_state(way) for way in comparison.ways))


def _state(way: Way) -> State:
    return State(
        title=way.option.title,
        result=way.result,
        gain=gain_classes(way.table["gain_gpm"].to_numpy(dtype=np.float64)),
        lifted=tuple(way.table["lifted"].tolist()),
    )


def bars(comparison: Comparison) -> str:
    """Return the bars of the answers, as it is and under each option."""
    rows = [
        ("As it is", _counts(comparison.base.parcels)),
        *((way.option.title, _counts(way.result.parcels)) for way in comparison.ways),
    ]
    return verdict_bars(f"{comparison.base.inputs.name}: parcels by answer", rows)


def _counts(parcels: gpd.GeoDataFrame) -> dict[Verdict, int]:
    return {verdict: int((parcels["verdict"] == verdict).sum()) for verdict in Verdict}


def _write_layers(comparison: Comparison, file: Path, units: System) -> None:
    shapes = comparison.base.parcels.geometry
    layers = {
        way.option.name: gpd.GeoDataFrame(way.table, geometry=shapes, crs=shapes.crs)
        for way in comparison.ways
    }
    areas = bool(shapes.geom_type.str.contains("Polygon").any())
    style = parcels_style(areas=areas, attribute="verdict_after")
    write_layers(layers, dict.fromkeys(layers, style), file, units=units)
