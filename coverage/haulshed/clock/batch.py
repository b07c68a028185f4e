"""All incidents of a district in one compiled run, several cores at once."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from haulshed.clock.given import Luck, Scenes
from haulshed.clock.place import room_for, set_place
from haulshed.clock.play import play_out
from haulshed.clock.setting import Setting, draws_of, fixed_of, many_of
from haulshed.clock.state import (
    OF_LEVELS,
    OF_TRIP,
    SAME_MIN,
    SCENE,
    STAMPS,
    TANKER,
    Draws,
    Fixed,
    Many,
    Play,
    Record,
    Records,
)
from haulshed.clock.sure import TO_END, TO_FLOW, keep_lowest
from haulshed.cores import shared_out
from haulshed.shuttle.kernel import Flags, Floats, Ints, compiled_free, inner

#: Plays that a core does between two reports of progress.
_PLAYS_AT_ONCE = 1000

#: A flow this little under the flow asked for lacks no more than last bits [gpm].
_NO_LESS_GPM = 1e-9

#: How far incidents are played, and which of the lowest flows of the last hour is kept.
WHOLE = TO_END, 0


class Heard(NamedTuple):
    """What is kept of each play, (P, D); NaN where there was none, 0 for gallons and flows."""

    first_water_min: Floats
    nurse_min: Floats
    dump_site_min: Floats
    held_from_min: Floats
    longest_gap_min: Floats
    short_gal: Floats
    delivered_120_gal: Floats
    last_hour_gpm: Floats
    looked_min: Floats  #: no site with longer legs, both ways, was in question
    looked_2_min: Floats  #: nor any with longer legs than this that takes 2 min or more
    looked_4_min: Floats  #: … 4 min
    looked_6_min: Floats  #: … 6 min


@inner
def _held_from(scene: Record) -> float:
    """Return from when on the needed flow was held, the last hour at least; NaN: it was not."""
    held_min = max(scene.attack_end_min, scene.last_gap_min)
    return np.nan if held_min > scene.hour_min + SAME_MIN else float(held_min)


@inner
def _hear(scene: Record, heard: Heard, place: int, draw: int) -> None:
    """Keep what is kept of a play that has just ended."""
    ready_min = scene.dump_site_min
    heard.first_water_min[place, draw] = scene.first_water_min
    heard.nurse_min[place, draw] = scene.nurse_min
    heard.dump_site_min[place, draw] = ready_min if ready_min < np.inf else np.nan
    heard.held_from_min[place, draw] = _held_from(scene)
    heard.longest_gap_min[place, draw] = scene.longest_gap_min
    heard.short_gal[place, draw] = scene.short_gal
    heard.delivered_120_gal[place, draw] = scene.at_120_gal
    heard.looked_min[place, draw] = scene.looked_min
    heard.looked_2_min[place, draw] = scene.looked_2_min
    heard.looked_4_min[place, draw] = scene.looked_4_min
    heard.looked_6_min[place, draw] = scene.looked_6_min
    hour_gal = scene.at_overhaul_gal - scene.at_hour_gal
    heard.last_hour_gpm[place, draw] = hour_gal / (scene.overhaul_min - scene.hour_min)


class Kept(NamedTuple):
    """What is kept of one play besides: its logs, and how things stand at its end."""

    logs: tuple[Floats, Floats]
    rows: Ints
    tankers: Records
    scene: Records


def kept_of(rows: int, *, tankers: int, sources: int) -> Kept:
    """Return logs with so many rows; without rows nothing is kept."""
    one = min(rows, 1)
    return Kept(
        logs=(np.empty((rows, OF_TRIP + STAMPS)), np.empty((rows, OF_LEVELS + sources))),
        rows=np.zeros(2, np.int64),
        tankers=np.zeros(one * tankers, TANKER),
        scene=np.zeros(one, SCENE),
    )


@inner
def _keep(play: Play, kept: Kept) -> None:
    """Keep how things stand at the end of a play."""
    kept.rows[:] = play.rows
    kept.tankers[:] = play.tankers
    kept.scene[:] = play.scene


@compiled_free
def play_some(
    given: tuple[Fixed, Many, Draws],
    wanted: Flags,
    span: tuple[int, int],
    heard: Heard,
    kept: Kept,
    so_far: tuple[int, int],
) -> None:
    """Play the wanted incidents of the places of a span, every draw of them, `so_far`."""
    fixed, many, draws = given
    until, count = so_far
    play, lowest_gpm = room_for(fixed, many, draws, kept.logs), np.empty(max(count, 1))
    most = draws.tankers.shape[0]
    for place in range(span[0], span[1]):
        if not wanted[place]:
            continue
        set_place(play, many, place)
        lowest_gpm[:], full, asked_gpm = np.inf, 0, many.asked_gpm[place]
        for draw in range(most):
            if until == TO_FLOW and full > most - count:  # so the k-th lowest has all as well
                heard.last_hour_gpm[place, draw:] = asked_gpm
                break
            play.scene[0].enough_gpm = lowest_gpm[-1]
            played = play_out(play, draw, until)
            if played:
                _hear(play.scene[0], heard, place, draw)
            if played and kept.scene.size:
                _keep(play, kept)
            keep_lowest(lowest_gpm, heard.last_hour_gpm[place, draw])
            full += heard.last_hour_gpm[place, draw] >= asked_gpm - _NO_LESS_GPM


def nothing_heard(places: int, draws: int) -> Heard:
    """Return what is kept where no incident was played."""
    of = (places, draws)
    return Heard(
        **{name: np.full(of, np.nan if name.endswith("_min") else 0.0) for name in Heard._fields}
    )


def play_all(
    setting: Setting,
    scenes: Scenes,
    luck: Luck,
    *,
    wanted: Flags,
    so_far: tuple[int, int] = WHOLE,
) -> Heard:
    """
    Play the incidents at all `wanted` places, shape (P,), once for each draw of `luck`.

    No Python runs between two incidents; the cores share the places, and the order in which they do
    changes nothing. `so_far` is how far they are played: ``(TO_FLOW, k)`` tells the k-th lowest
    flow of the last hour at each place, and of the others no more than on which side of it they
    are; ``(TO_VERDICT, …)`` tells whether the needed flow is held; neither tells anything else.
    ``(TO_FIGURES, …)`` tells all; only `looked` figures may be smaller than at the end of overhaul.
    """
    given = fixed_of(setting), many_of(scenes), draws_of(luck)
    nothing = kept_of(0, tankers=0, sources=setting.water.source_gpm.size)
    heard = nothing_heard(wanted.size, luck.tanker_comes.shape[0])

    def some(span: tuple[int, int]) -> None:
        play_some(given, wanted, span, heard, nothing, so_far)

    for _ in shared_out(some, _spans(wanted.size, luck.tanker_comes.shape[0])):
        pass
    return heard


def _spans(places: int, draws: int) -> Iterator[tuple[int, int]]:
    """Yield the places in spans of about as many plays."""
    step = max(_PLAYS_AT_ONCE // max(draws, 1), 1)
    for start in range(0, places, step):
        yield start, min(start + step, places)
