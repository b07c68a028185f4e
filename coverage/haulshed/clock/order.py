"""What stands in order: the agenda of the tankers, and their queues.

A queue is a chain through `after`: by the time since which each stands in it, ties by row. A tanker
stands in one queue at most: at the incident, at a fill site, or for the water of a source.
"""

from haulshed.clock.state import Play, Records
from haulshed.shuttle.kernel import Ints, merged


@merged
def expect(play: Play, row: int, due_min: float) -> None:
    """Write into the agenda when a tanker ends what it does now."""
    at, scene = play.scene[0].due, play.scene[0]
    while at > 0 and play.agenda_min[at - 1] < due_min:
        play.agenda_min[at], play.agenda[at] = play.agenda_min[at - 1], play.agenda[at - 1]
        at -= 1
    play.agenda_min[at], play.agenda[at] = due_min, row
    scene.due += 1


@merged
def forget(play: Play, row: int) -> None:
    """Strike a tanker from the agenda, if it stands there."""
    at, scene = play.scene[0].due - 1, play.scene[0]
    while at >= 0 and play.agenda[at] != row:
        at -= 1
    if at < 0:
        return
    scene.due -= 1
    while at < scene.due:
        play.agenda_min[at], play.agenda[at] = play.agenda_min[at + 1], play.agenda[at + 1]
        at += 1


@merged
def queued(tankers: Records, first: int, row: int) -> int:
    """Let a tanker join the queue that begins with `first`, -1: nobody; return who is first now."""
    before, at, since_min = -1, first, tankers[row].since_min
    while at >= 0:
        other_min = tankers[at].since_min
        if other_min > since_min or (other_min == since_min and at > row):
            break
        before, at = at, tankers[at].after
    tankers[row].after = at
    if before < 0:
        return row
    tankers[before].after = row
    return first


@merged
def unqueued(tankers: Records, first: int, row: int) -> int:
    """Let a tanker leave its queue; return who is first now."""
    if first == row:
        return int(tankers[row].after)
    before = first
    while tankers[before].after != row:
        before = tankers[before].after
    tankers[before].after = tankers[row].after
    return first


@merged
def listed(rows: Ints, count: int, row: int) -> int:
    """Put a row into a list in order; return how many there are now."""
    at = count
    while at > 0 and rows[at - 1] > row:
        rows[at] = rows[at - 1]
        at -= 1
    rows[at] = row
    return count + 1


@merged
def unlisted(rows: Ints, count: int, row: int) -> int:
    """Take a row out of a list; return how many there are now."""
    kept = 0
    for at in range(count):
        if rows[at] != row:
            rows[kept] = rows[at]
            kept += 1
    return kept


@merged
def stir(play: Play, at: int) -> None:
    """Note that at a site a position or water may be given out."""
    site, scene = play.sites[at], play.scene[0]
    if not site.stirred:
        site.stirred = 1
        play.stirred[scene.stirred] = at
        scene.stirred += 1


@merged
def touch(play: Play, at: int) -> None:
    """Note that a site is no longer as at dispatch."""
    site, scene = play.sites[at], play.scene[0]
    if not site.touched:
        site.touched = 1
        play.touched[scene.touched] = at
        scene.touched += 1
