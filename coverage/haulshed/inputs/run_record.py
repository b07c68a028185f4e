"""The record of an earlier run, read to repeat it."""

import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from haulshed.case import Provenance
from haulshed.errors import InputError
from haulshed.inputs.samples import larkmoor
from haulshed.inputs.text_file import read_text
from haulshed.scenario import Scenario
from haulshed.tables.table import shown
from haulshed.units import System

#: What stands for the folder of the demo district, which lies wherever haulshed is installed.
DEMO = "the demo district"


class RunRecord(BaseModel):
    """What ``run.json`` says, as far as repeating needs it; further keys are passed over."""

    model_config = ConfigDict(frozen=True)

    version: str
    code_sha256: str = ""  #: records of before it was kept have none
    made: str
    district: str  #: folder of the district, from the record's own; or :data:`DEMO`
    scenario_name: str
    scenario: Scenario
    units: System
    set_aside: bool
    base_map: bool
    workbook: bool
    input_sha256: Mapping[str, str]
    output_sha256: Mapping[str, str]
    libraries: Mapping[str, str] = Field(default_factory=dict)


def read_record(file: Path) -> RunRecord:
    """
    Return the record of a run.

    Raises
    ------
    InputError
        If the file cannot be read or is no record of a run.
    """
    text = read_text(file, file.name)
    try:
        values: Any = json.loads(text)
        return RunRecord.model_validate_json(json.dumps(values))
    except (ValidationError, ValueError, RecursionError) as error:
        wrong = error.errors()[0]["loc"] if isinstance(error, ValidationError) else ()
        at = f" ({'.'.join(map(str, wrong))})" if wrong else ""
        msg = f"{shown(file.name)} is no record that a run can be repeated from{at}. Run anew."
        raise InputError(msg) from error


def recorded_folder(record: RunRecord, file: Path) -> Path:
    """
    Return the folder of the district that a record is of.

    Raises
    ------
    InputError
        If it is not there any more.
    """
    folder = larkmoor() if record.district == DEMO else file.resolve().parent / record.district
    if not folder.exists():
        msg = f"The district of {shown(file.name)} is not at {folder}. Name its folder too."
        raise InputError(msg)
    return folder


def place_from(out: Path, district: Path) -> str:
    """Return how a record in `out` names the folder of its district."""
    if district.resolve() == larkmoor().resolve():
        return DEMO
    return Path(os.path.relpath(district.resolve(), out.resolve())).as_posix()


def refuse_changed(then: Mapping[str, str], now: Mapping[str, str], *, record_name: str) -> None:
    """
    Raise unless the inputs are what they were, byte for byte.

    Raises
    ------
    InputError
        Naming every input that has changed, is gone or is new.
    """
    told = [
        *(f"{name} has changed" for name in then if now.get(name, then[name]) != then[name]),
        *(f"{name} is gone" for name in then if name not in now),
        *(f"{name} is new" for name in now if name not in then),
    ]
    if told:
        msg = (
            f"The inputs are not those of {record_name}: {'; '.join(told)}. Nothing was written."
            " Put them back as they were, or run without --again."
        )
        raise InputError(msg)


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeated:
    """How a run compares with the one that it repeats."""

    made: str  #: when that one was
    differing: tuple[str, ...]  #: files that are not the same, byte for byte
    changed_versions: tuple[str, ...]  #: of haulshed and the libraries, then and now

    def as_text(self) -> str:
        """Return it as a sentence or two."""
        if not self.differing:
            return f"The same as the run of {self.made}: every file, byte for byte."
        with_what = "; ".join(self.changed_versions) or "the versions are the same"
        return (
            f"Not the same as the run of {self.made}: {', '.join(self.differing)} differ"
            f" ({with_what})."
        )


def repeated(record: RunRecord, out: Path, now: Provenance) -> Repeated:
    """Compare the outputs in `out` with those of the recorded run."""
    then = _versions(record.version, record.code_sha256, record.libraries)
    versions = _versions(now.version, now.code_sha256, now.libraries)
    return Repeated(
        made=record.made,
        differing=_differing(record, out),
        changed_versions=tuple(
            f"{name} {then.get(name, 'none')}, now {versions.get(name, 'none')}"
            for name in {**then, **versions}
            if then.get(name) != versions.get(name)
        ),
    )


def _versions(version: str, code_sha256: str, libraries: Mapping[str, str]) -> Mapping[str, str]:
    return {"haulshed": version, "its code": code_sha256[:8] or "unknown", **libraries}


def written_as_recorded(record: RunRecord, out: Path) -> bool:
    """Say whether every output in `out` is as the recorded run wrote it."""
    return not _differing(record, out)


def _differing(record: RunRecord, out: Path) -> tuple[str, ...]:
    return tuple(
        name
        for name, sha256 in record.output_sha256.items()
        if not (out / name).is_file() or _sha256(out / name) != sha256
    )


def _sha256(file: Path) -> str:
    with file.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()
