"""What posted limits cost at one place: who drives around what, or cannot come at all."""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.ground import Ground
from haulshed.assess.incidents import Incidents
from haulshed.roads.junctions import junctions_of
from haulshed.roads.points import Points
from haulshed.roads.route import ways_from
from haulshed.roads.travel import legs, response

Ints = NDArray[np.int64]

#: A way that is longer by less than this is no detour [min].
_NO_DETOUR_MIN = 1e-6


class Drive(StrEnum):
    """On what drive units meet a posted limit."""

    RESPONSE = "from the station"
    LOADED = "from the fill site, full"
    EMPTY = "to the fill site, empty"


@dataclass(frozen=True, slots=True, kw_only=True)
class PostedTold:
    """A way with a posted limit that stops the units."""

    way_id: int
    name: str
    bridge: bool
    weight_lb: float | None  #: posted; None: none, or none that stops them
    height_ft: float | None
    rated_lb: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Detour:
    """A drive that takes longer by posted limits, or that they leave no way for."""

    units: tuple[str, ...]
    lightest_lb: float  #: of the units, as they drive
    heaviest_lb: float
    highest_ft: float
    drive: Drive
    place_id: str  #: station or fill site
    minutes: float | None  #: as driven, leg_fixed_min in it; None: no way is left
    free_min: float  #: if nothing were posted
    stopped_by: tuple[PostedTold, ...]  #: on the quickest way if nothing were posted


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Trip:
    """A drive of all units of a passage between one place beside the road and the access point."""

    drive: Drive
    passage: int
    units: Ints
    place_id: str
    place: Points
    minutes: float
    free_min: float


def detours(ground: Ground, there: Incidents, in_use: Ints) -> tuple[Detour, ...]:
    """
    Return the detours at an incident at one place.

    Parameters
    ----------
    ground, there
        The district, and the operation at one access point.
    in_use
        Rows of the fill sites whose legs are looked at, those that carry water; the site that would
        be nearest if nothing were posted is looked at too.
    """
    if len(ground.classes.networks) == 1 or not there.access.on_road.all():
        return ()
    trips = (*_responses(ground, there), *_legs(ground, there, in_use))
    longer = (
        trip
        for trip in trips
        if np.isfinite(trip.free_min) and trip.minutes > trip.free_min + _NO_DETOUR_MIN
    )
    return tuple(_detour(ground, there.access, trip) for trip in longer)


def _responses(ground: Ground, there: Incidents) -> Iterator[_Trip]:
    units, classes, rules = ground.assignment, ground.classes, ground.inputs.scenario.roads
    ids = ground.inputs.stations["station_id"].to_numpy()
    free_min, _ = response(ground.network, rules, ground.station_points, there.access)
    for passage in np.unique(classes.full[units.called]).tolist():
        network = classes.networks[passage]
        own_min, _ = response(network, rules, ground.station_points, there.access)
        own = units.called & (classes.full == passage)
        for row in np.unique(units.station[own]).tolist():
            yield _Trip(
                drive=Drive.RESPONSE,
                passage=passage,
                units=np.flatnonzero(own & (units.station == row)),
                place_id=str(ids[row]),
                place=ground.station_points.take(np.array([row])),
                minutes=float(own_min[row, 0]),
                free_min=float(free_min[row, 0]),
            )


def _legs(ground: Ground, there: Incidents, in_use: Ints) -> Iterator[_Trip]:
    units, classes, rules = ground.assignment, ground.classes, ground.inputs.scenario.roads
    ids = ground.inputs.fill_sites["site_id"].to_numpy()
    free = legs(ground.network, rules, ground.site_points, there.access)
    both_min = np.where(ground.site_serves, (free.loaded_min + free.empty_min)[:, 0], np.inf)
    looked_at = set(in_use.tolist())
    if np.isfinite(both_min).any():
        looked_at.add(int(both_min.argmin()))
    tankers = np.flatnonzero(units.is_tanker)
    for drive, passage_of in ((Drive.LOADED, classes.full), (Drive.EMPTY, classes.empty)):
        coming = tankers[units.called[tankers]]
        for passage in np.unique(passage_of[coming]).tolist():
            own = legs(classes.networks[passage], rules, ground.site_points, there.access)
            for row in sorted(looked_at):
                loaded = drive is Drive.LOADED
                minutes = (own.loaded_min if loaded else own.empty_min)[row, 0]
                free_min = (free.loaded_min if loaded else free.empty_min)[row, 0]
                yield _Trip(
                    drive=drive,
                    passage=passage,
                    units=coming[passage_of[coming] == passage],
                    place_id=str(ids[row]),
                    place=ground.site_points.take(np.array([row])),
                    minutes=float(minutes),
                    free_min=float(free_min),
                )


def _detour(ground: Ground, access: Points, trip: _Trip) -> Detour:
    weights, empty = ground.classes.weights, trip.drive is Drive.EMPTY
    weight_lb = (weights.empty_lb if empty else weights.full_lb)[trip.units]
    start, end = (access, trip.place) if empty else (trip.place, access)
    way = ways_from(ground.network, start, junctions_of(ground.network)).way(end)
    driven = np.zeros(0, np.int64) if way is None else way.segments
    met = driven[ground.classes.stopped[trip.passage][driven]]
    segments = ground.network.segments
    first = segments.iloc[met].drop_duplicates("way_id").index.to_numpy()
    return Detour(
        units=tuple(ground.assignment.units["unit_id"].to_numpy()[trip.units].tolist()),
        lightest_lb=float(weight_lb.min()),
        heaviest_lb=float(weight_lb.max()),
        highest_ft=float(weights.height_ft[trip.units].max()),
        drive=trip.drive,
        place_id=trip.place_id,
        minutes=trip.minutes if np.isfinite(trip.minutes) else None,
        free_min=trip.free_min,
        stopped_by=tuple(_posted(ground, trip, int(row)) for row in first),
    )


def _posted(ground: Ground, trip: _Trip, row: int) -> PostedTold:
    """Return the way of a segment, with the limits on it that stop the lightest of the units."""
    weights, limits = ground.classes.weights, ground.classes.limits
    full = weights.full_lb[trip.units].min()
    drives_lb = weights.empty_lb[trip.units].min() if trip.drive is Drive.EMPTY else full
    segment = ground.network.segments.iloc[row]

    def if_below(limit: float, figure: float) -> float | None:
        return float(limit) if limit < figure else None

    return PostedTold(
        way_id=int(segment["way_id"]),
        name=str(segment["name"]),
        bridge=bool(segment["bridge"]),
        weight_lb=if_below(limits.weight_lb[row], drives_lb),
        height_ft=if_below(limits.height_ft[row], weights.height_ft[trip.units].min()),
        rated_lb=if_below(limits.rated_lb[row], full),
    )
