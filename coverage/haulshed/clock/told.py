"""One incident, played and written down whole."""

import numpy as np

from haulshed.clock.batch import WHOLE, Heard, Kept, kept_of, nothing_heard, play_some
from haulshed.clock.given import Luck, Scenes
from haulshed.clock.setting import Setting, draws_of, fixed_of, many_of
from haulshed.clock.state import (
    NO_GAP_GPM,
    OF_LEVELS,
    OF_TRIP,
    OUT,
    SAME_MIN,
    STAMPS,
    TAKING,
    Record,
)
from haulshed.clock.story import (
    Asked,
    AskedBand,
    Gap,
    Ledger,
    Levels,
    Story,
    Supply,
    SupplyBand,
    Trips,
)
from haulshed.shuttle.kernel import Flags, Floats, Ints

#: Rows of the logs at first.
_ROWS = 2048


def tell(setting: Setting, scenes: Scenes, luck: Luck, *, place: int, draw: int = 0) -> Story:
    """Return the story of the incident at one place, in one draw."""
    given = (
        fixed_of(setting),
        many_of(scenes.at(np.array([place]))),
        draws_of(luck.at(np.array([draw]))),
    )
    sources, wanted = setting.water.source_gpm.size, np.ones(1, np.bool_)
    heard, rows = nothing_heard(1, 1), _ROWS
    while True:
        kept = kept_of(rows, tankers=setting.tankers.load_gal.size, sources=sources)
        play_some(given, wanted, (0, 1), heard, kept, WHOLE)
        if kept.rows.max() <= rows:
            break
        rows = int(kept.rows.max())
    played = not np.isnan(heard.first_water_min[0, 0])
    return _story(setting, kept, heard) if played else _nothing(setting)


def _story(setting: Setting, kept: Kept, heard: Heard) -> Story:
    scene, rows = kept.scene[0], kept.rows
    levels = _levels(kept.logs[1][: rows[1]])
    trips = kept.logs[0][: rows[0]]
    told = {
        name: float(values[0, 0])
        for name, values in heard._asdict().items()
        if not name.startswith("looked")
    }
    return Story(
        asked=_asked(setting, scene),
        supply=_supply(kept.logs[1][: rows[1]], float(scene["first_water_min"])),
        gaps=_gaps(levels),
        trips=_trips(trips),
        levels=levels,
        ledger=_ledger(kept, trips),
        end_min=float(scene["end_min"]),
        **told,
    )


def _nothing(setting: Setting) -> Story:
    """Return the story of an incident to which no engine comes."""
    empty = np.empty(0)
    sources = setting.water.source_gpm.size
    return Story(
        asked=(),
        supply=(),
        gaps=(),
        trips=_trips(np.empty((0, OF_TRIP + STAMPS))),
        levels=Levels(
            time_min=empty,
            delivered_gal=empty,
            asked_gal=empty,
            engine_tank_gal=empty,
            portable_gal=empty,
            portable_room_gal=empty,
            source_gal=np.empty((0, sources)),
        ),
        ledger=Ledger(
            brought_gal=0.0,
            taken_gal=0.0,
            delivered_gal=0.0,
            in_tankers_gal=0.0,
            in_engine_gal=0.0,
            in_portable_gal=0.0,
            lost_gal=0.0,
        ),
        first_water_min=np.nan,
        nurse_min=np.nan,
        dump_site_min=np.nan,
        held_from_min=np.nan,
        longest_gap_min=np.nan,
        short_gal=0.0,
        delivered_120_gal=0.0,
        last_hour_gpm=0.0,
        end_min=np.nan,
    )


