"""How far an incident is played: until all that is asked for is sure."""

from haulshed.clock.state import IN_USE, SAME_MIN, UNLOADS, Play, Record
from haulshed.shuttle.kernel import Floats, merged

# How far an incident is played.
TO_END = 0  #: of overhaul
TO_FLOW = 1  #: until the flow of the last hour is sure, or is not among the lowest that are kept
TO_VERDICT = 2  #: until it is sure whether the needed flow is held

#: So much more than is asked for must be there that rounding does not matter [gal].
_SPARE_GAL = 1.0


@merged
def _lasts(play: Play) -> bool:
    """
    Say whether what is asked for arrives until overhaul, whoever comes.

    So it does where the portable tanks and the tankers that unload have it all, and what the attack
    engine's tank lacks. Of these tankers only those count that each unload what is asked for: as
    long as one of them does, the portable tanks do not fall short.
    """
    scene = play.scene[0]
    lasts_min = scene.overhaul_min - scene.now_min
    wants_gal = scene.asked_gpm * lasts_min + scene.engine_full_gal - scene.engine_gal
    has_gal = scene.portable_gal - _SPARE_GAL
    for rank in range(scene.flowing):
        tanker = play.tankers[play.flowing[rank]]
        if tanker.does == UNLOADS and tanker.unload_gpm >= scene.asked_gpm:
            has_gal += tanker.left_gal
    pumps = scene.dump_site == IN_USE and scene.pumping < 0 and scene.line_gpm >= scene.asked_gpm
    return bool(pumps and has_gal > wants_gal and not scene.fails)


@merged
def _is_enough(scene: Record) -> bool:
    """Say whether the flow of the last hour is above the lowest that are kept."""
    enough_gal = scene.enough_gpm * (scene.overhaul_min - scene.hour_min)
    return bool(scene.delivered_gal - scene.at_hour_gal >= enough_gal)


@merged
def is_sure(play: Play, until: int) -> bool:
    """Say whether all that is asked for is sure before the play is over; note the water then."""
    scene = play.scene[0]
    if until == TO_END or scene.level_min < max(scene.now_min, scene.hour_min - SAME_MIN):
        return False
    if until == TO_VERDICT and scene.last_gap_min > scene.hour_min + SAME_MIN:
        return True
    scene.at_overhaul_gal = scene.delivered_gal
    if until == TO_FLOW and _is_enough(scene):
        return True
    if scene.now_min >= scene.overhaul_min - SAME_MIN or not _lasts(play):
        return False
    scene.at_overhaul_gal += scene.asked_gpm * (scene.overhaul_min - scene.now_min)
    return True


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
