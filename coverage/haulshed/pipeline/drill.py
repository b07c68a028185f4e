"""The command `drill`: what a drill's log says of the figures that were assumed."""

from dataclasses import dataclass
from pathlib import Path

from haulshed.assess.explain import explain_parcel
from haulshed.case import Inputs, Progress
from haulshed.crosscheck.calibrate import Drill, calibrate
from haulshed.errors import InputError
from haulshed.inputs.district import read_district
from haulshed.inputs.drill_log import Known, read_drill_log
from haulshed.outputs.drill_fragment import fragment_toml
from haulshed.outputs.drill_page import drill_text
from haulshed.outputs.whole_file import refuse_file, write_whole
from haulshed.pipeline.record import as_json_text, quiet
from haulshed.scenario import Scenario


@dataclass(frozen=True, slots=True, kw_only=True)
class Drilled:
    """What a drill's log says."""

    drill: Drill
    scenario: Scenario  #: what was assumed
    fragment_file: Path | None  #: where the scenario fragment was written

    def as_text(self) -> str:
        """Return the page for a terminal."""
        written = f"\n\nScenario: {self.fragment_file}" if self.fragment_file else ""
        return drill_text(self.drill) + written

    def as_json(self) -> str:
        """Return every figure for machines."""
        return as_json_text(self.drill.as_dict())


def drill(  # noqa: PLR0913 — one argument an option
    log: Path,
    *,
    district: Path | None = None,
    parcel: str | None = None,
    scenario: str | None = None,
    out: Path | None = None,
    cache: Path | None = None,
    progress: Progress = quiet,
) -> Drilled:
    """
    Return what a drill's log says of the figures that were assumed.

    Parameters
    ----------
    log
        The log, a CSV file.
    district
        The district whose tankers drilled; None: only the defaults are assumed.
    parcel
        The parcel at whose access point the dump site stood; the legs there are assumed.
    scenario
        Name of the district's scenario that was assumed.
    out
        File for the scenario fragment; none is written if None.
    cache
        Folder of the cache; the user's own if None.
    progress
        Called with each step's name as it starts.

    Raises
    ------
    HaulshedError
        If an input is at fault or the fragment cannot be written.
    """
    if out is not None:
        refuse_file(out)
    if district is None:
        if parcel is not None or scenario is not None:
            msg = "A parcel and a scenario are a district's. Name it too, with --district."
            raise InputError(msg)
        rules = Scenario()
        found = calibrate(read_drill_log(log, None), scenario=rules)
    else:
        read = read_district(district, scenario=scenario, cache_dir=cache, progress=progress)
        inputs, rules = read.inputs, read.inputs.scenario
        checked = read_drill_log(log, _known(inputs))
        told = explain_parcel(inputs, parcel, progress=progress).sites if parcel else ()
        found = calibrate(checked, scenario=rules, inputs=inputs, sites=told)
    if out is not None:
        write_whole(out, fragment_toml(found, rules))
    return Drilled(drill=found, scenario=rules, fragment_file=out)


def _known(inputs: Inputs) -> Known:
    by_kind = inputs.apparatus.groupby("kind")["unit_id"].agg(frozenset)
    return Known(
        tankers=by_kind.get("tanker", frozenset()),
        engines=by_kind.get("engine", frozenset()),
        fill_sites=frozenset(inputs.fill_sites["site_id"]),
    )
