"""How far an incident is played: until all that is asked for is sure."""

import numpy as np

from haulshed.clock.start import TOLD_MIN
from haulshed.clock.state import (
    COMING,
    HANDLES,
    IN_USE,
    OUT,
    SAME_MIN,
    TAKES,
    Play,
    Record,
)
from haulshed.shuttle.kernel import Floats, merged

# How far an incident is played.
TO_END = 0  #: of overhaul
TO_FLOW = 1  #: until the flow of the last hour is sure, or above the lowest that matter
TO_VERDICT = 2  #: until it is sure whether the needed flow is held
TO_FIGURES = 3  #: until all figures that are heard are sure

#: So much more than is asked for must be there that rounding does not matter [gal].
_SPARE_GAL = 1.0


@merged
def foresee(play: Play) -> None:
    """Note what holds of all tankers that may unload, on any of their trips."""
    scene = play.scene[0]
    scene.slowest_gpm, scene.handled_min = np.inf, 0.0
    scene.most_gal, scene.all_gal = 0.0, 0.0
    for row in range(play.tankers.size):
        tanker = play.tankers[row]
        if tanker.does == OUT or tanker.unload_gpm <= 0:
            continue
        handled_min = play.fixed.times.dump_handling_min * play.draws.handled[scene.draw, row]
        stays_min = handled_min + tanker.load_gal / tanker.unload_gpm
        scene.slowest_gpm = min(scene.slowest_gpm, tanker.load_gal / stays_min)
        scene.handled_min = max(scene.handled_min, handled_min)
        scene.most_gal = max(scene.most_gal, tanker.load_gal)
        scene.all_gal += tanker.load_gal


@merged
def _here_gal(play: Play) -> float:
    """Return the water in the tankers that queue for the dump site or unload there."""
    here_gal, scene, tankers = 0.0, play.scene[0], play.tankers
    row = scene.first
    while row >= 0:
        here_gal += tankers[row].left_gal if tankers[row].unload_gpm > 0 else 0.0
        row = tankers[row].after
    for rank in range(scene.flowing):
        here_gal += tankers[play.flowing[rank]].left_gal
    return here_gal


@merged
def _sure_gal(play: Play, needs_gal: float) -> float:
    """
    Return how much of what is asked for arrives without a gap for sure, whoever comes.

    At least it is what the portable tanks hold. For more, see that as long as so many dump
    positions are taken that there even the slowest tankers unload what is asked for, the portable
    tanks fall no farther than by what is asked for in the longest handling. Where fewer are taken
    nobody waits, and the water that has come is in the portable tanks and in those fewer tankers.
    So the portable tanks hold water until all that comes, less what those few may carry and what is
    asked for in the longest handling, has been asked for. It comes with the tankers that are there,
    those on their way to the incident and those that take water: nothing keeps them any more.

    Where it is less than `needs_gal`, it may be more than is returned.
    """
    scene, tankers = play.scene[0], play.tankers
    pumps = scene.dump_site == IN_USE and scene.pumping < 0 and scene.line_gpm >= scene.asked_gpm
    if not pumps or scene.fails:
        return 0.0
    lacks_gal = scene.engine_full_gal - scene.engine_gal
    sure_gal = max(scene.portable_gal - lacks_gal - _SPARE_GAL, 0.0)
    positions = np.ceil(scene.asked_gpm / scene.slowest_gpm)
    bridge_gal = scene.asked_gpm * scene.handled_min
    helps = positions <= scene.tanks and sure_gal > bridge_gal
    if not helps or sure_gal >= needs_gal or sure_gal + scene.all_gal < needs_gal:
        return float(sure_gal)
    has_gal = sure_gal + _here_gal(play) - bridge_gal
    has_gal -= max(positions - 1, 0.0) * scene.most_gal
    for at in range(scene.due - 1, -1, -1):
        tanker, comes_min = tankers[play.agenda[at]], play.agenda_min[at] - scene.now_min
        if tanker.does == TAKES:
            comes_min += tanker.loaded_min
        elif tanker.does == HANDLES:
            comes_min = 0.0
        elif tanker.does != COMING:
            continue
        if tanker.unload_gpm > 0 and scene.asked_gpm * comes_min <= has_gal:
            has_gal += tanker.left_gal
    return float(max(sure_gal, has_gal))


@merged
def _short_of_enough_gal(scene: Record) -> float:
    """Return by how much the last hour's water is not yet above the lowest that are kept."""
    enough_gal = scene.enough_gpm * (scene.overhaul_min - scene.hour_min)
    return float(enough_gal - (scene.delivered_gal - scene.at_hour_gal))


@merged
def _are_others_known(scene: Record) -> bool:
    """Say whether the figures are known that do not end with overhaul."""
    nurses = scene.nurse_min <= scene.now_min or scene.most_off_gpm <= 0
    return bool(nurses and scene.now_min >= TOLD_MIN - SAME_MIN)


@merged
def is_sure(play: Play, until: int) -> bool:
    """Say whether all that is asked for is sure before the play is over; note the water then."""
    scene = play.scene[0]
    if until == TO_END or scene.level_min < max(scene.now_min, scene.hour_min - SAME_MIN):
        return False
    if until == TO_VERDICT and scene.last_gap_min > scene.hour_min + SAME_MIN:
        return True
    if until == TO_FIGURES and not _are_others_known(scene):
        return False
    if scene.now_min >= scene.overhaul_min - SAME_MIN:
        return bool(until == TO_FIGURES)
    wants_gal = scene.asked_gpm * (scene.overhaul_min - scene.now_min)
    needs_gal = min(wants_gal, _short_of_enough_gal(scene)) if until == TO_FLOW else wants_gal
    sure_gal = min(_sure_gal(play, needs_gal), wants_gal)
    scene.at_overhaul_gal = scene.delivered_gal + sure_gal
    return bool(sure_gal >= needs_gal)


@merged
def is_hopeless(play: Play) -> bool:
    """Say whether the needed flow cannot be held, whoever comes: nothing supplies as much."""
    scene = play.scene[0]
    most_gpm = max(scene.most_off_gpm, scene.line_gpm if scene.builds else 0.0)
    lacks_gpm = scene.needed_gpm - most_gpm
    gap_min = scene.overhaul_min - scene.hour_min - play.fixed.times.shortest_gap_min
    return bool(lacks_gpm > 0 and lacks_gpm * gap_min > scene.engine_full_gal + _SPARE_GAL)


@merged
def keep_lowest(lowest: Floats, value: float) -> None:
    """Put a value among the lowest, in order, if it belongs there."""
    at = lowest.size - 1
    if value >= lowest[at]:
        return
    while at > 0 and lowest[at - 1] > value:
        lowest[at] = lowest[at - 1]
        at -= 1
    lowest[at] = value
