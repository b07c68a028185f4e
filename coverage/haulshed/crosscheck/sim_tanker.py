"""One tanker of the simulation: what it does, and the trips that it made."""

from enum import Enum, auto
from math import nan

import simpy

from haulshed.crosscheck.incident import Tanker, Trip


class Doing(Enum):
    """What a tanker does."""

    COMING = auto()
    QUEUED = auto()  #: at the incident
    COUPLING = auto()
    COUPLED = auto()
    PUMPING = auto()
    HANDLING_DUMP = auto()
    UNLOADING = auto()
    DRIVING_EMPTY = auto()
    AT_SITE = auto()  #: in the site's queue
    HANDLING_FILL = auto()
    READY = auto()  #: for water
    TAKING = auto()
    DRIVING_LOADED = auto()
    TURNED_BACK = auto()  #: the site was closed
    STAYING = auto()  #: no site is left
    DOWN = auto()


class Crew:
    """A tanker on its way round."""

    def __init__(self, row: int, tanker: Tanker) -> None:
        self.row, self.tanker = row, tanker
        self.doing = Doing.COMING
        self.process: simpy.Process | None = None
        self.since_min = nan  #: when it came to where it waits
        self.aboard_gal = 0.0
        self.trips: list[Trip] = []

    @property
    def trip(self) -> Trip:
        """The trip that it is on."""
        return self.trips[-1]

    @property
    def handling_factor(self) -> float:
        """Factor of handling at the site on this trip."""
        return self.tanker.handling_factor[self.trip.number % len(self.tanker.handling_factor)]

    @property
    def taking_factor(self) -> float:
        """Factor of taking water on this trip."""
        return self.tanker.taking_factor[self.trip.number % len(self.tanker.taking_factor)]

    @property
    def unload_factor(self) -> float:
        """Factor of coupling and of handling at a dump position on this trip."""
        return self.tanker.unload_factor[self.trip.number % len(self.tanker.unload_factor)]

    def join_queue(self, now: float) -> None:
        """Stop at the incident with a load."""
        if not self.trips:
            self.trips.append(Trip(tanker=self.row, number=0))
            self.trip.load_gal = self.aboard_gal = self.tanker.load_gal
        self.trip.back_min = self.since_min = now
        self.doing = Doing.QUEUED

    def sent_back(self) -> None:
        """Go back to the queue, with the time of arrival that it had."""
        self.since_min, self.trip.called_min = self.trip.back_min, nan

    def coupled(self, now: float) -> None:
        """Be ready at an inlet."""
        self.doing, self.since_min = Doing.COUPLED, now

    def begin_unloading(self, now: float, *, nursed: int) -> None:
        """Open the valve, or pump off."""
        self.doing = Doing.PUMPING if nursed else Doing.UNLOADING
        self.trip.unloads_min, self.trip.nursed = now, nursed

    def emptied(self, now: float) -> None:
        """Be empty."""
        self.trip.empty_min, self.aboard_gal = now, 0.0

    def leave(self, now: float, site: int) -> None:
        """Leave the incident for a site."""
        self.trips.append(Trip(tanker=self.row, number=len(self.trips), site=site))
        self.trip.leaves_min = now
