"""The data dictionary: every column and every scenario key, printed from what the code declares."""

from collections.abc import Iterator
from dataclasses import dataclass

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from haulshed.options.candidate_keys import CandidateKeys
from haulshed.options.cost import Cost
from haulshed.scenario import Scenario
from haulshed.tables.answers import ANSWERS
from haulshed.tables.apparatus import APPARATUS
from haulshed.tables.buildings import BUILDINGS
from haulshed.tables.comparison import COMPARISON
from haulshed.tables.drill_log import DRILL_LOG
from haulshed.tables.evidence import EVIDENCE, SOURCE_EVIDENCE
from haulshed.tables.fill_sites import FILL_SITES
from haulshed.tables.layers import ROADS
from haulshed.tables.parcels import PARCELS
from haulshed.tables.stations import STATIONS
from haulshed.tables.table import Column, Table
from haulshed.units import UNITS

#: The tables that a user fills in, then those that the program answers with.
INPUT_TABLES = (FILL_SITES, STATIONS, APPARATUS, PARCELS, BUILDINGS, DRILL_LOG)
OUTPUT_TABLES = (ANSWERS, ROADS, COMPARISON, EVIDENCE, SOURCE_EVIDENCE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line of the dictionary."""

    part: str  #: table or section of ``district.toml``
    name: str  #: column or key
    unit: str  #: as people print it; empty where there is none
    needs: str  #: "required", a default, or what an empty cell means
    meaning: str
    source: str  #: where a default comes from; empty for columns


def dictionary() -> tuple[Entry, ...]:
    """Return every entry: input columns, output columns, scenario keys, in the order declared."""
    inputs = [_column(f"{t.name} (input)", c) for t in INPUT_TABLES for c in t.columns]
    outputs = [_answer(t, c) for t in OUTPUT_TABLES for c in t.columns]
    return (*inputs, *outputs, *_keys(Scenario, ""), *_option_keys())


def scenario_entries() -> tuple[Entry, ...]:
    """Return the scenario's keys alone, in the order declared."""
    return tuple(_keys(Scenario, ""))


def as_text(entries: tuple[Entry, ...]) -> str:
    """Return the dictionary for a terminal."""
    lines: list[str] = []
    part = ""
    for entry in entries:
        if entry.part != part:
            part = entry.part
            lines += ["", part, "-" * len(part)]
        unit = f" [{entry.unit}]" if entry.unit else ""
        needs = f" ({entry.needs})" if entry.needs else ""
        lines.append(f"  {entry.name}{unit}: {entry.meaning}{needs}")
        if entry.source:
            lines.append(f"      source: {entry.source}")
    return "\n".join(lines[1:])


def as_markdown(entries: tuple[Entry, ...]) -> str:
    """Return the dictionary as the README prints it."""
    lines: list[str] = []
    part = ""
    for entry in entries:
        keys = not entry.part.endswith(")")
        if entry.part != part:
            part = entry.part
            heads = (
                "| key | unit | default | meaning | source of the default |"
                if keys
                else ("| column | unit | if empty | meaning |")
            )
            lines += ["", f"#### {part}", "", heads, "|---" * (heads.count("|") - 1) + "|"]
        cells = [f"`{entry.name}`", entry.unit, entry.needs, entry.meaning]
        cells += [entry.source] if keys else []
        lines.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
    return "\n".join(lines[1:])


def _column(part: str, column: Column) -> Entry:
    if column.required:
        needs = "required"
    elif column.default_says:
        needs = column.default_says
    else:
        needs = "" if column.default in {None, ""} else f"{column.default}"
    words = f": {', '.join(column.choices)}" if column.choices else ""
    return Entry(
        part=part,
        name=column.name,
        unit=UNITS[column.unit].symbol if column.unit else "",
        needs=needs,
        meaning=column.meaning + words,
        source="",
    )


def _answer(table: Table, column: Column) -> Entry:
    entry = _column(f"{table.name} (output)", column)
    return Entry(
        part=entry.part,
        name=entry.name,
        unit=entry.unit,
        needs="",
        meaning=entry.meaning,
        source="",
    )


def _option_keys() -> Iterator[Entry]:
    """Yield the keys of an options file that have defaults."""
    for prefix, section in (("option.NAME.", Cost), ("candidates.", CandidateKeys)):
        yield from _keys(section, prefix)


def _keys(section: type[BaseModel], prefix: str) -> Iterator[Entry]:
    inner: list[tuple[str, type[BaseModel]]] = []
    for name, field in section.model_fields.items():
        kind = field.annotation
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            inner.append((f"{prefix}{name}.", kind))
        else:
            yield _key(prefix.rstrip("."), name, field)
    for inner_prefix, kind in inner:
        yield from _keys(kind, inner_prefix)


def _key(part: str, name: str, field: FieldInfo) -> Entry:
    extra = field.json_schema_extra
    source = str(extra.get("source", "")) if isinstance(extra, dict) else ""
    suffix = name.rpartition("_")[2]
    return Entry(
        part=f"[{part}]",
        name=name,
        unit=UNITS[suffix].symbol if suffix in UNITS and "_per_" not in name else "",
        needs=_shown_default(field.default),
        meaning=field.description or "",
        source=source,
    )


def _shown_default(default: object) -> str:
    if isinstance(default, bool):
        return str(default).lower()
    if default is None:
        return "none"
    if isinstance(default, tuple):
        return "[" + ", ".join(str(item) for item in default) + "]"
    return str(default)
