"""What a crew needs at one property: the ways, the call, the hose, the dump site, the clock."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from haulshed.assess.answers import answers, first_due, judged, over_test
from haulshed.assess.areas import in_area
from haulshed.assess.call_order import (
    EngineCalled,
    HoseLaid,
    TankerCalled,
    engines_called,
    hose_laid,
    steps,
    tankers_called,
)
from haulshed.assess.chosen import only
from haulshed.assess.clocked import clocked, stories
from haulshed.assess.drives import DumpPlace, SiteDrives, driver, dump_place, site_drives
from haulshed.assess.model import work_out
from haulshed.assess.working import Working
from haulshed.case import Inputs, Progress
from haulshed.clock.story import Gap, Story, Supply
from haulshed.tables.answers import Verdict

#: Fill sites on a sheet.
SITES_SHOWN = 2
#: An attack engine's tank with less in it is empty [gal].
_EMPTY_GAL = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Dry:
    """A source that no longer holds the least load of the tankers that count."""

    source_id: str
    site_ids: tuple[str, ...]  #: fill sites on it
    from_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """One incident by the clock, at constant times; None: it does not happen."""

    asked_gpm: float  #: the needed flow, else the sustained one
    first_water_min: float | None
    nurse_min: float | None  #: the first tanker pumps off
    dump_site_min: float | None  #: the dump site is ready
    held_from_min: float | None
    overhaul_min: float | None  #: the planned duration is over
    gaps: tuple[Gap, ...]  #: that count, before overhaul
    short_gal: float
    own_tank_empty_min: float | None  #: the attack engine's tank runs empty for the first time
    dry: tuple[Dry, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """All that one sheet is written from."""

    parcel_id: str
    answer: dict[str, object]  #: the parcel's row of the answer table; None: empty
    judged_gpm: float  #: by the stage of the verdict, over its test minutes
    planned_min: float  #: duration of every other flow, and of what is asked for by the clock
    shape: shapely.Geometry  #: the parcel [m]
    structure: shapely.Point
    access: shapely.Point | None  #: None: no road is near enough
    sites: tuple[SiteDrives, ...]
    tankers: tuple[TankerCalled, ...]
    engines: tuple[EngineCalled, ...]
    hose: tuple[HoseLaid, ...]
    dump: DumpPlace | None
    played: Played


def sheets(inputs: Inputs, parcel_ids: Sequence[str], *, progress: Progress) -> tuple[Sheet, ...]:
    """
    Return the sheet of each parcel, in the order asked for.

    Raises
    ------
    InputError
        If there is no such parcel; all of those are named, with near ones.
    NetworkError
        If no road is open to tankers.
    """
    working = work_out(only(inputs, parcel_ids), progress=progress)
    table = answers(working, clocked(working, progress=progress))
    return tuple(_sheets(working, table, progress))


def ids_of(
    inputs: Inputs, *, only_short: bool, area: str | None, progress: Progress
) -> tuple[str, ...]:
    """
    Return the ids of the parcels of a kind, in their order.

    Parameters
    ----------
    inputs
        The district.
    only_short
        Those with the verdict short.
    area
        Those in this area, as :func:`haulshed.assess.areas.areas_of` has it; None: in any.
    progress
        Called with each step as it starts.

    Raises
    ------
    InputError
        If there is no such area.
    NetworkError
        If no road is open to tankers.
    """
    working = work_out(inputs, progress=progress)
    chosen = np.ones(len(inputs.parcels), dtype=np.bool_)
    if area is not None:
        chosen &= in_area(inputs, pd.Series(first_due(working)), area)
    if only_short:
        verdicts, _ = judged(working)
        chosen &= np.array([verdict == Verdict.SHORT for verdict in verdicts], dtype=np.bool_)
    return tuple(inputs.parcels["parcel_id"].to_numpy()[chosen].tolist())


def _sheets(working: Working, table: pd.DataFrame, progress: Progress) -> Iterator[Sheet]:
    finds, called = driver(working.ground), steps(working)
    rows = table.astype(object).where(table.notna(), None).to_dict("records")
    points = np.asarray(shapely.points(working.access.points.xy), dtype=object)
    on_road = working.access.points.on_road
    judged_gpm = _judged_gpm(working, table)
    for place, story in enumerate(stories(working, range(len(table)))):
        progress("finding the ways", place, len(table))
        sites = site_drives(finds, working, place, SITES_SHOWN)
        builds = any(band.supply is Supply.DUMP_SITE for band in story.supply)
        yield Sheet(
            parcel_id=str(rows[place]["parcel_id"]),
            answer={str(name): value for name, value in rows[place].items()},
            judged_gpm=float(judged_gpm[place]),
            planned_min=float(working.ground.inputs.scenario.operation.duration_min),
            shape=working.ground.inputs.parcels.geometry.iloc[place],
            structure=working.access.structures[place],
            access=points[place] if on_road[place] else None,
            sites=sites,
            tankers=tankers_called(working, called, place),
            engines=engines_called(working, place, builds=builds),
            hose=hose_laid(working.ground, working.there, place),
            dump=dump_place(finds, working, place, sites),
            played=_played(working, place, story),
        )


def _judged_gpm(working: Working, table: pd.DataFrame) -> NDArray[np.float64]:
    """Return the flow of the stage that the verdict names, over its test minutes; else the most."""
    over, verdict = over_test(working), table["verdict"]
    return np.select(
        [verdict == Verdict.NURSE, verdict == Verdict.DUMP_SITE],
        [over.nurse_gpm, over.dump_site_gpm],
        default=np.maximum(over.nurse_gpm, over.dump_site_gpm),
    )


def _played(working: Working, place: int, story: Story) -> Played:
    needed_gpm = working.need.needed_gpm[place]
    least_min = working.ground.inputs.scenario.clock.shortest_gap_min
    overhaul_min = max((band.from_min for band in story.asked[2:]), default=None)
    end_min = story.end_min if overhaul_min is None else overhaul_min
    return Played(
        asked_gpm=float(working.flows.sustained_gpm[place] if np.isnan(needed_gpm) else needed_gpm),
        first_water_min=_known(story.first_water_min),
        nurse_min=_known(story.nurse_min),
        dump_site_min=_known(story.dump_site_min),
        held_from_min=_known(story.held_from_min),
        overhaul_min=overhaul_min,
        gaps=tuple(
            replace(gap, to_min=min(gap.to_min, end_min))
            for gap in story.gaps
            if gap.to_min - gap.from_min >= least_min and gap.from_min < end_min
        ),
        short_gal=float(story.short_gal),
        own_tank_empty_min=_first(story, story.levels.engine_tank_gal <= _EMPTY_GAL),
        dry=tuple(_dry(working, place, story)),
    )


def _known(minute: float) -> float | None:
    return None if np.isnan(minute) else float(minute)


def _first(story: Story, holds: NDArray[np.bool_]) -> float | None:
    """Return the first moment, from the first water on, at which something holds."""
    time_min = story.levels.time_min
    rows = np.flatnonzero(holds & (time_min >= story.first_water_min))
    return float(time_min[rows[0]]) if rows.size else None


def _dry(working: Working, place: int, story: Story) -> Iterator[Dry]:
    """Yield each source from which tankers take water until it does not hold a load."""
    units, there = working.ground.assignment, working.there
    counted = there.counted[place, units.is_tanker]
    tank_gal = units.tankers("tank_gal")[counted]
    if not tank_gal.size:
        return
    keeps = 1 - working.ground.inputs.scenario.operation.loss_share
    of_site = working.ground.sites["source_id"].to_numpy(dtype=str)
    site_ids = working.ground.inputs.fill_sites["site_id"].to_numpy(dtype=str)
    ids = np.unique(of_site)
    limited = np.isfinite(story.levels.source_gal).all(axis=0)
    for source in np.flatnonzero(limited).tolist():
        held_gal = story.levels.source_gal[:, source]
        minute = _first(story, held_gal < tank_gal.min() * keeps)
        if minute is not None and (np.diff(held_gal) < 0).any():
            on_it = site_ids[of_site == ids[source]].tolist()
            yield Dry(source_id=str(ids[source]), site_ids=tuple(on_it), from_min=minute)
