"""The clock at every parcel: the incident as planned, and as it turns out when times vary."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.clock_case import scenes_of, setting_of
from haulshed.assess.ground import Ground
from haulshed.assess.working import Working
from haulshed.case import Progress
from haulshed.clock.batch import Heard, last_hours_gpm, needs_held, play_all
from haulshed.clock.chance import drawn
from haulshed.clock.given import Luck, Scenes
from haulshed.clock.setting import Setting
from haulshed.clock.story import Story
from haulshed.clock.told import tell

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Parcels whose incidents are drawn together, between two reports of progress.
_PLACES_AT_ONCE = 500
#: The flow that is held in this share of the incidents.
HELD_SHARE = 0.9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Clocked:
    """What the clock says of each parcel, shape (P,); NaN where nothing is played."""

    as_needed: Heard  #: the needed flow is asked for, shape (P, 1)
    as_sustained: Heard  #: the sustained flow is asked for
    held_90_gpm: Floats  #: flow of the last hour that 9 incidents in 10 hold
    held_share: Floats  #: share of the incidents in which the needed flow is held


def clocked(working: Working, *, progress: Progress) -> Clocked:
    """Play the incident at every parcel: for its need, for its sustained flow, and by chance."""
    ground, held = working.ground, working.flows
    setting, luck = setting_of(ground), _luck(ground)
    needed_gpm, sustained_gpm = working.need.needed_gpm, held.sustained_gpm
    on_road = working.there.access.on_road
    asks, holds = on_road & ~np.isnan(needed_gpm), on_road & (sustained_gpm > 0)
    as_asked, as_held = scenes_of(working, needed_gpm), scenes_of(working, sustained_gpm)
    sure = Luck.constant(setting.tankers.load_gal.size, setting.engines.tank_gal.size)
    progress("playing the incidents")
    held_90_gpm, held_share = np.full(len(needed_gpm), np.nan), np.full(len(needed_gpm), np.nan)
    if luck is not None:
        for start in range(0, len(needed_gpm), _PLACES_AT_ONCE):
            progress("drawing incidents", start, len(needed_gpm))
            at = np.arange(start, min(start + _PLACES_AT_ONCE, len(needed_gpm)))
            held_90_gpm[at] = _held_90(setting, as_held.at(at), luck, holds[at])
            held_share[at] = _held_share(setting, as_asked.at(at), luck, asks[at])
    return Clocked(
        as_needed=play_all(setting, as_asked, sure, wanted=asks),
        as_sustained=play_all(setting, as_held, sure, wanted=holds),
        held_90_gpm=held_90_gpm,
        held_share=held_share,
    )


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


def _held_90(setting: Setting, scenes: Scenes, luck: Luck, wanted: Bools) -> Floats:
    """Return the flow that the last hour holds in 9 incidents in 10, 0 where none is played."""
    flow_gpm = np.sort(last_hours_gpm(setting, scenes, luck, wanted=wanted), axis=1)
    return flow_gpm[:, rank_of(flow_gpm.shape[1])]


def rank_of(draws: int) -> int:
    """
    Return which of the sorted flows at least 9 draws in 10 hold.

    Examples
    --------
    >>> [rank_of(draws) for draws in (1, 10, 50, 59)]
    [0, 1, 5, 5]
    """
    return draws - int(np.ceil(HELD_SHARE * draws - 1e-9))


def _held_share(setting: Setting, scenes: Scenes, luck: Luck, wanted: Bools) -> Floats:
    """Return the share of incidents in which the needed flow is held; NaN where none is played."""
    held = needs_held(setting, scenes, luck, wanted=wanted)
    return np.where(wanted, held.mean(axis=1), np.nan)
