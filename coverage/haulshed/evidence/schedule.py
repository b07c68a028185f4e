"""A rating schedule's rules on water without mains, as a value: every figure with its source."""

from enum import StrEnum

from haulshed.scenario.key import Section, key
from haulshed.tables.evidence import PaperColumn
from haulshed.tables.fill_sites import SiteKind


class Status(StrEnum):
    """How sure a figure is."""

    READ = "read"
    SECONDARY = "secondary copy"
    MEMORY = "from memory"
    ASSUMED = "assumption"


#: What each status says on paper.
STATUS_MEANS = {
    Status.READ: "read in a text of the source",
    Status.SECONDARY: "read in a secondary copy or summary of the source",
    Status.MEMORY: "value from memory, not verified: check it before you quote it",
    Status.ASSUMED: "assumption of this project or of the file's author",
}


class Sourced(Section):
    """Something that a schedule says, and where it was read."""

    source: str = key(..., "publication and place in it", "", min_length=1)
    status: Status = key(..., "how sure it is", "")


class Figure(Sourced):
    """One number of a schedule."""

    value: float = key(..., "the number", "", ge=0)
    given: str = key("", "the number and its unit as the file has them", "")


class Wish(Sourced):
    """One thing that a schedule asks for or not."""

    value: bool = key(..., "whether it is asked for", "")


class Figures(Section):
    """The figures that properties and fill sites are held against; one left out is not asked."""

    flow_gpm: Figure = key(..., "flow that must be held [gpm]", "")
    duration_min: Figure = key(..., "how long it must be held [min]", "")
    within_min: Figure | None = key(
        None, "from the first engine's arrival until the flow is held, at most [min]", ""
    )
    gap_min: Figure | None = key(None, "longest break in the flow, at most [min]", "")
    station_miles: Figure | None = key(
        None, "road from the nearest station to the property, at most [mi]", ""
    )
    hose_reach_ft: Figure | None = key(
        None, "hose from a creditable source to the property, at most [ft]", ""
    )
    hose_to_structure: Wish | None = key(
        None, "hose is measured to the structure, not to where the driveway meets the road", ""
    )
    fill_site_miles: Figure | None = key(
        None, "road from the nearest creditable source to the property, at most [mi]", ""
    )
    pump_gpm: Figure | None = key(None, "rated pump of an engine that comes, at least [gpm]", "")
    crew: Figure | None = key(None, "people who come, at least", "")
    all_year: Wish | None = key(None, "a source can be used on 365 days a year", "")
    all_weather: Wish | None = key(None, "a source is reached in all weather", "")
    lift_ft: Figure | None = key(None, "lift of a suction point, at most [ft]", "")
    head_loss_ft: Figure | None = key(
        None, "whole head of a dry hydrant, lift and losses, at most [ft]", ""
    )


class HydrantFlow(Sourced):
    """The most that a hydrant counts for at a distance."""

    within_ft: float = key(..., "hose from the hydrant, at most [ft]", "", gt=0)
    flow_gpm: float = key(..., "counts for at most [gpm]", "", gt=0)


class Ask(Sourced):
    """Something that an inspector asks to see of a fill site, or of the department."""

    what: str = key(..., "what to have at hand", "", min_length=1)
    kinds: tuple[SiteKind, ...] = key(
        tuple(SiteKind), "kinds of fill sites that it is for; none: of the department, once", ""
    )
    column: PaperColumn | None = key(None, "column of fill_sites that says whether it is there", "")


class Note(Sourced):
    """Something that the schedule says and nothing here tests."""

    what: str = key(..., "what it says", "", min_length=1)


class Schedule(Section):
    """One bureau's rules."""

    title: str = key(..., "what the schedule is called", "", min_length=1)
    body: str = key(..., "who publishes it", "", min_length=1)
    edition: str = key(..., "which edition", "", min_length=1)
    country: str = key(..., "where it holds", "", min_length=1)
    figures: Figures = key(..., "what properties and fill sites are held against", "")
    hydrant_flow: tuple[HydrantFlow, ...] = key((), "what a hydrant counts for by distance", "")
    asks: tuple[Ask, ...] = key((), "what an inspector asks to see of a fill site", "")
    notes: tuple[Note, ...] = key((), "what it says and nothing here tests", "")

    @property
    def volume_gal(self) -> float:
        """The water that the flow takes over the duration."""
        return self.figures.flow_gpm.value * self.figures.duration_min.value

    @property
    def papers(self) -> tuple[Ask, ...]:
        """What is asked for and a column says whether it is there."""
        return tuple(ask for ask in self.asks if ask.column)

    def limit(self, figure: str) -> float | None:
        """Return a figure's number; 1 for a thing asked for, None for what is not asked."""
        given = getattr(self.figures, figure)
        return None if given is None or given.value is False else float(given.value)
