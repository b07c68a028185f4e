"""Reading a rating schedule: one that comes with haulshed, by name, or anybody's file."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import haulshed.evidence
from haulshed.errors import Fault, InputError, TableError
from haulshed.evidence.schedule import Figures, Schedule
from haulshed.inputs.toml_keys import Raw, did_you_mean, read_toml, validated
from haulshed.tables.table import shown
from haulshed.units import Unit, accepted_suffixes, factor_between, split_header

#: The schedule that is taken where none is named.
DEFAULT_RULES = "us_current"
_FOLDER = Path(haulshed.evidence.__file__).parent / "schedules"
_ENDING = ".toml"
#: Our figures by the stem of their name.
_BY_STEM = {split_header(name)[0]: name for name in Figures.model_fields}


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
        listed = ", ".join(rules_at_hand())
        hint = did_you_mean(rules, rules_at_hand())
        msg = f"There are no rules '{shown(rules)}'.{hint} Name a file, or one of: {listed}."
        raise InputError(msg)
    raw = read_toml(path, path.name)
    faults: list[Fault] = []
    figures = raw.get("figures")
    if isinstance(figures, dict):
        raw["figures"] = dict(_in_our_units(figures, path.name, faults))
    schedule = validated(Schedule, raw, raw, "", faults, file=path.name)
    if schedule is None or faults:
        raise TableError(faults)
    return schedule


def _in_our_units(figures: Raw, file: str, faults: list[Fault]) -> Iterator[tuple[str, Any]]:
    """Yield the figures under our names and in our units; a wrong unit is a fault."""
    for name, figure in figures.items():
        stem, unit = split_header(name)
        ours = _BY_STEM.get(stem, name)
        wanted = split_header(ours)[1]
        if wanted is None or ours == name:
            yield ours, _given(figure, wanted, 1.0)
        elif unit is None or unit.ours != wanted.ours:
            faults.append(_wrong_unit(file, name, ours))
        else:
            yield ours, _given(figure, unit, factor_between(unit.suffix, wanted.suffix))


def _given(figure: Any, unit: Unit | None, factor: float) -> Any:  # noqa: ANN401 — any TOML value
    """Return a figure in our unit, and as it was given; one that is no number is left to fail."""
    value = figure.get("value") if isinstance(figure, dict) else None
    if unit is None or isinstance(value, bool) or not isinstance(value, int | float):
        return figure
    return {**figure, "value": value * factor, "given": f"{value:,g} {unit.symbol}"}


def _wrong_unit(file: str, name: str, ours: str) -> Fault:
    stem, unit = split_header(ours)
    suffixes = accepted_suffixes(unit.ours) if unit else ()
    return Fault(
        table=file,
        row=f"[figures.{shown(name)}]",
        column="",
        value="",
        rule="has no unit that fits",
        cure=f"Use one of: {', '.join(f'{stem}_{suffix}' for suffix in suffixes)}.",
    )
