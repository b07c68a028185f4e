r"""Exact mean value analysis of a closed loop: how long tankers wait when times vary.

Like customers go round for ever: some time away that nobody waits for (driving), then stations that
serve a few at a time (fill positions, dump positions), first come first served, each service
exponential and alike for all. Such a network has a product form, so its means are exact [1]_, [2]_.

Filling and dumping times really vary less than exponential ones, so the waits found here are more
than a drill shows, and the waits at constant times fewer: the two hold the truth between them.

References
----------
.. [1] M. Reiser, S. S. Lavenberg, "Mean-value analysis of closed multichain queuing networks",
   *Journal of the ACM* 27 (1980), 313-322 (from memory).
.. [2] M. Reiser, "Mean-value analysis and convolution method for queue-dependent servers in closed
   queueing networks", *Performance Evaluation* 1 (1981), 7-18 (from memory): the chance of an empty
   station from the network without it, which no subtraction spoils.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Stations with several servers, at most: the work doubles with each.
MANY_SERVERS_MAX = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A place that serves some at a time while the others wait."""

    service_min: float  #: mean time that one visit holds a server [min]
    servers: int = 1
    visits: float = 1.0  #: mean visits in one round


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """
    A closed network of like customers.

    Raises
    ------
    ValueError
        If a count or the time away is below 0, a station has no server, no visits or no time, or
        more than :data:`MANY_SERVERS_MAX` stations have several servers.
    """

    customers: int
    away_min: float  #: mean time of a round that nobody waits for (think time) [min]
    stations: tuple[Station, ...]

    def __post_init__(self) -> None:
        """Check signs."""
        if self.customers < 0 or not self.away_min >= 0 or not (self.stations or self.away_min):
            msg = "a loop needs customers and a time away that are not below 0, and a place to go"
            raise ValueError(msg)
        if not all(s.service_min > 0 and s.servers > 0 and s.visits > 0 for s in self.stations):
            msg = "a station needs a service time, servers and visits above 0"
            raise ValueError(msg)
        if sum(one.servers > 1 for one in self.stations) > MANY_SERVERS_MAX:
            msg = f"more than {MANY_SERVERS_MAX} stations have several servers"
            raise ValueError(msg)


@dataclass(frozen=True, slots=True, kw_only=True)
class StationMeans:
    """What holds at a station on average."""

    present: float  #: customers there, waiting or served (L)
    waiting: float  #: customers waiting (Lq)
    time_min: float  #: from arrival to departure, one visit (W) [min]
    wait_min: float  #: before service begins, one visit (Wq) [min]
    busy_share: float  #: of the time that each server works


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopMeans:
    """What holds in the loop on average."""

    rounds_per_min: float  #: of all customers together (X) [1/min]
    round_min: float  #: one customer's round, waits included [min]; nan without customers
    away: float  #: customers away from every station
    stations: tuple[StationMeans, ...]  #: in the order of the loop's


def loop_means(loop: Loop) -> LoopMeans:
    r"""
    Return the exact means of a loop.

    With one customer more, an arrival finds a station as it is on average with one fewer:

    .. math:: W_i(n) = \sum_{j=1}^{n} \frac{j}{\mu_i(j)}\,p_i(j-1 \mid n-1),\quad
              X(n) = \frac{n}{Z + \sum_i v_i W_i(n)},\quad
              p_i(j \mid n) = \frac{v_i X(n)}{\mu_i(j)}\,p_i(j-1 \mid n-1)

    with :math:`\mu_i(j) = \min(j, m_i) / s_i`, and
    :math:`p_i(0 \mid n) = p_i(0 \mid n-1)\,X(n) / X_{-i}(n)` from the network without station i.

    Examples
    --------
    Demands 0.5 and 1.0, 1.0 away, two customers (course notes SENG533): 2 / (1 + 0.6 + 1.4).

    >>> demands = (Station(service_min=0.5), Station(service_min=1.0))
    >>> means = loop_means(Loop(customers=2, away_min=1.0, stations=demands))
    >>> [round(one.time_min, 3) for one in means.stations], round(means.rounds_per_min, 3)
    ([0.6, 1.4], 0.667)
    """
    network = _Network(loop)
    everything = frozenset(range(len(loop.stations)))
    solved = network.solved(everything)
    per_min = float(solved.rounds_per_min[-1]) if loop.customers else 0.0
    means = [
        _station_means(one, per_min, float(solved.time_min[at]))
        for at, one in enumerate(loop.stations)
    ]
    return LoopMeans(
        rounds_per_min=per_min,
        round_min=loop.customers / per_min if loop.customers else np.nan,
        away=per_min * loop.away_min,
        stations=tuple(means),
    )


