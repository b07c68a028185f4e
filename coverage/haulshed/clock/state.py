"""The state of one play, in records that its kernels pass each other."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from haulshed.shuttle.kernel import Flags, Floats, Ints, merged

#: Rows with named fields, and one such row. The compiled kernels hold them to their types.
Records = NDArray[np.void]
Record = Any

#: Moments less than this apart are one [min].
SAME_MIN = 1e-9
#: Less than this is no water [gal].
NO_GAL = 1e-7
#: Accounts less than this apart are even [gal].
SAME_GAL = 1e-6
#: A flow this little under the flow asked for is no gap [gpm].
NO_GAP_GPM = 1e-6

#: How long handling and taking water take at the sites, at least, for which it is noted how far
#: tankers looked [min]: a number for each of the `looked` figures of a scene.
TAKES_MIN = (0.0, 2.0, 4.0, 6.0)

# What a tanker does. The first seven end at a minute of the agenda; so may the last.
COMING = 1  #: loaded, to the incident
GOING = 2  #: empty, to its site
TURNED_BACK = 3  #: empty, from a closed site to the incident
COUPLES = 4  #: at an inlet
HANDLES = 5  #: at a dump position
SITE_HANDLES = 6  #: at a fill position
TAKES = 7  #: takes water
OUT = 0  #: does not play, or no longer
QUEUES = 8  #: at the incident
COUPLED = 9
PUMPS_OFF = 10
UNLOADS = 11
STAYS = 12  #: empty, with nowhere to go
SITE_QUEUES = 13
SITE_READY = 14  #: connected, waits for water

# Columns of the stamps of a trip: the moments of `Trips`, in its order.
LEFT, AT_SITE, POSITION, TAKING, FULL, BACK, CALLED, UNLOADING, EMPTY = range(9)
STAMPS = 9

#: Columns of the log of trips before the stamps, of the log of levels before the sources.
OF_TRIP, OF_LEVELS = 5, 7

#: Whether a dump site is still to come, works, or has been taken out.
NOT_YET, IN_USE, TAKEN_OUT = 0, 1, 2

# Columns of the factors of a trip.
OF_SITE_HANDLING, OF_TAKING, OF_UNLOAD_HANDLING = range(3)


def _fields(wholes: str, numbers: str) -> np.dtype[np.void]:
    """Return the type of a record with whole numbers and floats."""
    named = [(name, np.int64) for name in wholes.split()]
    return np.dtype(named + [(name, np.float64) for name in numbers.split()])


TANKER = _fields(
    "does trip site nursed crew weight_class after",
    "left_gal since_min ready_min rate_gpm arrival_min turnout_min down_min"
    " load_gal unload_gpm off_gpm portable_gal pace taking_min loaded_min least_min",
)
ENGINE = _fields(
    "crew", "tank_gal portable_gal hose_ft turnout_min turnout_factor drive_factor arrival_min"
)
ROUTE = _fields("site", "empty_min loaded_min")
SITE = _fields(
    "open needs_pumper positions source taken first touched stirred",
    "handling_min flow_gpm closes_min gives_min draw_gpm booked_min plan_gpm credit_gal",
)
SOURCE = _fields("first", "gpm stored_gal recharge_gpm gal since_min draw_gpm booked_min owed_gal")
TANK = _fields("", "stands_min gal")
SCENE = _fields(
    "place draw fails units engines days due flowing touched stirred planned"
    " first last pumping inlets coupled positions unloading tanks dump_site entry builds"
    " pumper_first stale emptied",
    "now_min engine_gal engine_full_gal portable_gal room_gal delivered_gal asked_gal"
    " asked_gpm given_gpm supply_gpm rising_gpm level_min turn_min most_off_gpm enough_gpm"
    " gap_min longest_gap_min short_gal last_gap_min"
    " at_120_gal at_hour_gal at_overhaul_gal nurse_min"
    " slowest_gpm handled_min most_gal all_gal"
    " needed_gpm line_gpm lay_ft looked_min looked_2_min looked_4_min looked_6_min"
    " first_water_min attack_end_min hour_min overhaul_min end_min line_min dump_site_min",
)


class Times(NamedTuple):
    """The scenario's figures."""

    attack_setup_min: float
    attack_gpm: float
    attack_min: float
    duration_min: float
    overhaul_gpm: float
    overhaul_min: float
    supply_line_min: float
    dump_site_people: int
    dump_site_build_min: float
    next_tank_min: float
    draft_setup_min: float
    shortest_gap_min: float
    nurse_handling_min: float
    dump_handling_min: float
    dump_positions_max: int


