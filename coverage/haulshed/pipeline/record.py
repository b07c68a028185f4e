"""What every command needs: where its figures came from, and how it prints for machines."""

import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import UTC, datetime
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path

from pyproj import CRS

from haulshed.case import CAUTION, Provenance
from haulshed.errors import Fault, HaulshedError, TableError
from haulshed.inputs.code_digest import code_digest
from haulshed.inputs.district import District

#: Libraries whose version can change a figure; they stand in run.json.
LIBRARIES = (
    *("folium", "geopandas", "numba", "numpy", "osmium", "osmnx", "pandas", "pyarrow"),
    *("pyogrio", "pyproj", "rasterio", "scipy", "shapely"),
)


def quiet(step: str, done: int = 0, of: int = 0) -> None:
    """Report nothing."""


def provenance(read: District, further: Mapping[str, Path] | None = None) -> Provenance:
    """Return where a district's figures come from; `further` are files beside the district's."""
    hashes = {name: sha256(file.read_bytes()).hexdigest() for name, file in (further or {}).items()}
    return Provenance(
        version=version("haulshed"),
        code_sha256=code_digest(),
        made=datetime.now(UTC).isoformat(timespec="seconds"),
        crs=_name(CRS(read.inputs.segments.crs)),
        scenario_name=read.scenario_name,
        scenario=read.inputs.scenario,
        input_sha256={**read.input_sha256, **hashes},
        libraries={library: version(library) for library in LIBRARIES},
    )


def versions() -> Mapping[str, str]:
    """Return the versions of haulshed and of the libraries that can change a figure."""
    return {name: version(name) for name in ("haulshed", *LIBRARIES)}


def _name(crs: CRS) -> str:
    """Return a coordinate system's authority and code; its whole definition where it has none."""
    authority = crs.to_authority()
    return ":".join(authority) if authority else str(crs)


def as_json_text(value: object) -> str:
    """Return a command's answer for machines, with the caution."""
    return json.dumps({"caution": CAUTION, "answer": value}, indent=2, ensure_ascii=False)


def faults_json(error: HaulshedError) -> str:
    """Return an error for machines: each fault with its table, row, column, value, rule, cure."""
    whole = Fault(table="", row="", column="", value="", rule=str(error), cure="")
    faults = error.faults if isinstance(error, TableError) else (whole,)
    return json.dumps(
        {"caution": CAUTION, "faults": [asdict(fault) for fault in faults]},
        indent=2,
        ensure_ascii=False,
    )
