"""Changes of the scenario: any key of it."""

import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Literal

from pydantic import JsonValue

from haulshed.case import Inputs
from haulshed.errors import Fault, TableError
from haulshed.options.change import Change, Touch
from haulshed.scenario import Scenario
from haulshed.scenario.key import key
from haulshed.tables.table import shown

Keys = dict[str, JsonValue]

#: Keys of ``[roads]`` that take hold when the road file is read.
_READ = ("tracks", "private", "closed_area")


class SetScenario(Change):
    """Other keys of the scenario: who is called, how long crews take, how fast tankers drive."""

    do: Literal["set scenario"] = key(..., "what is changed", "")
    set: dict[str, Keys] = key(..., "keys by section, as district.toml has them", "")

    def merged(self, scenario: Scenario) -> dict[str, Any]:
        """Return the scenario's keys as plain values, those of the change over them."""
        return _over(scenario.model_dump(mode="json"), self.set)

    def applied(self, inputs: Inputs, where: str) -> Inputs:
        """Return the district under the changed scenario."""
        faults = [
            Fault(
                table="options",
                row=where,
                column=f"roads.{name}",
                value=shown(json.dumps(value)),
                rule="decides what is read of the roads, and they are read before",
                cure="Make it a scenario of district.toml; set closed_ways, or change the roads.",
            )
            for name, value in self.set.get("roads", {}).items()
            if name in _READ
        ]
        if faults:
            raise TableError(faults)
        keys = json.dumps(self.merged(inputs.scenario))
        return replace(inputs, scenario=Scenario.model_validate_json(keys, strict=True))

    @property
    def touches(self) -> Mapping[Touch, Any]:
        """The keys set."""
        return {
            ("scenario", section, ".".join(path)): value
            for section, keys in self.set.items()
            for path, value in _leaves(keys)
        }

    @property
    def says(self) -> str:
        """The change in a few words."""
        return ", ".join(
            f"{touch[1]}.{touch[2]} = {json.dumps(value)}" for touch, value in self.touches.items()
        )


def _over(below: Mapping[str, Any], above: Mapping[str, Any]) -> dict[str, Any]:
    """Return `below` with `above` over it, section by section."""
    merged = dict(below)
    for name, value in above.items():
        here = merged.get(name)
        both = isinstance(here, Mapping) and isinstance(value, Mapping)
        merged[name] = _over(here or {}, value) if both else value
    return merged


def _leaves(keys: Mapping[str, Any]) -> list[tuple[tuple[str, ...], Any]]:
    found: list[tuple[tuple[str, ...], Any]] = []
    for name, value in keys.items():
        if isinstance(value, Mapping):
            found += [((name, *path), leaf) for path, leaf in _leaves(value)]
        else:
            found.append(((name,), value))
    return found