def _asked(setting: Setting, scene: Record) -> tuple[AskedBand, ...]:
    needed_gpm, rules = float(scene["needed_gpm"]), setting.rules
    moments = [
        float(scene[f"{name}_min"]) for name in ("first_water", "attack_end", "overhaul", "end")
    ]
    flows_gpm = [
        min(rules.attack_gpm, needed_gpm),
        needed_gpm,
        min(rules.overhaul_gpm, needed_gpm),
    ]
    return tuple(
        AskedBand(asked=asked, gpm=gpm, from_min=from_min, to_min=to_min)
        for asked, gpm, from_min, to_min in zip(
            Asked, flows_gpm, moments[:-1], moments[1:], strict=True
        )
        if to_min > from_min
    )


def _runs(values: Ints | Flags) -> list[tuple[int, int]]:
    """Return first and last + 1 of every run of the same value."""
    edges = np.flatnonzero(np.diff(values)) + 1
    return list(zip([0, *edges], [*edges, len(values)], strict=True)) if len(values) else []


def _supply(levels: Floats, first_min: float) -> tuple[SupplyBand, ...]:
    """Return by what the fire was supplied, from the first water on."""
    steps = np.flatnonzero((np.diff(levels[:, 0]) > 0) & (levels[:-1, 0] >= first_min - SAME_MIN))
    codes = levels[steps, 6].astype(np.int64)
    kinds = list(Supply)
    return tuple(
        SupplyBand(
            supply=kinds[codes[start]],
            from_min=float(levels[steps[start], 0]),
            to_min=float(levels[steps[stop - 1] + 1, 0]),
        )
        for start, stop in _runs(codes)
    )


def _gaps(levels: Levels) -> tuple[Gap, ...]:
    """Return every span in which less arrives than is asked for."""
    lacks_gal = np.diff(levels.asked_gal) - np.diff(levels.delivered_gal)
    minutes = np.diff(levels.time_min)
    steps = np.flatnonzero(minutes > 0)
    short = lacks_gal[steps] > NO_GAP_GPM * minutes[steps]
    return tuple(
        Gap(
            from_min=float(levels.time_min[steps[start]]),
            to_min=float(levels.time_min[steps[stop - 1] + 1]),
            short_gal=float(lacks_gal[steps[start] : steps[stop - 1] + 1].sum()),
        )
        for start, stop in _runs(short)
        if short[start]
    )


def _trips(rows: Floats) -> Trips:
    ordered = rows[np.lexsort((rows[:, 1], rows[:, 0]))]
    moments = ordered[:, OF_TRIP:]
    names = (
        *("leaves_min", "at_site_min", "position_min", "takes_min", "full_min"),
        *("back_min", "called_min", "unloads_min", "empty_min"),
    )
    return Trips(
        tanker=ordered[:, 0].astype(np.int64),
        number=ordered[:, 1].astype(np.int64),
        site=ordered[:, 2].astype(np.int64),
        load_gal=ordered[:, 3],
        nursed=ordered[:, 4].astype(np.int64),
        **{name: moments[:, column] for column, name in enumerate(names)},
    )


def _levels(rows: Floats) -> Levels:
    return Levels(
        time_min=rows[:, 0],
        delivered_gal=rows[:, 1],
        asked_gal=rows[:, 2],
        engine_tank_gal=rows[:, 3],
        portable_gal=rows[:, 4],
        portable_room_gal=rows[:, 5],
        source_gal=rows[:, OF_LEVELS:],
    )


def _ledger(kept: Kept, trips: Floats) -> Ledger:
    tankers, scene = kept.tankers, kept.scene[0]
    took = ~np.isnan(trips[:, OF_TRIP + TAKING])
    out, comes = tankers["does"] == OUT, np.isfinite(tankers["arrival_min"])
    return Ledger(
        brought_gal=float(tankers["load_gal"][comes].sum() + scene["engine_full_gal"]),
        taken_gal=float(trips[took, 3].sum()),
        delivered_gal=float(scene["delivered_gal"]),
        in_tankers_gal=float(tankers["left_gal"][~out].sum()),
        in_engine_gal=float(scene["engine_gal"]),
        in_portable_gal=float(scene["portable_gal"]),
        lost_gal=float(tankers["left_gal"][out].sum()),
    )