def _station_means(station: Station, rounds_per_min: float, time_min: float) -> StationMeans:
    """Return a station's means by Little's law from the time that one visit takes."""
    visits_per_min = rounds_per_min * station.visits
    wait_min = max(time_min - station.service_min, 0.0)
    return StationMeans(
        present=visits_per_min * time_min,
        waiting=visits_per_min * wait_min,
        time_min=time_min,
        wait_min=wait_min,
        busy_share=visits_per_min * station.service_min / station.servers,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Solved:
    """A network of some of the stations, with 1 to N customers."""

    rounds_per_min: Floats  #: with n customers at n - 1, (N,)
    time_min: dict[int, float]  #: of one visit to each station, with all N customers


class _Network:
    """The loop's networks with some stations left out, each solved once."""

    def __init__(self, loop: Loop) -> None:
        self._loop = loop
        self._known: dict[frozenset[int], _Solved] = {}

    def solved(self, kept: frozenset[int]) -> _Solved:
        """Return the network of the stations `kept`."""
        if kept not in self._known:
            self._known[kept] = self._solve(kept)
        return self._known[kept]

    def _solve(self, kept: frozenset[int]) -> _Solved:
        queues = {at: self._queue(at, kept) for at in sorted(kept)}
        count = self._loop.customers
        rounds_per_min = np.full(count, np.inf)
        time_min = {at: queue.station.service_min for at, queue in queues.items()}
        for n in range(1, count + 1):
            time_min = {at: queue.time_min() for at, queue in queues.items()}
            round_min = self._loop.away_min + sum(
                queues[at].station.visits * minutes for at, minutes in time_min.items()
            )
            if round_min > 0:  # else nothing is left: whoever leaves a station is back at once
                rounds_per_min[n - 1] = n / round_min
            for queue in queues.values():
                queue.add_customer(n, float(rounds_per_min[n - 1]))
        return _Solved(rounds_per_min=rounds_per_min, time_min=time_min)

    def _queue(self, at: int, kept: frozenset[int]) -> "_Queue":
        station = self._loop.stations[at]
        without = (
            self.solved(kept - {at}).rounds_per_min
            if station.servers > 1
            else np.full(self._loop.customers, np.inf)
        )
        return _Queue(station, without)


class _Queue:
    """What a customer finds at a station: the chance of each number there."""

    def __init__(self, station: Station, without_per_min: Floats) -> None:
        self.station = station
        self._without_per_min = without_per_min  #: rounds of the network without this station
        self._present = 0.0  #: mean number there
        #: Chance of 0, 1, … customers there, as far as there are servers.
        self._chance = np.zeros(min(station.servers, len(without_per_min) + 1))
        self._chance[0] = 1.0

    def time_min(self) -> float:
        """Return the time of a visit for a customer added to those there are."""
        s, m = self.station.service_min, self.station.servers
        idle = float(np.sum((m - 1 - np.arange(len(self._chance))) * self._chance))
        return s / m * (1.0 + self._present + idle)

    def add_customer(self, n: int, rounds_per_min: float) -> None:
        """Take the station on to `n` customers in the network."""
        load = rounds_per_min * self.station.visits * self.station.service_min
        self._present = rounds_per_min * self.station.visits * self.time_min()
        if self.station.servers == 1:
            return
        j = np.arange(1, len(self._chance))
        empty = self._chance[0] * rounds_per_min / self._without_per_min[n - 1]
        self._chance[1:] = load / j * self._chance[:-1]
        self._chance[0] = empty
