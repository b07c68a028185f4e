"""Reading a rating schedule: one that comes with haulshed, by name, or anybody's file."""

import tomllib
from collections.abc import Iterator
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

import haulshed.evidence
from haulshed.errors import Fault, InputError, TableError
from haulshed.evidence.schedule import Figures, Schedule
from haulshed.inputs.text_file import read_text
from haulshed.tables.table import shown
from haulshed.units import Unit, accepted_suffixes, factor_between, split_header

#: The schedule that is taken where none is named.
DEFAULT_RULES = "us_current"
_FOLDER = Path(haulshed.evidence.__file__).parent / "schedules"
_ENDING = ".toml"


def rules_at_hand() -> tuple[str, ...]:
    """Return the names of the schedules that come with haulshed."""
    return tuple(sorted(path.stem for path in _FOLDER.glob(f"*{_ENDING}")))


def read_rules(rules: str) -> Schedule:
    """
    Return a schedule: `rules` is the name of one that comes with haulshed, or a TOML file.

    A figure may be in any unit of its kind, said by the end of its name: ``flow_lpm``,
    ``station_km``.

    Raises
    ------
    InputError
        If there is no such schedule, or the file cannot be read.
    TableError
        With every fault of the file.
    """
    path = _FOLDER / f"{rules}{_ENDING}" if rules in rules_at_hand() else Path(rules)
    if not path.is_file():
        near = get_close_matches(rules, rules_at_hand(), n=1)
        hint = f" Did you mean '{near[0]}'?" if near else ""
        listed = ", ".join(rules_at_hand())
        msg = f"There are no rules '{shown(rules)}'.{hint} Name a file, or one of: {listed}."
        raise InputError(msg)
    raw = _raw(path)
    faults: list[Fault] = []
    figures = raw.get("figures")
    if isinstance(figures, dict):
        raw["figures"] = dict(_in_our_units(figures, path.name, faults))
    try:
        schedule = Schedule.model_validate(raw)
    except ValidationError as problem:
        faults += [_fault(path.name, one) for one in problem.errors(include_url=False)]
    if faults:
        raise TableError(faults)
    return schedule


def _raw(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(read_text(path, path.name))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        msg = f"{path.name} is not TOML: {error}. Mend that line."
        raise InputError(msg) from error


def _in_our_units(
    figures: dict[str, Any], file: str, faults: list[Fault]
) -> Iterator[tuple[str, Any]]:
    """Yield the figures under our names, converted; one that is none of ours is a fault."""
    stems = {split_header(name)[0]: name for name in Figures.model_fields}
    for name, figure in figures.items():
        stem, unit = split_header(name)
        ours = stems.get(stem, name)
        if ours not in Figures.model_fields:
            faults.append(_unknown(file, name))
            continue
        wanted = split_header(ours)[1]
        if (unit and unit.ours) != (wanted and wanted.ours):
            faults.append(_wrong_unit(file, name, ours))
        elif unit and wanted and isinstance(figure, dict):
            yield ours, _converted(figure, unit, factor_between(unit.suffix, wanted.suffix))
        else:
            yield ours, figure


def _converted(figure: dict[str, Any], unit: Unit, factor: float) -> dict[str, Any]:
    """Return a figure in our unit, and as it was given; one that is no number is left to fail."""
    value = figure.get("value")
    if isinstance(value, bool) or not isinstance(value, int | float):
        return figure
    return {**figure, "value": value * factor, "given": f"{value:,g} {unit.symbol}"}


def _unknown(file: str, name: str) -> Fault:
    near = get_close_matches(name, Figures.model_fields, n=1)
    known = ", ".join(Figures.model_fields)
    return Fault(
        table=file,
        row=f"[figures.{shown(name)}]",
        column="",
        value="",
        rule="is no figure that is tested",
        cure=f"Did you mean '{near[0]}'?" if near else f"Put it into [[notes]]. Known: {known}.",
    )


def _wrong_unit(file: str, name: str, ours: str) -> Fault:
    stem, unit = split_header(ours)
    suffixes = accepted_suffixes(unit.ours) if unit else ()
    listed = ", ".join(f"{stem}_{suffix}" for suffix in suffixes) or ours
    return Fault(
        table=file,
        row=f"[figures.{shown(name)}]",
        column="",
        value="",
        rule="has no unit that fits",
        cure=f"Use one of: {listed}.",
    )


def _fault(file: str, error: ErrorDetails) -> Fault:
    *parents, last = error["loc"]
    section = ".".join(str(part) for part in parents)
    missing = error["type"] == "missing"
    return Fault(
        table=file,
        row=f"[{section}]" if section else "",
        column=str(last),
        value="" if missing else shown(error["input"]),
        rule="is missing" if missing else error["msg"].replace("Input should", "should"),
        cure="Every figure has value, source and status." if "figures" in parents else "",
    )
