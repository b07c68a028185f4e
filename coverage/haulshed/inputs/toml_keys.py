"""Keys of a TOML file held against their model: every wrong key a fault, in plain words."""

import json
import re
import tomllib
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from pathlib import Path
from types import UnionType
from typing import Any, TypeAlias, TypeVar, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from haulshed.errors import Fault, InputError
from haulshed.inputs.text_file import read_text
from haulshed.tables.table import shown

#: What a wrong kind of value should have been, in plain words.
_PLAIN = {
    "missing": "is missing",
    "bool_type": "must be true or false",
    "dict_type": "must be a table",
    "float_type": "must be a number",
    "finite_number": "must be a finite number",
    "int_from_float": "must be a whole number",
    "int_type": "must be a whole number",
    "list_type": "must be a list",
    "model_type": "must be a table",
    "string_type": "must be text, in quotes",
    "tuple_type": "must be a list",
}

_Model = TypeVar("_Model", bound=BaseModel)
Raw: TypeAlias = dict[str, Any]
"""A section as the file has it."""


def read_toml(path: Path, name: str) -> Raw:
    """
    Return the file, called `name` in messages, as plain values, of kinds that JSON has too.

    Raises
    ------
    InputError
        If it cannot be read or is not TOML.
    """
    text = read_text(path, name)
    try:
        # Dates, which no key takes, come out as text and fail as such; so do numbers too long.
        plain: Raw = json.loads(json.dumps(tomllib.loads(text), default=str))
    except (ValueError, RecursionError) as error:
        msg = f"{name} is not TOML: {error}. Mend that line."
        raise InputError(msg) from error
    return plain


def validated(
    model: type[_Model],
    raw: Raw,
    own: Raw,
    prefix: str,
    faults: list[Fault],
    *,
    file: str,
) -> _Model | None:
    """
    Return `raw` as `model`, or None with a fault for each wrong key that stands in `own`.

    Parameters
    ----------
    model
        What the keys must be.
    raw
        The keys with all that lies below them.
    own
        Those that the section itself has; others are named where they stand.
    prefix
        Path of the section in the file.
    faults
        Taken further.
    file
        Name of the file in messages.
    """
    try:
        # As JSON and strict: words become choices and lists tuples, but no text becomes a number.
        return model.model_validate_json(json.dumps(raw), strict=True)
    except ValidationError as problem:
        errors = problem.errors(include_url=False)
        faults.extend(_fault(model, e, prefix, file) for e in errors if _stands(e, own))
    return None


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """
    Return a question for a word that is not known, with a space before it; empty without a guess.

    Examples
    --------
    >>> did_you_mean("wintr", ["winter", "drought"])
    " Did you mean 'winter'?"
    """
    near = get_close_matches(name, list(known), n=1)
    return f" Did you mean '{near[0]}'?" if near else ""


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


def _fault(model: type[BaseModel], error: ErrorDetails, prefix: str, file: str) -> Fault:
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
        table=file,
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
    return f"Known: {', '.join(fields)}." if fields else "Leave it out."


def _sections(model: type[BaseModel], path: str = "") -> Iterable[tuple[str, Raw]]:
    for name, field in model.model_fields.items():
        below = _model_of(field)
        if below is not None:
            own = f"{name}.NAME" if get_origin(field.annotation) is dict else name
            inner = f"{path}.{own}" if path else own
            yield inner, dict(below.model_fields)
            yield from _sections(below, inner)


def _fields(model: type[BaseModel], parents: Iterable[str]) -> Mapping[str, FieldInfo]:
    """Return the keys of the section that `parents` lead to; none where there is no such."""
    left = iter(parents)
    for name in left:
        field = model.model_fields.get(name)
        below = _model_of(field) if field else None
        if below is None:
            return {}
        if field is not None and get_origin(field.annotation) is dict:
            next(left, None)  # the user's own name of a section, as in [option.NAME]
        model = below
    return model.model_fields


def _model_of(field: FieldInfo) -> type[BaseModel] | None:
    kind: object = field.annotation
    several = isinstance(kind, UnionType) or get_origin(kind) is dict
    kinds: tuple[object, ...] = get_args(kind) if several else (kind,)
    return next((k for k in kinds if isinstance(k, type) and issubclass(k, BaseModel)), None)


def _as_toml(value: Any) -> str:  # noqa: ANN401 — any TOML value
    """Return a value as the user would have written it."""
    if value is None:
        return "none"
    if isinstance(value, float):
        return shown(value)
    return shown(json.dumps(value, default=str, ensure_ascii=False))
