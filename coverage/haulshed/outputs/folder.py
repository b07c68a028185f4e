"""The folder of outputs: every file of a run, written together."""

import json
import sqlite3
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from hashlib import sha256
from pathlib import Path
from types import MappingProxyType

import pandas as pd
from pyogrio.errors import DataLayerError, DataSourceError

from haulshed.case import CAUTION, Progress, Provenance, Result
from haulshed.errors import OutputError
from haulshed.outputs.csv_table import write_csv
from haulshed.outputs.geopackage import write_geopackage
from haulshed.outputs.geoparquet import write_geoparquet
from haulshed.outputs.map_page import map_html
from haulshed.outputs.measures import converted
from haulshed.outputs.staging import RUN_FILE, replaced_whole
from haulshed.outputs.tables_book import write_tables_book
from haulshed.units import System

PARCELS_FILE = "parcels.csv"
GEOPACKAGE_FILE = "district.gpkg"
MAP_FILE = "map.html"
SUMMARY_FILE = "summary.json"
REJECTED_FILE = "rejected.csv"

GEOPARQUET_FOLDER = "geoparquet"
BOOK_FILE = "tables.xlsx"

_NAMES = frozenset(
    (
        *(PARCELS_FILE, GEOPACKAGE_FILE, MAP_FILE, SUMMARY_FILE, RUN_FILE, REJECTED_FILE),
        *(GEOPARQUET_FOLDER, BOOK_FILE),
    )
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is written, and how."""

    units: System  #: of the files
    base_map: bool = False  #: an online map under the data
    workbook: bool = False  #: all tables as a workbook too


def write_outputs(  # noqa: PLR0913 — one argument an output's property
    result: Result,
    provenance: Provenance,
    out: Path,
    *,
    wanted: Wanted,
    rejected: pd.DataFrame,
    record: Mapping[str, object],
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
    wanted
        What is written, and in which units.
    rejected
        Rows set aside; no file if there are none.
    record
        What ``run.json`` says besides: how the run was asked for.
    progress
        Called with each step as it starts.

    Raises
    ------
    OutputError
        If `out` holds inputs or what no run of ours wrote, or cannot be written. What was there
        stays.
    """
    with written_whole(out, _NAMES) as folder:
        progress("writing the tables and drawing the map")
        # Side by side: half of both is work of libraries that leave Python free meanwhile. GDAL
        # stays here: from any other thread it prints its errors past pyogrio.
        with ThreadPoolExecutor(1) as beside:
            drawn = beside.submit(_draw_map, result, provenance, folder, wanted)
            _write_tables(result, folder, wanted.units)
            drawn.result()
        if wanted.workbook:
            progress(f"writing {BOOK_FILE}")
            write_tables_book(result, provenance, folder / BOOK_FILE, units=wanted.units)
        if len(rejected):
            write_csv(rejected, folder / REJECTED_FILE)
        asked = {"base_map": wanted.base_map, "workbook": wanted.workbook, **record}
        write_records(result.summary, provenance, folder, wanted.units, more=asked)


@contextmanager
def written_whole(out: Path, names: frozenset[str]) -> Iterator[Path]:
    """
    Give an empty folder that stands in the place of `out` once every file of `names` is written.

    Raises
    ------
    OutputError
        If `out` holds inputs or what no run of ours wrote, or cannot be written. What was there
        stays.
    """
    try:
        with replaced_whole(out.resolve(), names) as folder:
            yield folder
    except OutputError:
        raise
    except (OSError, sqlite3.Error, DataSourceError, DataLayerError) as fault:
        msg = f"{out} cannot be written: {fault}. The last good outputs are as they were."
        raise OutputError(msg) from fault


def _write_tables(result: Result, folder: Path, units: System) -> None:
    table = pd.DataFrame(result.parcels.drop(columns="geometry"))
    write_csv(converted(table, units), folder / PARCELS_FILE)
    write_geopackage(result, folder / GEOPACKAGE_FILE, units=units)
    write_geoparquet(result, folder / GEOPARQUET_FOLDER, units=units)


def _draw_map(result: Result, provenance: Provenance, folder: Path, wanted: Wanted) -> None:
    html = map_html(
        result,
        scenario_name=provenance.scenario_name,
        system=wanted.units,
        base_map=wanted.base_map,
    )
    (folder / MAP_FILE).write_text(html, encoding="utf-8")


def write_records(
    summary: Mapping[str, object],
    provenance: Provenance,
    folder: Path,
    units: System,
    *,
    more: Mapping[str, object] = MappingProxyType({}),
) -> None:
    """
    Write a summary, the same for the same inputs, and the record of this one run.

    The record also keeps `more`, and the hash of every file that is in `folder` by then.
    """
    head = {"caution": CAUTION, "version": provenance.version}
    named = {"scenario": provenance.scenario_name} | dict(summary)
    _write_json(folder / SUMMARY_FILE, head | named)
    written = {
        file.relative_to(folder).as_posix(): sha256(file.read_bytes()).hexdigest()
        for file in sorted(folder.rglob("*"))
        if file.is_file()
    }
    kept = {**more, "output_sha256": written}
    write_record(provenance, folder / RUN_FILE, units, more=kept)


def write_record(
    provenance: Provenance, file: Path, units: System, *, more: Mapping[str, object]
) -> None:
    """
    Write where the outputs beside `file` came from, and `more` that is to be kept.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    head = {"caution": CAUTION, "version": provenance.version, "units": str(units)}
    run = asdict(provenance) | {"scenario": provenance.scenario.model_dump(mode="json")}
    _write_json(file, head | run | dict(more))


def _write_json(file: Path, values: Mapping[str, object]) -> None:
    text = json.dumps(values, indent=2, ensure_ascii=False, allow_nan=False)
    file.write_text(text + "\n", encoding="utf-8")
