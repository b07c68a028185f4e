"""What an earlier command found, read by another one."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from haulshed.errors import InputError
from haulshed.inputs.text_file import read_text
from haulshed.options.told import OptionTold

_SUMMARY_FILE, _RUN_FILE = "summary.json", "run.json"


class Summary(BaseModel):
    """What every summary says."""

    model_config = ConfigDict(frozen=True)

    scenario: str


_Summary = TypeVar("_Summary", bound=Summary)


class Lift(BaseModel):
    """What is lifted, or lost."""

    model_config = ConfigDict(frozen=True)

    parcels: int
    people: float


class Figures(BaseModel):
    """What an option comes to by the full model."""

    model_config = ConfigDict(frozen=True)

    title: str
    capital: float
    cost_a_year: float
    lifted: Lift
    lost: Lift
    notes: tuple[str, ...] = ()

    def told(self) -> OptionTold:
        """Return what is told of the option."""
        return OptionTold(
            title=self.title,
            capital=self.capital,
            cost_a_year=self.cost_a_year,
            lifted=self.lifted.parcels,
            people=self.lifted.people,
            lost=self.lost.parcels,
            notes=self.notes,
        )


def read_earlier(
    folder: Path,
    kind: type[_Summary],
    *,
    command: str,
    input_sha256: Mapping[str, str],
    scenario_name: str,
) -> tuple[_Summary | None, bool]:
    """
    Return the summary that a command left in `folder`, if there is one, and if it is out of date.

    One of other inputs or of another scenario says nothing of this district and is left out.

    Raises
    ------
    InputError
        If the files are there and cannot be read.
    """
    if not (folder / _SUMMARY_FILE).is_file() or not (folder / _RUN_FILE).is_file():
        return None, False
    try:
        record: Any = json.loads(read_text(folder / _RUN_FILE, _RUN_FILE))
        summary = kind.model_validate_json(read_text(folder / _SUMMARY_FILE, _SUMMARY_FILE))
        then = dict(record["input_sha256"])
    except (ValidationError, ValueError, KeyError, TypeError) as error:
        msg = f"{folder} holds nothing of haulshed {command} that can be read. Run it again."
        raise InputError(msg) from error
    same = all(then.get(name) == sha256 for name, sha256 in input_sha256.items())
    if not same or summary.scenario != scenario_name:
        return None, True
    return summary, False
