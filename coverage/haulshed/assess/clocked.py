"""The clock at every parcel: the incident as planned, and as it turns out when times vary."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.clock_case import asking, scenes_of, setting_of
from haulshed.assess.ground import Ground
from haulshed.assess.remembered import Played, Remembered
from haulshed.assess.working import Working
from haulshed.case import Memory, NoMemory, Progress
from haulshed.clock.basis import Basis, looked
from haulshed.clock.batch import Heard, nothing_heard, play_all
from haulshed.clock.chance import drawn
from haulshed.clock.given import Luck, Scenes
from haulshed.clock.setting import Setting
from haulshed.clock.story import Story
from haulshed.clock.sure import TO_FIGURES, TO_FLOW, TO_VERDICT
from haulshed.clock.told import tell

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Plays, and parcels at most, between two reports of progress.
_PLAYS_AT_ONCE = 25_000
_PLACES_AT_ONCE = 4_000
#: The flow that is held in this share of the incidents.
HELD_SHARE = 0.9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Clocked:
    """What the clock says of each parcel, shape (P,); where nothing is played, NaN, of flows 0."""

    as_needed: Heard  #: the needed flow is asked for, shape (P, 1)
    as_sustained: Heard  #: the sustained flow is asked for
    held_90_gpm: Floats  #: flow of the last hour that 9 incidents in 10 hold
    held_share: Floats  #: share of the incidents in which the needed flow is held


def clocked(working: Working, *, progress: Progress, memory: Memory | None = None) -> Clocked:
    """
    Play the incident at every parcel: for its need, for its sustained flow, and by chance.

    What `memory` has of earlier runs is not played again; None: nothing is remembered.
    """
    needed_gpm, sustained_gpm = working.need.needed_gpm, working.flows.sustained_gpm
    on_road = working.there.access.on_road
    scenes = scenes_of(working, needed_gpm)
    as_needed = _Asked("the need", scenes, on_road & ~np.isnan(needed_gpm))
    as_sustained = _Asked(
        "the sustained flow",
        asking(working, scenes, sustained_gpm),
        on_road & (sustained_gpm > 0),
    )
    plays, luck = (
        _Plays(setting_of(working.ground), memory or NoMemory(), progress),
        _luck(working.ground),
    )
    return Clocked(
        as_needed=plays.once(as_needed),
        as_sustained=plays.once(as_sustained),
        held_90_gpm=plays.often(as_sustained, luck, _HELD_90),
        held_share=plays.often(as_needed, luck, _HELD_SHARE),
    )


@dataclass(frozen=True, slots=True)
class _Asked:
    """Incidents with one flow asked for, of which some are wanted."""

    flow: str  #: in words
    scenes: Scenes
    wanted: Bools


@dataclass(frozen=True, slots=True)
class _Kept:
    """What is kept of an incident, played or drawn."""

    until: int  #: how far it is played
    hear: Callable[[Heard], Floats]  #: of so many incidents, (·, figures)
    unheard: tuple[float, ...]  #: the figures where none is wanted


@dataclass(frozen=True, slots=True)
class _Plays:
    """Plays the incidents that are not remembered."""

    setting: Setting
    memory: Memory
    progress: Progress

    def once(self, asked: _Asked) -> Heard:
        """Return how the incidents go as planned, shape (P, 1)."""
        tankers, engines = self.setting.tankers.load_gal.size, self.setting.engines.tank_gal.size
        step = f"playing the incidents: {asked.flow} asked for"
        figures = self._all(step, asked, Luck.constant(tankers, engines), _WHOLE)
        return Heard(*figures.T[:, :, None])

    def often(self, asked: _Asked, luck: Luck | None, kept: _Kept) -> Floats:
        """Return what is kept of the incidents drawn, (P,); NaN where none are to be drawn."""
        if luck is None:
            return np.full(asked.wanted.size, np.nan)
        return self._all(f"drawing incidents: {asked.flow} asked for", asked, luck, kept)[:, 0]

    def _all(self, step: str, asked: _Asked, luck: Luck, kept: _Kept) -> Floats:
        """Return what is kept of each incident, (P, figures)."""
        places = asked.wanted.size
        figures = np.tile(kept.unheard, (places, 1))
        known = Remembered(self.memory, step, Basis(self.setting, luck), figures=figures.shape[1])

        def played(scenes: Scenes) -> Played:
            everywhere = np.ones(scenes.lay_ft.size, np.bool_)
            so_far = kept.until, rank_of(len(luck.tanker_comes)) + 1
            heard = play_all(self.setting, scenes, luck, wanted=everywhere, so_far=so_far)
            return kept.hear(heard), looked(heard)

        at_once = min(_PLACES_AT_ONCE, max(_PLAYS_AT_ONCE // len(luck.tanker_comes), 1))
        for start in range(0, places, at_once):
            self.progress(step, start, places)
            at = start + np.flatnonzero(asked.wanted[start : start + at_once])
            if at.size:
                figures[at] = known.of(asked.scenes.at(at), played)
        if known.taken:
            self.progress(f"{step}, {known.taken:,} of {asked.wanted.sum():,} from the cache")
        return figures


def stories(working: Working, places: Iterable[int]) -> Iterator[Story]:
    """Yield the story of the incident at each place: for its need, else its sustained flow."""
    needed_gpm = working.need.needed_gpm
    asked_gpm = np.where(np.isnan(needed_gpm), working.flows.sustained_gpm, needed_gpm)
    setting, scenes = setting_of(working.ground), scenes_of(working, asked_gpm)
    sure = Luck.constant(setting.tankers.load_gal.size, setting.engines.tank_gal.size)
    for place in places:
        yield tell(setting, scenes, sure, place=place)


def told(working: Working, place: int) -> Story:
    """Return the story of the incident at one place, as :func:`stories` does."""
    return next(stories(working, [place]))


def _luck(ground: Ground) -> Luck | None:
    """Return the incidents drawn; None where none are asked for."""
    units, rules = ground.assignment, ground.inputs.scenario.chance
    if rules.draws == 0:
        return None
    ids, staffed = units.units["unit_id"].to_numpy(), units.numbers("staffed_share")
    return drawn(
        rules,
        tankers=ids[units.is_tanker].tolist(),
        engines=ids[units.is_engine].tolist(),
        staffed=[*staffed[units.is_tanker], *staffed[units.is_engine]],
    )


def rank_of(draws: int) -> int:
    """
    Return which of the sorted flows at least 9 draws in 10 hold.

    Examples
    --------
    >>> [rank_of(draws) for draws in (1, 10, 50, 59)]
    [0, 1, 5, 5]
    """
    return draws - int(np.ceil(HELD_SHARE * draws - 1e-9))


def _whole(heard: Heard) -> Floats:
    """Return all that is heard of incidents played once, a column a figure."""
    return np.concatenate(heard, axis=1)


def _held_90(heard: Heard) -> Floats:
    """Return the flow that the last hour holds in 9 incidents in 10, (P, 1)."""
    flow_gpm = np.sort(heard.last_hour_gpm, axis=1)
    rank = rank_of(flow_gpm.shape[1])
    return flow_gpm[:, rank : rank + 1]


def _held_share(heard: Heard) -> Floats:
    """Return the share of incidents in which the needed flow is held, (P, 1)."""
    held = ~np.isnan(heard.held_from_min)
    return np.asarray(held.mean(axis=1, keepdims=True))


_WHOLE = _Kept(TO_FIGURES, _whole, tuple(_whole(nothing_heard(1, 1))[0].tolist()))
_HELD_90 = _Kept(TO_FLOW, _held_90, (0.0,))
_HELD_SHARE = _Kept(TO_VERDICT, _held_share, (np.nan,))
