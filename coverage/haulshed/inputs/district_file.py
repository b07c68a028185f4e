"""Reading ``district.toml``: every key checked, every fault named, all of them at once."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from haulshed.case import BASE_SCENARIO
from haulshed.errors import Fault, InputError, TableError
from haulshed.inputs.settings import DistrictFile, LineKeys, RoadKeys, Settings
from haulshed.inputs.toml_keys import Raw, did_you_mean, read_toml, validated
from haulshed.scenario import RoadRules, Scenario, SupplyLine
from haulshed.tables.table import shown

FILE_NAME = "district.toml"
_SUFFIX = Path(FILE_NAME).suffix
#: Keys by section that name files, and so are no part of a scenario.
_SOURCES = {
    "roads": RoadKeys.model_fields.keys() - RoadRules.model_fields.keys(),
    "supply_line": LineKeys.model_fields.keys() - SupplyLine.model_fields.keys(),
}


def settings_file(district: Path) -> Path:
    """
    Return a district's ``district.toml``; `district` is its folder, or that file itself.

    Raises
    ------
    InputError
        If there is no such file.
    """
    path = district / FILE_NAME if district.is_dir() else district
    if path.is_file() and path.suffix.lower() != _SUFFIX:
        msg = f"{shown(path.name)} is no {FILE_NAME}. Name a folder that holds one, or that file."
        raise InputError(msg)
    if not path.is_file():
        msg = f"There is no {shown(path)}. Name a folder that holds a {FILE_NAME}, or that file."
        raise InputError(msg)
    return path


def read_settings(path: Path) -> Settings:
    """
    Read a district's settings from its ``district.toml``.

    Raises
    ------
    InputError
        If the file cannot be read or is not TOML.
    TableError
        With every key that is at fault.
    """
    raw = read_toml(path, FILE_NAME)
    faults: list[Fault] = []
    keys = validated(DistrictFile, raw, raw, "", faults, file=FILE_NAME)
    scenarios = _scenarios(raw, faults)
    if keys is None or faults:
        raise TableError(faults)
    return Settings(folder=path.parent, keys=keys, scenarios=scenarios)


def chosen(settings: Settings, name: str | None) -> tuple[str, Scenario]:
    """
    Return the scenario called `name` and its name; the file's own keys where it is None.

    Raises
    ------
    InputError
        If the district has no scenario of that name.
    """
    wanted = BASE_SCENARIO if name is None else name
    if wanted not in settings.scenarios:
        known = ", ".join(settings.scenarios)
        hint = did_you_mean(wanted, settings.scenarios)
        msg = f"The district has no scenario '{shown(wanted)}'.{hint} Known: {known}."
        raise InputError(msg)
    return wanted, settings.scenarios[wanted]


def section_at(
    settings: Settings, scenario: str, section: str, key: str, item: object = None
) -> str:
    """
    Return the section in which a key of a scenario is written: the scenario's own, or the base's.

    `item` is the one in the key's list or table that it is about, if any.
    """
    own = settings.keys.scenario.get(scenario, {}).get(section)
    value = own.get(key) if isinstance(own, dict) else None
    if value is None or (item is not None and item not in value):
        return section
    return f"scenario.{scenario}.{section}"


def _scenarios(raw: Raw, faults: list[Fault]) -> dict[str, Scenario]:
    """Return every scenario that holds; the faults of the others go to `faults`."""
    base = {name: raw[name] for name in Scenario.model_fields if name in raw}
    for name, sources in _SOURCES.items():
        if isinstance(base.get(name), dict):
            base[name] = {k: v for k, v in base[name].items() if k not in sources}
    named = raw.get("scenario", {})
    changes = named if isinstance(named, dict) else {}
    found: dict[str, Scenario] = {}
    for name, change in {BASE_SCENARIO: {}, **changes}.items():
        if name == BASE_SCENARIO and BASE_SCENARIO in changes:
            faults.append(_base_taken())
        elif isinstance(change, dict):
            # The base's own faults are named once, by the check of the whole file.
            known = faults if name != BASE_SCENARIO else []
            merged, path = _merged(base, change), f"scenario.{name}"
            scenario = validated(Scenario, merged, change, path, known, file=FILE_NAME)
            if scenario is not None:
                found[name] = scenario
    return found


def _base_taken() -> Fault:
    return Fault(
        table=FILE_NAME,
        row=f"[scenario.{BASE_SCENARIO}]",
        column="",
        value="",
        rule="has the name of the scenario without changes",
        cure="Give it another name.",
    )


def _merged(base: Mapping[str, Any], change: Mapping[str, Any]) -> Raw:
    """Return `base` with the keys of `change` over it, section by section."""
    merged = dict(base)
    for name, value in change.items():
        below = merged.get(name)
        both = isinstance(below, dict) and isinstance(value, dict)
        merged[name] = _merged(below or {}, value) if both else value
    return merged
