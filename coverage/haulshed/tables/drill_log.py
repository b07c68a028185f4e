"""A drill's log: who did what when, one row an event."""

from enum import StrEnum

from haulshed.tables.table import Column, Kind, Table


class Event(StrEnum):
    """What a tanker does in one round, in this order."""

    ARRIVE_DUMP = "arrive_dump"  #: stops at the dump site, or behind those who wait there
    START_DUMP = "start_dump"  #: the valve opens
    END_DUMP = "end_dump"  #: the valve closes
    LEAVE_DUMP = "leave_dump"  #: rolls, and the next one may pull in
    ARRIVE_FILL = "arrive_fill"
    START_FILL = "start_fill"  #: water runs
    END_FILL = "end_fill"
    LEAVE_FILL = "leave_fill"


#: The order of events; after the last one the first follows.
ROUND = tuple(Event)

DRILL_LOG = Table(
    name="drill log",
    meaning="What tankers did in a drill, one row an event.",
    id_column="unit_id",
    has_section=False,
    columns=(
        Column(
            name="unit_id", kind=Kind.TEXT, required=True, meaning="the tanker, by its call sign"
        ),
        Column(
            name="event",
            kind=Kind.TEXT,
            required=True,
            choices=tuple(event.value for event in Event),
            meaning="what it does: it stops, water runs, water stops, it rolls",
        ),
        Column(
            name="time",
            kind=Kind.TEXT,
            required=True,
            meaning="when: time of day as 14:05 or 14:05:30, or minutes since the drill began",
        ),
        Column(
            name="site_id",
            kind=Kind.TEXT,
            meaning="where it fills; counts on the rows of the fill site",
            default_says="one fill site",
        ),
        Column(
            name="load_gal",
            kind=Kind.NUMBER,
            unit="gal",
            above=0,
            at_most=20000,
            meaning="water taken in (on end_fill) or unloaded (on end_dump)",
            default_says="the district's tank_gal, less operation.loss_share when unloaded",
        ),
        Column(
            name="leg_miles",
            kind=Kind.NUMBER,
            unit="miles",
            above=0,
            at_most=100,
            meaning="road driven since the other place (on arrive_fill and arrive_dump)",
        ),
    ),
)
