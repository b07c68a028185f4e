"""The folder of outputs: written beside its place and moved whole, so never half there."""

import json
import shutil
import sqlite3
import tempfile
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path

import pandas as pd

from haulshed.case import CAUTION, Progress, Provenance, Result
from haulshed.errors import OutputError
from haulshed.outputs.csv_table import write_csv
from haulshed.outputs.geopackage import write_geopackage
from haulshed.outputs.map_page import map_html
from haulshed.outputs.measures import converted
from haulshed.units import System

MAP_FILE = "map.html"
RUN_FILE = "run.json"

#: A folder that begins so was left by a run that was killed.
_UNFINISHED = ".haulshed-unfinished-"


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
    try:
        _refuse_what_is_not_ours(out)
        out.parent.mkdir(parents=True, exist_ok=True)
        _sweep(out.parent)
        beside = Path(tempfile.mkdtemp(prefix=_UNFINISHED, dir=out.parent))
        try:
            beside.chmod(0o755)
            _write_all(
                result, provenance, beside, units=units, base_map=base_map, progress=progress
            )
            if len(rejected):
                write_csv(rejected, beside / "rejected.csv")
            _swap(beside, out)
        finally:
            shutil.rmtree(beside, ignore_errors=True)
    except (OSError, sqlite3.Error) as fault:
        msg = f"{out} cannot be written: {fault}. The last good outputs are as they were."
        raise OutputError(msg) from fault


def _refuse_what_is_not_ours(out: Path) -> None:
    if out.exists() and not out.is_dir():
        msg = f"{out} is a file. Give another place with --out."
        raise OutputError(msg)
    if out.is_dir() and any(out.iterdir()) and not (out / RUN_FILE).is_file():
        msg = (
            f"{out} holds files that no run of haulshed wrote; it would be replaced whole. Give"
            " another place with --out, or empty it."
        )
        raise OutputError(msg)


def _sweep(parent: Path) -> None:
    for left in parent.glob(f"{_UNFINISHED}*"):
        shutil.rmtree(left, ignore_errors=True)


def _write_all(
    result: Result,
    provenance: Provenance,
    folder: Path,
    *,
    units: System,
    base_map: bool,
    progress: Progress,
) -> None:
    progress("writing parcels.csv")
    write_csv(
        converted(pd.DataFrame(result.parcels.drop(columns="geometry")), units),
        folder / "parcels.csv",
    )
    progress("writing district.gpkg")
    write_geopackage(result, folder / "district.gpkg", units=units)
    progress("drawing the map")
    scenario_name = provenance.scenario_name
    html = map_html(result, scenario_name=scenario_name, system=units, base_map=base_map)
    (folder / MAP_FILE).write_text(html, encoding="utf-8")
    progress("writing the summary")
    _write_json(
        folder / "summary.json",
        {"caution": CAUTION, "version": provenance.version, "scenario": scenario_name}
        | dict(result.summary),
    )
    run = asdict(provenance) | {"scenario": provenance.scenario.model_dump(mode="json")}
    _write_json(folder / RUN_FILE, {"caution": CAUTION, "units": str(units)} | run)


def _write_json(file: Path, values: Mapping[str, object]) -> None:
    text = json.dumps(values, indent=2, ensure_ascii=False, allow_nan=False)
    file.write_text(text + "\n", encoding="utf-8")


def _swap(fresh: Path, out: Path) -> None:
    """Put `fresh` in the place of `out`; what was there goes only when the new one stands."""
    if not out.exists():
        fresh.replace(out)
        return
    old = Path(tempfile.mkdtemp(prefix=_UNFINISHED, dir=out.parent))
    aside = out.replace(old / "before")
    try:
        fresh.replace(out)
    except OSError:
        aside.replace(out)
        raise
    finally:
        shutil.rmtree(old, ignore_errors=True)
