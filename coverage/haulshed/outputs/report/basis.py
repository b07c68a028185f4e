"""On what the figures rest: method, assumptions, defaults, inputs."""

from collections.abc import Iterator, Mapping

from haulshed.assess.findings import Weight
from haulshed.case import CAUTION
from haulshed.outputs.dictionary import scenario_entries
from haulshed.outputs.paper_trail import made_on
from haulshed.outputs.report.blocks import Block, Heading, Lines, Paragraph, Table
from haulshed.outputs.report.method import FORMULAS, METHOD, SOURCES
from haulshed.outputs.report.told import Told
from haulshed.outputs.wording import (
    sentence,
)


def method_told() -> Iterator[Block]:
    """Yield the method: words, formulas, published sources."""
    yield Heading(text="Method", level=1)
    for text in METHOD:
        yield Paragraph(text=text)
    yield Lines(lines=FORMULAS)
    yield Heading(text="Published sources", level=3)
    yield Table(header=["What", "Source"], rows=SOURCES)


def assumptions_told(told: Told) -> Iterator[Block]:
    """Yield every key of the scenario with its value and source."""
    yield Heading(text="Assumptions and their sources", level=2)
    yield Paragraph(
        text="Every figure that the model takes for granted. A value that the district set itself"
        " is marked with *; the source is that of the default."
    )
    scenario = told.provenance.scenario.model_dump(mode="json")
    rows = []
    for entry in scenario_entries():
        value = _value(scenario, f"{entry.part.strip('[]')}.{entry.name}")
        own = "" if value == entry.needs.removesuffix(".0") else " *"
        shown = _shown(value, entry.unit)
        rows.append([entry.meaning.partition(" [")[0], f"{shown}{own}", entry.source])
    yield Table(header=["Assumption", "Value", "Source of the default"], rows=rows)


def _shown(value: str, unit: str) -> str:
    """Return a value with its unit, lists and tables without their brackets; none if empty."""
    bare = value.strip("[]{}").replace("'", "")
    return f"{bare} {unit}".rstrip() if bare and bare != "none" else "none"


def _value(scenario: Mapping[str, object], path: str) -> str:
    found: object = scenario
    for part in path.split("."):
        found = found[part] if isinstance(found, Mapping) else None
    if isinstance(found, bool):
        return str(found).lower()
    if isinstance(found, float) and found.is_integer():
        return str(int(found))
    if isinstance(found, list):
        return "[" + ", ".join(map(str, found)) + "]"
    return "none" if found is None else str(found)


def defaulted_told(told: Told) -> Iterator[Block]:
    """Yield what was defaulted and what is doubtful, with counts and cures."""
    yield Heading(text="What was defaulted, and what is doubtful", level=2)
    for weight, empty in (
        (Weight.ASSUMED, "Nothing was defaulted."),
        (Weight.DOUBTFUL, "Nothing looks doubtful."),
    ):
        yield Heading(text="Defaulted" if weight is Weight.ASSUMED else "Doubtful", level=3)
        yield Table(
            header=["What", "How many", "What would mend it"],
            rows=[
                [sentence(one.what), f"{one.count:,} of {one.of:,}", one.cure]
                for one in told.findings.findings
                if one.weight is weight
            ],
            numbers=frozenset((1,)),
            empty=empty,
        )


def origin_told(told: Told) -> Iterator[Block]:
    """Yield where the figures come from."""
    provenance = told.provenance
    yield Heading(text="Where the figures come from", level=3)
    yield Paragraph(
        text=f"District {told.result.inputs.name}, scenario {provenance.scenario_name}, worked out"
        f" on {made_on(provenance)} by haulshed {provenance.version}. run.json beside the outputs"
        " of haulshed run holds the scenario and the whole hashes; haulshed run --again run.json"
        " repeats it."
    )
    yield Table(
        header=["Input file", "SHA-256"],
        rows=[[name, value] for name, value in provenance.input_sha256.items()],
    )
    yield Paragraph(text=f"{told.result.inputs.road_credit}.")
    yield Paragraph(text=CAUTION, strong=True)
