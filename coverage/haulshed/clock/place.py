"""Room for plays, made once, and what all plays at one place have in common."""

import numpy as np

from haulshed.clock.start import restore
from haulshed.clock.state import OUT, ROUTE, SCENE, STAMPS, TANK, Draws, Fixed, Many, Play
from haulshed.shuttle.kernel import Floats, inner, merged

#: Moments that are known from the start, besides those of tanks, sites and tankers.
_DAYS = 6


@inner
def room_for(fixed: Fixed, many: Many, draws: Draws, logs: tuple[Floats, Floats]) -> Play:
    """Return room for one play at a time, with all sites as at dispatch."""
    tankers, engines, sites = fixed.tankers.size, fixed.engines.size, fixed.sites.size
    units, classes = tankers + engines, many.empty_min.shape[1]
    most = max(fixed.sites["positions"].max() if sites else 1, 1)
    play = Play(
        fixed,
        many,
        draws,
        fixed.tankers.copy(),
        fixed.engines.copy(),
        np.empty((classes, sites), ROUTE),
        np.zeros(classes, np.int64),
        fixed.sites.copy(),
        fixed.sources.copy(),
        np.zeros(units, TANK),
        np.zeros(1, SCENE),
        np.zeros((sites, most)),
        np.zeros(units, np.int64),
        np.full(units, np.inf),
        np.zeros(engines, np.bool_),
        np.zeros(sites, np.int64),
        np.zeros(sites, np.bool_),
        np.zeros(sites, np.int64),
        np.zeros(sites, np.int64),
        np.empty(_DAYS + units + tankers + 2 * sites + 1),
        np.empty(tankers + 1),
        np.zeros(tankers + 1, np.int64),
        np.zeros(tankers, np.int64),
        np.empty((tankers, STAMPS)),
        logs[0],
        logs[1],
        np.zeros(2, np.int64),
    )
    for at in range(sites):
        restore(play, at)
    _set_tankers(play)
    return play


@merged
def _set_tankers(play: Play) -> None:
    """Note whether anything fails, and the least time that each tanker is at any site."""
    scene = play.scene[0]
    scene.fails = play.fixed.closes_min.size > 0
    for row in range(play.tankers.size):
        tanker = play.tankers[row]
        scene.fails |= tanker.down_min < np.inf
        tanker.least_min = np.inf
        for at in range(play.sites.size):
            at_site_min = play.sites[at].handling_min + play.fixed.take_min[row, at]
            tanker.least_min = min(tanker.least_min, at_site_min)


@merged
def _set_units(play: Play) -> None:
    """List the units counted on; the others do not play."""
    scene, engines = play.scene[0], play.engines.size
    scene.units = 0
    for row in range(engines):
        play.engines[row].arrival_min = np.inf
        if play.many.engine_min[scene.place, row] < np.inf:
            play.units[scene.units] = row
            scene.units += 1
    for row in range(play.tankers.size):
        tanker = play.tankers[row]
        tanker.off_gpm = play.many.pump_off_gpm[scene.place, row]
        tanker.does, tanker.arrival_min, tanker.left_gal = OUT, np.inf, 0.0
        tanker.trip, tanker.site, tanker.nursed, tanker.rate_gpm = 0, -1, -1, 0.0
        if play.many.tanker_min[scene.place, row] < np.inf:
            play.units[scene.units] = engines + row
            scene.units += 1


@merged
def _set_plan(play: Play) -> None:
    """List the sites that the plan uses."""
    scene = play.scene[0]
    scene.planned = 0
    for at in range(play.sites.size):
        play.sites[at].plan_gpm = play.many.plan_gpm[scene.place, at]
        if play.sites[at].plan_gpm > 0:
            play.planned[scene.planned] = at
            scene.planned += 1


@merged
def _set_routes(play: Play, of_class: int) -> None:
    """List the sites that tankers of a weight class drive to and from, the shortest round first."""
    place, reached = play.scene[0].place, 0
    for at in play.many.by_round[place, of_class]:
        empty_min = play.many.empty_min[place, of_class, at]
        loaded_min = play.many.loaded_min[place, of_class, at]
        usable = play.sites[at].open and play.sites[at].positions >= 1
        if usable and empty_min + loaded_min < np.inf:
            route = play.routes[of_class, reached]
            route.site, route.empty_min, route.loaded_min = at, empty_min, loaded_min
            reached += 1
    play.reached[of_class] = reached


@inner
def set_place(play: Play, many: Many, place: int) -> None:
    """Set the scene at a place."""
    scene = play.scene[0]
    scene.place = place
    scene.needed_gpm, scene.line_gpm = many.asked_gpm[place], many.line_gpm[place]
    scene.lay_ft = many.lay_ft[place]
    scene.builds, scene.pumper_first = many.builds[place], many.pumper_first[place]
    _set_units(play)
    _set_plan(play)
    for of_class in range(play.reached.size):
        _set_routes(play, of_class)
