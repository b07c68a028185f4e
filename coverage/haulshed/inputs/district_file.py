"""Reading ``district.toml``: every key checked, every fault named, all of them at once."""

import json
import re
import tomllib
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from pathlib import Path
from types import UnionType
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from haulshed.case import BASE_SCENARIO
from haulshed.errors import Fault, InputError, TableError
from haulshed.inputs.settings import DistrictFile, RoadKeys, Settings
from haulshed.inputs.text_file import read_text
from haulshed.scenario import RoadRules, Scenario
from haulshed.tables.table import shown

FILE_NAME = "district.toml"
#: What a wrong kind of value should have been, in plain words.
_PLAIN = {
    "missing": "is missing",
    "bool_type": "must be true or false",
    "dict_type": "must be a table",
    "float_type": "must be a number",
    "finite_number": "must be a finite number",
    "int_from_float": "must be a whole number",
    "int_type": "must be a whole number",
    "model_type": "must be a table",
    "string_type": "must be text, in quotes",
    "tuple_type": "must be a list",
}
_SOURCES = tuple(RoadKeys.model_fields.keys() - RoadRules.model_fields.keys())

_Model = TypeVar("_Model", bound=BaseModel)
_Raw = dict[str, Any]


def settings_file(district: Path) -> Path:
    """
    Return a district's ``district.toml``; `district` is its folder, or that file itself.

    Raises
    ------
    InputError
        If there is no such file.
    """
    path = district / FILE_NAME if district.is_dir() else district
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
    raw = _raw(path)
    faults: list[Fault] = []
    keys = _validated(DistrictFile, raw, raw, "", faults)
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
        hint = _did_you_mean(wanted, settings.scenarios)
        msg = f"The district has no scenario '{shown(wanted)}'.{hint} Known: {known}."
        raise InputError(msg)
    return wanted, settings.scenarios[wanted]


def _raw(path: Path) -> _Raw:
    """Return the file as plain values, of kinds that JSON has too."""
    text = read_text(path, FILE_NAME)
    try:
        # Dates, which no key takes, come out as text and fail as such; so do numbers too long.
        plain: _Raw = json.loads(json.dumps(tomllib.loads(text), default=str))
    except (ValueError, RecursionError) as error:
        msg = f"{FILE_NAME} is not TOML: {error}. Mend that line."
        raise InputError(msg) from error
    return plain


def _scenarios(raw: _Raw, faults: list[Fault]) -> dict[str, Scenario]:
    """Return every scenario that holds; the faults of the others go to `faults`."""
    base = {name: raw[name] for name in Scenario.model_fields if name in raw}
    if isinstance(base.get("roads"), dict):
        base["roads"] = {k: v for k, v in base["roads"].items() if k not in _SOURCES}
    named = raw.get("scenario", {})
    changes = named if isinstance(named, dict) else {}
    found: dict[str, Scenario] = {}
    for name, change in {BASE_SCENARIO: {}, **changes}.items():
        if name == BASE_SCENARIO and BASE_SCENARIO in changes:
            faults.append(_base_taken())
        elif isinstance(change, dict):
            # The base's own faults are named once, by the check of the whole file.
            known = faults if name != BASE_SCENARIO else []
            scenario = _validated(
                Scenario, _merged(base, change), change, f"scenario.{name}", known
            )
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


def _merged(base: Mapping[str, Any], change: Mapping[str, Any]) -> _Raw:
    """Return `base` with the keys of `change` over it, section by section."""
    merged = dict(base)
    for name, value in change.items():
        below = merged.get(name)
        both = isinstance(below, dict) and isinstance(value, dict)
        merged[name] = _merged(below or {}, value) if both else value
    return merged


def _validated(
    model: type[_Model], raw: _Raw, own: _Raw, prefix: str, faults: list[Fault]
) -> _Model | None:
    """Return `raw` as `model`, or None with a fault for each wrong key that stands in `own`."""
    try:
        # As JSON and strict: words become choices and lists tuples, but no text becomes a number.
        return model.model_validate_json(json.dumps(raw), strict=True)
    except ValidationError as problem:
        errors = problem.errors(include_url=False)
        faults.extend(_fault(model, error, prefix) for error in errors if _stands(error, own))
    return None


