"""What a comparison tells of an option to those who only read it."""

from dataclasses import dataclass

#: What is said of a comparison that is of other inputs or of another scenario.
OUT_OF_DATE = (
    "The comparison that was found is of other inputs or of another scenario and is left out. Run"
    " haulshed compare again."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionTold:
    """One option: what it costs and what it lifts."""

    title: str
    capital: float
    cost_a_year: float
    lifted: int  #: properties lifted to their needed flow
    people: float  #: people there, where known
    lost: int  #: properties held without it and not with it
    notes: tuple[str, ...]
