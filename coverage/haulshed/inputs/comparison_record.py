"""What an earlier comparison found, read for the report."""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError

from haulshed.errors import InputError
from haulshed.inputs.text_file import read_text
from haulshed.options.told import OptionTold

_SUMMARY_FILE, _RUN_FILE = "summary.json", "run.json"


class _Lift(BaseModel):
    model_config = ConfigDict(frozen=True)

    parcels: int
    people: float


class _Option(BaseModel):
    model_config = ConfigDict(frozen=True)

    title: str
    capital: float
    cost_a_year: float
    lifted: _Lift
    lost: _Lift
    notes: tuple[str, ...] = ()


class _Summary(BaseModel):
    model_config = ConfigDict(frozen=True)

    scenario: str
    options: tuple[_Option, ...]


def read_comparison(
    folder: Path, *, input_sha256: Mapping[str, str], scenario_name: str
) -> tuple[Sequence[OptionTold], bool]:
    """
    Return the options of a comparison in `folder`, none if there is none, and if it is out of date.

    A comparison of other inputs or of another scenario says nothing of this district: its options
    are left out.

    Raises
    ------
    InputError
        If the files are there and cannot be read.
    """
    if not (folder / _SUMMARY_FILE).is_file() or not (folder / _RUN_FILE).is_file():
        return (), False
    try:
        record: Any = json.loads(read_text(folder / _RUN_FILE, _RUN_FILE))
        summary = _Summary.model_validate_json(read_text(folder / _SUMMARY_FILE, _SUMMARY_FILE))
        then = dict(record["input_sha256"])
    except (ValidationError, ValueError, KeyError, TypeError) as error:
        msg = f"{folder} holds no comparison that can be read. Run haulshed compare again."
        raise InputError(msg) from error
    same = all(then.get(name) == sha256 for name, sha256 in input_sha256.items())
    if not same or summary.scenario != scenario_name:
        return (), True
    told = tuple(
        OptionTold(
            title=option.title,
            capital=option.capital,
            cost_a_year=option.cost_a_year,
            lifted=option.lifted.parcels,
            people=option.lifted.people,
            lost=option.lost.parcels,
            notes=option.notes,
        )
        for option in summary.options
    )
    return told, False