def _stands(error: ErrorDetails, own: Any) -> bool:  # noqa: ANN401 — any TOML value
    """Return whether the key at fault, or the section that lacks it, is written in `own`."""
    place = error["loc"][:-1] if error["type"] == "missing" else error["loc"]
    for part in place:
        if not isinstance(own, dict):
            return True
        if part not in own:
            return False
        own = own[part]
    return True


def _fault(model: type[BaseModel], error: ErrorDetails, prefix: str) -> Fault:
    # Where an item of a list is at fault, its key is named and the item shown.
    place = [part for part in error["loc"] if isinstance(part, str)]
    parents, name = place[:-1], place[-1]
    section = ".".join(part for part in (prefix, *parents) if part)
    fields = _fields(model, parents)
    field = fields.get(name)
    rule, cure = _rule(error), _meaning(name, field)
    if error["type"] == "extra_forbidden":
        rule = f"is not a key of [{section}]" if section else "is not a section of the file"
        cure = _where_instead(model, name, fields, prefix)
    return Fault(
        table=FILE_NAME,
        row=f"[{section}]" if section else "",
        column=name if section else f"[{name}]",
        value="" if error["type"] == "missing" else _as_toml(error["input"]),
        rule=rule,
        cure=cure,
    )


def _rule(error: ErrorDetails) -> str:
    kind = error["type"]
    if kind in _PLAIN:
        return _PLAIN[kind]
    said = re.sub("^Input should (be )?", "must be ", error["msg"])
    said = said.replace("greater than or equal to", "at least")
    return said.replace("less than or equal to", "at most")


def _meaning(name: str, field: FieldInfo | None) -> str:
    if field is None:
        return "See `haulshed columns` for what it means."
    if field.is_required() or _model_of(field):
        return f"{name}: {field.description}."
    return f"{name}: {field.description} (default {_as_toml(field.get_default())})."


def _where_instead(
    model: type[BaseModel], name: str, fields: Mapping[str, FieldInfo], prefix: str
) -> str:
    """Return what may have been meant by an unknown key: a near one, or another section's."""
    near = get_close_matches(name, fields, n=1)
    homes = [section for section, keys in _sections(model) if name in keys]
    if near:
        return f"Did you mean '{near[0]}'?"
    if homes:
        return f"It belongs in [{'.'.join(filter(None, (prefix, homes[0])))}]."
    return f"Known: {', '.join(fields)}."


def _sections(model: type[BaseModel], path: str = "") -> Iterable[tuple[str, _Raw]]:
    for name, field in model.model_fields.items():
        below = _model_of(field)
        if below is not None:
            inner = f"{path}.{name}" if path else name
            yield inner, dict(below.model_fields)
            yield from _sections(below, inner)


def _fields(model: type[BaseModel], parents: Iterable[str]) -> Mapping[str, FieldInfo]:
    """Return the keys of the section that `parents` lead to."""
    for name in parents:
        field = model.model_fields.get(name)
        below = _model_of(field) if field else None
        if below is None:
            return {}
        model = below
    return model.model_fields


def _model_of(field: FieldInfo) -> type[BaseModel] | None:
    kind: object = field.annotation
    kinds: tuple[object, ...] = get_args(kind) if isinstance(kind, UnionType) else (kind,)
    return next((k for k in kinds if isinstance(k, type) and issubclass(k, BaseModel)), None)


def _as_toml(value: Any) -> str:  # noqa: ANN401 — any TOML value
    """Return a value as the user would have written it."""
    if value is None:
        return "none"
    if isinstance(value, float):
        return shown(value)
    return shown(json.dumps(value, default=str, ensure_ascii=False))


def _did_you_mean(name: str, known: Iterable[str]) -> str:
    near = get_close_matches(name, list(known), n=1)
    return f" Did you mean '{near[0]}'?" if near else ""
