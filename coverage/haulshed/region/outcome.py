"""What is asked of each district of a region, and how it came out."""

import json
from dataclasses import asdict, dataclass
from enum import StrEnum
from pathlib import Path

from haulshed.case import CAUTION
from haulshed.units import System


class State(StrEnum):
    """How a district came out."""

    DONE = "done"
    KEPT = "kept"
    FAILED = "failed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked of every district."""

    scenario: str | None = None
    set_aside: bool = False
    cache: Path | None = None
    units: System | None = None
    base_map: bool = False
    workbook: bool = False
    anew: bool = False  #: run also what is as an earlier run left it


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One district; the paths are whole, since a worker has a folder of its own."""

    district: Path
    out: Path
    asked: Asked

    @property
    def name(self) -> str:
        """The name of the district's folder."""
        named = self.district
        return named.parent.name if named.suffix.lower() == ".toml" else named.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How one district came out."""

    district: str
    out: str
    state: State
    said: str  #: its parcels by answer, or what was wrong


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """How all districts came out, in the order in which they were named."""

    outcomes: tuple[Outcome, ...]

    @property
    def failed(self) -> int:
        """Districts that failed."""
        return sum(one.state is State.FAILED for one in self.outcomes)

    def as_text(self) -> str:
        """Return a paragraph a district, then the count and the caution."""
        states = [one.state for one in self.outcomes]
        count = ", ".join(f"{states.count(state)} {state}" for state in State)
        told = [
            f"{one.state}: {one.district} → {one.out}\n  {_below(one.said)}"
            for one in self.outcomes
        ]
        return "\n".join([*told, f"{len(states)} districts: {count}.", "", CAUTION])

    def as_json(self) -> str:
        """Return the same for machines."""
        answer = [asdict(one) for one in self.outcomes]
        return json.dumps({"caution": CAUTION, "answer": answer}, indent=2, ensure_ascii=False)


def _below(text: str) -> str:
    return text.replace("\n", "\n  ")