class Fixed(NamedTuple):
    """A setting as the kernels take it."""

    tankers: Records
    engines: Records
    sites: Records
    sources: Records
    take_min: Floats
    engine_site_min: Floats
    closes_min: Floats  #: every minute at which a site closes
    times: Times


class Many(NamedTuple):
    """The incidents; fields as in :class:`haulshed.clock.given.Scenes`."""

    tanker_min: Floats
    engine_min: Floats
    loaded_min: Floats
    empty_min: Floats
    by_round: Ints  #: sites, those with the shortest legs both ways first, (P, K, S)
    lay_ft: Floats
    line_gpm: Floats
    pump_off_gpm: Floats
    asked_gpm: Floats
    builds: Flags
    plan_gpm: Floats
    pumper_sites: Ints
    pumper_first: Flags


class Draws(NamedTuple):
    """How incidents turn out, packed; a unit that stays away drives for ever."""

    tankers: Floats  #: factors of turnout and of drive, (D, n, 2)
    engines: Floats  #: (D, m, 2)
    trips: Floats  #: factors of site handling, taking and unload handling, (D, n, T, 3)
    handled: Floats  #: the greatest factor of unload handling of any trip, (D, n)


class Play(NamedTuple):
    """
    Everything about one incident: what is given, and how it stands now.

    Its arrays are made once and used for one incident after another. A list is an array of which
    the scene says how much is in use.
    """

    fixed: Fixed
    many: Many
    draws: Draws
    tankers: Records  #: TANKER, (n,)
    engines: Records  #: ENGINE, (m,)
    routes: Records  #: ROUTE by weight class, the shortest round first, (K, S)
    reached: Ints  #: how many of them there are, (K,)
    sites: Records  #: SITE, (S,)
    sources: Records  #: SOURCE, (W,)
    tanks: Records  #: TANK, the portable tanks in the order in which they stand
    scene: Records  #: SCENE, (1,)
    booked_min: Floats  #: by fill position, (S, most positions)
    units: Ints  #: list: engines, then tankers counted on, in the order of arrival
    comes_min: Floats  #: arrival at the incident of each unit, engines first
    sent: Flags  #: whether an engine is sent to a fill site
    planned: Ints  #: list: sites that the plan uses
    may_plan: Flags  #: of those, whether a tanker can go by the plan now
    touched: Ints  #: list: sites that are no longer as at dispatch
    stirred: Ints  #: list: sites where a position or water may be given out now
    calendar: Floats  #: list: moments that are known from the start, in order; then inf
    agenda_min: Floats  #: list: when tankers end what they do, the next last
    agenda: Ints  #: their rows
    flowing: Ints  #: list: rows of the tankers that unload or pump off
    stamps: Floats  #: moments of each tanker's trip, (n, STAMPS)
    trips: Floats  #: log: tanker, number, site, load, nursed, then the stamps
    levels: Floats  #: log: time, delivered, asked, engine, portable, room, supply, then the sources
    rows: Ints  #: of both logs


@merged
def factor_of(play: Play, row: int, column: int) -> float:
    """Return one of the factors of a tanker's trip."""
    factors, trip = play.draws.trips, play.tankers[row].trip
    if trip >= factors.shape[2]:  # seldom, and % is slow
        trip %= factors.shape[2]
    return float(factors[play.scene[0].draw, row, trip, column])
