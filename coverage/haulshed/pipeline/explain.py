"""The command `explain`: one parcel's computation, or its incident played from dispatch on."""

from dataclasses import dataclass
from pathlib import Path

from haulshed.assess.build_up import BuildUp, build_up
from haulshed.assess.explain import Explanation, explain_parcel
from haulshed.case import Progress
from haulshed.errors import OutputError
from haulshed.inputs.district import read_district
from haulshed.outputs.build_up_chart import build_up_svg
from haulshed.outputs.build_up_words import build_up_text
from haulshed.outputs.explanation import explanation_text
from haulshed.outputs.whole_file import refuse_file, write_whole
from haulshed.pipeline.record import as_json_text, quiet
from haulshed.units import System

_PICTURE = ".svg"


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One parcel's computation."""

    explanation: Explanation

    def as_text(self) -> str:
        """Return the computation, step by step."""
        return explanation_text(self.explanation)

    def as_json(self) -> str:
        """Return all inputs and outputs of the computation."""
        return as_json_text(self.explanation.as_dict())


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """One parcel's incident, played."""

    build_up: BuildUp
    picture_file: Path | None  #: where the picture was written

    def as_text(self) -> str:
        """Return what happens, minute by minute."""
        written = f"\n\nPicture: {self.picture_file}" if self.picture_file else ""
        return build_up_text(self.build_up) + written

    def as_json(self) -> str:
        """Return the whole story: bands, gaps, trips, levels and where the water is."""
        return as_json_text(self.build_up.as_dict())


def explain(  # noqa: PLR0913 — one argument an option
    district: Path,
    parcel: str,
    *,
    clock: bool = False,
    out: Path | None = None,
    scenario: str | None = None,
    set_aside: bool = False,
    cache: Path | None = None,
    units: System | None = None,
    progress: Progress = quiet,
) -> Told | Played:
    """
    Return the whole computation for one parcel, or with `clock` its incident from dispatch on.

    With `out` the picture of that incident is written, in `units` or the district's own.

    Raises
    ------
    HaulshedError
        If the input is at fault, there is no such parcel, or the picture cannot be written.
    """
    if out is not None and out.suffix.lower() != _PICTURE:
        msg = f"--out {out}: the picture is an SVG. Give it a name that ends in {_PICTURE}."
        raise OutputError(msg)
    if out is not None:
        refuse_file(out)
    read = read_district(
        district, scenario=scenario, set_aside=set_aside, cache_dir=cache, progress=progress
    )
    if not clock and out is None:
        return Told(explanation=explain_parcel(read.inputs, parcel, progress=progress))
    played = build_up(read.inputs, parcel, progress=progress)
    if out is not None:
        write_whole(out, build_up_svg(played, system=units or read.units))
    return Played(build_up=played, picture_file=out)
