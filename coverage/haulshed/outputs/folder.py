"""The folder of outputs: every file of a run, written together."""

import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path

import pandas as pd
from pyogrio.errors import DataLayerError, DataSourceError

from haulshed.case import CAUTION, Progress, Provenance, Result
from haulshed.errors import OutputError
from haulshed.outputs.csv_table import write_csv
from haulshed.outputs.geopackage import write_geopackage
from haulshed.outputs.map_page import map_html
from haulshed.outputs.measures import converted
from haulshed.outputs.staging import RUN_FILE, replaced_whole
from haulshed.units import System

PARCELS_FILE = "parcels.csv"
GEOPACKAGE_FILE = "district.gpkg"
MAP_FILE = "map.html"
SUMMARY_FILE = "summary.json"
REJECTED_FILE = "rejected.csv"

_NAMES = frozenset((PARCELS_FILE, GEOPACKAGE_FILE, MAP_FILE, SUMMARY_FILE, RUN_FILE, REJECTED_FILE))


def write_outputs(  # noqa: PLR0913 — one argument an output's property
    result: Result,
    provenance: Provenance,
    out: Path,
    *,
    units: System,
    rejected: pd.DataFrame,
    base_map: bool,
    progress: Progress,
) -> None:
    """
    Write every output into `out`, replacing what an earlier run left there.

    Parameters
    ----------
    result, provenance
        What the model says, and where it came from.
    out
        The folder; made if it is not there.
    units
        Units of the files.
    rejected
        Rows set aside; no file if there are none.
    base_map
        Lay an online map under the data.
    progress
        Called with each file as it is begun.

    Raises
    ------
    OutputError
        If `out` holds what no run of ours wrote, or cannot be written. What was there stays.
    """
    with written_whole(out, _NAMES) as folder:
        progress(f"writing {PARCELS_FILE}")
        table = pd.DataFrame(result.parcels.drop(columns="geometry"))
        write_csv(converted(table, units), folder / PARCELS_FILE)
        progress(f"writing {GEOPACKAGE_FILE}")
        write_geopackage(result, folder / GEOPACKAGE_FILE, units=units)
        progress("drawing the map")
        name = provenance.scenario_name
        html = map_html(result, scenario_name=name, system=units, base_map=base_map)
        (folder / MAP_FILE).write_text(html, encoding="utf-8")
        write_records(result.summary, provenance, folder, units)
        if len(rejected):
            write_csv(rejected, folder / REJECTED_FILE)


@contextmanager
def written_whole(out: Path, names: frozenset[str]) -> Iterator[Path]:
    """
    Give an empty folder that stands in the place of `out` once every file of `names` is written.

    Raises
    ------
    OutputError
        If `out` holds what no run of ours wrote, or cannot be written. What was there stays.
    """
    try:
        with replaced_whole(out.resolve(), names) as folder:
            yield folder
    except OutputError:
        raise
    except (OSError, sqlite3.Error, DataSourceError, DataLayerError) as fault:
        msg = f"{out} cannot be written: {fault}. The last good outputs are as they were."
        raise OutputError(msg) from fault


def write_records(
    summary: Mapping[str, object], provenance: Provenance, folder: Path, units: System
) -> None:
    """Write a summary, the same for the same inputs, and the record of this one run."""
    head = {"caution": CAUTION, "version": provenance.version}
    named = {"scenario": provenance.scenario_name} | dict(summary)
    _write_json(folder / SUMMARY_FILE, head | named)
    write_record(provenance, folder / RUN_FILE, units)


def write_record(provenance: Provenance, file: Path, units: System) -> None:
    """
    Write where the outputs beside `file` came from: enough to repeat the run.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    head = {"caution": CAUTION, "version": provenance.version, "units": str(units)}
    run = asdict(provenance) | {"scenario": provenance.scenario.model_dump(mode="json")}
    _write_json(file, head | run)


def _write_json(file: Path, values: Mapping[str, object]) -> None:
    text = json.dumps(values, indent=2, ensure_ascii=False, allow_nan=False)
    file.write_text(text + "\n", encoding="utf-8")
