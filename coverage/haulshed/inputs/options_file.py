"""Reading an options file: every key checked, every change tried on the district, all faults."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from haulshed.case import Inputs
from haulshed.errors import Fault, InputError, TableError
from haulshed.inputs.toml_keys import did_you_mean, read_toml, validated
from haulshed.options.candidate_keys import CandidateKeys
from haulshed.options.change import Change
from haulshed.options.cost import DEFAULT_DISCOUNT_RATE, Cost
from haulshed.options.option import KINDS, Option, OptionBook
from haulshed.options.scenario_change import SetScenario
from haulshed.scenario import Scenario
from haulshed.scenario.key import Section, key
from haulshed.tables.table import shown

#: Looked for in the district's folder where no other file is named.
OPTIONS_FILE = "options.toml"


class OptionKeys(Cost):
    """Keys of ``[option.NAME]``."""

    title: str = key("", "what a board reads; the name where none is given", "")
    notes: str = key("", "what the cost rests on, who was asked", "")
    verify: str = key("", "what must be seen to on site", "")
    change: tuple[dict[str, Any], ...] = key(..., "the changes, in their order", "", min_length=1)


class OptionsFile(Section):
    """The whole of the options file."""

    discount_rate: float = key(
        DEFAULT_DISCOUNT_RATE, "yearly rate that turns capital into a yearly cost", "", ge=0, le=1
    )
    option: dict[str, OptionKeys] = key({}, "the options, by their names", "")
    candidates: CandidateKeys = key(CandidateKeys(), "candidate fill sites, found on the map", "")


def read_options(path: Path, inputs: Inputs) -> tuple[OptionBook, CandidateKeys]:
    """
    Read an options file and try each option on the district.

    Raises
    ------
    InputError
        If the file cannot be read or is not TOML.
    TableError
        With every key at fault, or else with every change that the district does not allow.
    """
    if not path.is_file():
        msg = (
            f"There is no options file {shown(path)}. Write one, or name it with --options;"
            " Larkmoor's options.toml is an example."
        )
        raise InputError(msg)
    raw, name = read_toml(path, path.name), path.name
    faults: list[Fault] = []
    keys = validated(OptionsFile, raw, raw, "", faults, file=name)
    if keys is None:
        raise TableError(faults)
    options = tuple(
        _option(own, option, inputs, faults, name) for own, option in keys.option.items()
    )
    if faults:
        raise TableError(faults)
    for option in options:
        try:
            option.applied(inputs)
        except TableError as problem:
            faults += problem.faults
    if faults:
        raise TableError(faults)
    return OptionBook(options=options, discount_rate=keys.discount_rate), keys.candidates


def _option(name: str, keys: OptionKeys, inputs: Inputs, faults: list[Fault], file: str) -> Option:
    if not _is_name(name):
        faults.append(
            Fault(
                table=file,
                row=f"[option.{shown(name)}]",
                column="",
                value="",
                rule="has a name that cannot be typed on the command line",
                cure="Use letters, digits, - and _ only.",
            )
        )
    changes = [
        _change(f"option.{name}.change {number}", raw, inputs.scenario, faults, file)
        for number, raw in enumerate(keys.change, start=1)
    ]
    return Option(
        name=name,
        title=keys.title or name,
        changes=tuple(change for change in changes if change is not None),
        costs=(Cost(capital=keys.capital, yearly=keys.yearly, life_years=keys.life_years),),
        notes=keys.notes,
        verify=keys.verify,
    )


def _is_name(name: str) -> bool:
    return name.replace("-", "").replace("_", "").isalnum()


def _change(
    place: str, raw: Mapping[str, Any], scenario: Scenario, faults: list[Fault], file: str
) -> Change | None:
    what = raw.get("do")
    kind = KINDS.get(what) if isinstance(what, str) else None
    if kind is None:
        cure = f"One of: {', '.join(KINDS)}.{did_you_mean(str(what), KINDS)}"
        faults.append(
            Fault(
                table=file,
                row=f"[{place}]",
                column="do",
                value=shown(what),
                rule="names no change",
                cure=cure,
            )
        )
        return None
    change = validated(kind, dict(raw), dict(raw), place, faults, file=file)
    if isinstance(change, SetScenario):
        merged, own = change.merged(scenario), dict(change.set)
        if validated(Scenario, merged, own, f"{place}.set", faults, file=file) is None:
            return None
    return change
