"""One parcel's incident as the clock plays it, with the names that its story is told by."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.answers import judged
from haulshed.assess.chosen import only
from haulshed.assess.clocked import told
from haulshed.assess.model import work_out
from haulshed.assess.working import Working
from haulshed.case import Inputs, Progress
from haulshed.clock.story import Story
from haulshed.tables.answers import Verdict

Floats = NDArray[np.float64]

#: A source that falls by less than this share is not spoken of.
_LEAST_DRAWN = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceLevel:
    """A source that holds so much and no more, and how its level falls."""

    name: str
    level_gal: Floats  #: at the moments of the story


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BuildUp:
    """One incident and the names in it."""

    parcel_id: str
    verdict: Verdict
    needed_gpm: float  #: nan: nothing is needed, and the sustained flow is asked for
    story: Story
    tankers: tuple[str, ...]  #: unit ids, by row of the story's trips
    sites: tuple[str, ...]  #: fill sites, by row
    sources: tuple[SourceLevel, ...]  #: those that are drawn down, the lowest first

    def as_dict(self) -> dict[str, object]:
        """Return all of it as plain values; what did not happen is None."""
        return {name: _plain(value) for name, value in asdict(self).items()}


def build_up(inputs: Inputs, parcel_id: str, *, progress: Progress) -> BuildUp:
    """
    Return the incident at one parcel.

    Raises
    ------
    InputError
        If there is no such parcel.
    NetworkError
        If no road is open to tankers.
    """
    working = work_out(only(inputs, [parcel_id]), progress=progress)
    story = told(working, 0)
    ground = working.ground
    units = ground.assignment
    ids = units.units["unit_id"].to_numpy()
    return BuildUp(
        parcel_id=parcel_id,
        verdict=Verdict(judged(working)[0][0]),
        needed_gpm=float(working.need.needed_gpm[0]),
        story=story,
        tankers=tuple(map(str, ids[units.is_tanker])),
        sites=tuple(map(str, ground.inputs.fill_sites["site_id"])),
        sources=_sources(working, story),
    )


def _sources(working: Working, story: Story) -> tuple[SourceLevel, ...]:
    """Return the sources whose level falls, the one that falls lowest first."""
    level_gal = story.levels.source_gal
    if not len(level_gal):
        return ()
    names = np.unique(working.ground.sites["source_id"].astype(str))
    limited = np.isfinite(level_gal[0]) & (level_gal[0] > 0)
    least_gal = level_gal.min(axis=0)
    left = np.divide(least_gal, level_gal[0], out=np.ones_like(least_gal), where=limited)
    falls = left < 1 - _LEAST_DRAWN
    order = [at for at in np.argsort(left, kind="stable") if falls[at]]
    return tuple(SourceLevel(name=str(names[at]), level_gal=level_gal[:, at]) for at in order)


def _plain(value: object) -> object:
    if isinstance(value, np.ndarray):
        return _plain(value.tolist())
    if isinstance(value, Mapping):
        return {str(name): _plain(one) for name, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(one) for one in value]
    return None if isinstance(value, float) and not np.isfinite(value) else value
