"""One parcel's computation as text, step by step, to be followed with a pencil."""

import math
import textwrap
from collections.abc import Iterator, Sequence

from haulshed.assess.detours import Detour, PostedTold
from haulshed.assess.explain import Explanation, LegsTold, SiteTold, UnitTold
from haulshed.assess.stage_told import LimitTold, StageTold, Trip
from haulshed.case import CAUTION
from haulshed.hydraulics.line_point import PSI_PER_FT
from haulshed.outputs.delivery_text import delivery_text
from haulshed.outputs.explained_answer import answer_lines, figure_text
from haulshed.outputs.hose_text import hose_text
from haulshed.scenario import Operation, Scenario
from haulshed.shuttle import Stage
from haulshed.tables.answers import RiseSource

_WIDTH = 98
#: Fill sites listed: those in use, then the nearest by both legs. All of them are in --json.
_SITES_SHOWN = 8
#: Drives around posted limits listed; all of them are in --json.
_DETOURS_SHOWN = 8
_STAGE_NAMES = {Stage.NURSE: "Nurse operation", Stage.DUMP_SITE: "Dump site"}
#: What the engines do that cannot draft at a fill site.
_ENGINES_BOUND = {
    Stage.NURSE: (1, "1 attacks"),
    Stage.DUMP_SITE: (2, "1 attacks, 1 drafts at the dump site"),
}


def explanation_text(told: Explanation) -> str:
    """Return the explanation for a terminal."""
    steps = (
        _need(told),
        _units(told.units),
        _line(told),
        _fill_sites(told),
        *([_posted_limits(told.detours)] if told.detours else []),
        *([list(hose_text(told.hose, _scenario(told).supply_line))] if told.hose else []),
        *_stages(told),
        _changes(told),
    )
    numbered = [[f"{number}. {head}", *rest] for number, (head, *rest) in enumerate(steps, 1)]
    parts = (answer_lines(told), *numbered, textwrap.wrap(CAUTION, _WIDTH))
    return "\n\n".join("\n".join(part) for part in parts)


def _scenario(told: Explanation) -> Scenario:
    return Scenario.model_validate(told.scenario)


def _need(told: Explanation) -> list[str]:
    row = told.answer
    water = f"{figure_text(row['needed_gal'], 0)} gal, " if row["needed_gal"] is not None else ""
    lines = [f"Need: {water}{figure_text(row['needed_gpm'], 0)} gpm ({row['demand_source']})"]
    need = told.need
    if need.floor_area_ft2 is not None and need.height_ft is not None:
        volume_ft3 = need.floor_area_ft2 * need.height_ft
        exposed = " × 1.5 for the exposure" if need.exposure else ""
        lines += [
            (
                f"   {need.floor_area_ft2:,.0f} ft² × {need.height_ft:g} ft"
                f" = {volume_ft3:,.0f} ft³; / occupancy hazard {need.occupancy_hazard}"
                f" × construction class {need.construction_class:g}{exposed}"
            ),
            *_prose(delivery_text()),
        ]
    if row["building_columns"] is not None:
        lines += _prose(f"by the footprints of buildings: {row['building_columns']}")
    if row["test_min"] is not None:
        lines.append(f"   judged over {figure_text(row['test_min'], 1)} min")
    return lines


def _units(units: Sequence[UnitTold]) -> list[str]:
    rows = [
        (
            one.unit_id,
            one.kind,
            one.station_id,
            figure_text(one.turnout_min, 1),
            figure_text(one.arrival_min, 1),
            "yes" if one.counts else "no",
            one.why,
        )
        for one in sorted(units, key=lambda unit: (not unit.counts, unit.arrival_min or 1e9))
    ]
    heads = ("unit", "kind", "station", "turnout", "there", "counts", "because")
    return [
        "Who comes [min from dispatch: turnout + drive + fixed part]",
        *_columns(heads, rows),
    ]


def _line(told: Explanation) -> list[str]:
    line = told.line
    if line.lay_ft is None:
        return ["Supply line: no road to lay it from"]
    if line.loss_psi_at_500_gpm is None:
        return [
            (
                f"Supply line: lay {line.lay_ft:,.0f} ft, hose on the engines"
                f" {line.hose_ft:,.0f} ft: it does not reach"
            )
        ]
    return [
        (
            f"Supply line: lay {line.lay_ft:,.0f} ft ({told.answer['lay_source']}),"
            f" hose on the engines {line.hose_ft:,.0f} ft"
        ),
        *_rise(told),
        f"   loss at 500 gpm {line.loss_psi_at_500_gpm:.1f} psi (grows as flow squared)",
        (
            f"   pump and line carry {line.dump_site_line_gpm:,.0f} gpm from a dump site"
            f" (bound: {line.dump_site_line_bound})"
        ),
    ]


def _rise(told: Explanation) -> list[str]:
    line = told.line
    ends = (
        ("access point", line.access_ground_ft),
        ("structure", line.structure_ground_ft),
    )
    levels = ", ".join(f"{name} {level:,.0f} ft" for name, level in ends if level is not None)
    known = f"ground levels: {levels}" if levels else "no ground level known"
    source = "" if line.rise_source == RiseSource.DEM else "; the scenario's rise"
    supply_line = _scenario(told).supply_line
    shut_psi = supply_line.discharge_psi - PSI_PER_FT * line.rise_ft
    lines = _prose(
        f"rises {line.rise_ft:,.0f} ft: {PSI_PER_FT * line.rise_ft:+,.1f} psi ({known}{source})"
    )
    if shut_psi > supply_line.discharge_psi:
        lines += _prose(
            f"shut at the structure and pumped at {supply_line.discharge_psi:g} psi it stands at"
            f" {shut_psi:,.0f} psi there: throttle"
        )
    return lines


def _fill_sites(told: Explanation) -> list[str]:
    uses = _uses(told)
    near = [site for site in told.sites if site.loaded_min is not None or site.site_id in uses]
    near.sort(
        key=lambda site: (site.site_id not in uses, (site.loaded_min or 0) + (site.empty_min or 0))
    )
    shown = near[: max(_SITES_SHOWN, len(uses))]
    if not shown:
        return [f"Fill sites: none of {len(told.sites)} can be reached"]
    heads = ("site", "kind", "miles", "loaded", "empty", "gpm", "gal", "positions", "handling")
    in_use = [f"{site_id}: {', '.join(what)}" for site_id, what in uses.items()]
    return [
        (
            f"Fill sites: those in use and the nearest, {len(shown)} of {len(told.sites)}"
            " [legs and handling in min]"
        ),
        *_columns(heads, [row for site in shown for row in _site_rows(site)]),
        *_prose(f"in use: {'; '.join(in_use) or 'none'}"),
    ]


def _uses(told: Explanation) -> dict[str, list[str]]:
    """Return what each fill site in use is used for."""
    uses: dict[str, list[str]] = {}
    hose = told.answer["hose_site_id"]
    pairs = [(trip.site_id, stage.stage) for stage in told.stages for trip in stage.trips]
    if hose is not None:
        pairs.insert(0, (str(hose), "hose line"))
    for site_id, use in dict.fromkeys(pairs):
        uses.setdefault(site_id, []).append(use.replace("_", " "))
    return uses


def _site_rows(site: SiteTold) -> Iterator[tuple[str, ...]]:
    """Yield a site with its shortest legs, then the legs of tankers that must drive others."""
    first, *others = site.legs
    yield (
        site.site_id,
        site.kind.replace("_", " ") + (", engine drafts" if site.needs_pumper else ""),
        *_leg_cells(first),
        figure_text(site.rate_gpm, 0),
        "no limit" if site.volume_gal is None else figure_text(site.volume_gal, 0),
        str(site.fill_positions),
        figure_text(site.handling_min, 1),
    )
    for legs in others:
        if _leg_cells(legs) != _leg_cells(first):
            more = f" and {len(legs.units) - 1} more" if len(legs.units) > 1 else ""
            yield ("", f"  for {legs.units[0]}{more}", *_leg_cells(legs), *[""] * 4)


def _leg_cells(legs: LegsTold) -> tuple[str, ...]:
    minutes = (figure_text(one, 2) for one in (legs.loaded_min, legs.empty_min))
    return (figure_text(legs.loaded_miles, 2), *minutes)


def _posted_limits(detours: Sequence[Detour]) -> list[str]:
    """Return who drives around what; the longest detours first, and first of all who is stopped."""
    order = sorted(
        detours, key=lambda one: (one.minutes is not None, one.free_min - (one.minutes or 0))
    )
    lines = [line for one in order[:_DETOURS_SHOWN] for line in _prose(_detour(one))]
    count = f", {len(lines)} of {len(order)} drives" if len(order) > _DETOURS_SHOWN else ""
    return [f"Posted limits on the way [min, fixed part included]{count}", *lines]


def _detour(one: Detour) -> str:
    place = one.drive.replace("the station", one.place_id).replace("the fill site", one.place_id)
    took = "no way" if one.minutes is None else f"{one.minutes:.1f} min"
    ways = "; ".join(_posted(way) for way in one.stopped_by)
    least = f"{one.lightest_lb:,.0f} to " if one.lightest_lb < one.heaviest_lb else ""
    return (
        f"{', '.join(one.units)} ({least}{one.heaviest_lb:,.0f} lb) {place}: {took} instead of"
        f" {one.free_min:.1f} min by {ways}"
    )


def _posted(way: PostedTold) -> str:
    kind = "bridge" if way.bridge else "road"
    limits = [
        *([] if way.weight_lb is None else [f"{way.weight_lb:,.0f} lb"]),
        *([] if way.height_ft is None else [f"{way.height_ft:.1f} ft high"]),
        *([] if way.rated_lb is None else [f"rated {way.rated_lb:,.0f} lb"]),
    ]
    name = f"{way.name}, " if way.name else ""
    return f"{name}{kind}, way {way.way_id}, posted {' and '.join(limits)}"


def _stages(told: Explanation) -> Iterator[list[str]]:
    """Give each stage; one that a shorter time leaves as it is stands once, with both times."""
    times: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for stage in told.stages:
        body = [*_engines(told, stage), *(_workings(told, stage) if stage.trips else ())]
        key = (f"{stage.flow_gpm:,.1f} gpm", (stage.stage, *body))
        times.setdefault(key, []).append(f"{stage.over_min:,.1f}")
    for (flow, (name, *body)), over in times.items():
        yield [f"{_STAGE_NAMES[Stage(name)]}, over {' and '.join(over)} min: {flow}", *body]


def _engines(told: Explanation, stage: StageTold) -> list[str]:
    """Return how many engines count, and how many are left to draft at fill sites."""
    count = sum(unit.counts for unit in told.units if unit.kind == "engine")
    bound, what = _ENGINES_BOUND[Stage(stage.stage)]
    if count < bound:
        return _prose(f"engines: {count} in time, {bound} needed at the incident")
    drafts = {site.site_id for site in told.sites if site.needs_pumper}
    used = sorted(drafts & {trip.site_id for trip in stage.trips})
    which = f", in use at {', '.join(used)}" if used else ", none in use"
    return _prose(f"engines: {count} in time; {what}, {count - bound} left for fill sites{which}")


def _workings(told: Explanation, stage: StageTold) -> list[str]:
    owed = sorted(stage.owed_gpm.items(), key=lambda pair: -pair[1])
    groups = ", ".join(f"{group} {figure_text(gpm, 1)}" for group, gpm in owed if gpm > 0)
    idle = "; ".join(f"{one.unit_id}: {one.why}" for one in stage.idle)
    driving_min = sum(trip.share * trip.legs_min for trip in stage.trips)
    all_min = sum(trip.share * trip.round_trip_min for trip in stage.trips)
    return [
        *_prose(f"unloading: {stage.unloading}"),
        "   round trip = fill + legs + unloading; gpm = usable load / round trip × share of time",
        *_columns(
            ("unit", "site", "load gal", "fill", "legs", "unload", "trip", "share", "gpm"),
            [_trip_row(trip) for trip in stage.trips],
        ),
        *(_prose(f"in time and not in it: {idle}") if idle else ()),
        *_first_trip(told, stage.trips[0], Stage(stage.stage)),
        "   limits that are priced: more of them is more flow; price × limit adds up to the flow",
        *_columns(
            ("limit", "counts as", "at most", "in use", "gpm for one more", "owed gpm"),
            list(_limit_rows(stage.limits)),
        ),
        *_prose(f"owed to [gpm]: {groups}"),
        f"   driving takes {100 * driving_min / all_min:.0f} % of the round trips",
    ]


def _first_trip(told: Explanation, trip: Trip, stage: Stage) -> list[str]:
    """Write one trip out, so that the other lines can be followed in the same way."""
    operation = _scenario(told).operation
    site = next(site for site in told.sites if site.site_id == trip.site_id)
    loaded, empty = figure_text(trip.loaded_min, 2), figure_text(trip.empty_min, 2)
    tank_gal = trip.usable_gal / (1 - operation.loss_share)
    fill_gpm = tank_gal / (trip.fill_min - site.handling_min)
    whose = "the site's" if math.isclose(fill_gpm, site.rate_gpm) else "the tanker's own"
    fill, legs, unload = (f"{m:.2f}" for m in (trip.fill_min, trip.legs_min, trip.unload_min))
    load, round_trip = f"{trip.usable_gal:,.0f}", f"{trip.round_trip_min:.2f}"
    steps = (
        ("load", f"{tank_gal:,.0f} × {1 - operation.loss_share:g} = {load} gal"),
        (
            "fill",
            f"{site.handling_min:g} + {tank_gal:,.0f} / {fill_gpm:,.0f}, {whose} rate = {fill} min",
        ),
        ("legs", f"{loaded} + {empty} = {legs} min"),
        ("unload", f"{_unloading(operation, trip, stage)} = {unload} min"),
        ("round trip", f"{fill} + {legs} + {unload} = {round_trip} min"),
        ("flow", f"{load} / {round_trip} × {trip.share:.3f} = {trip.gpm:,.1f} gpm"),
    )
    return [
        f"   {trip.unit_id} over {trip.site_id} written out, figures rounded:",
        *(f"     {name:<10}  {sum_}" for name, sum_ in steps),
    ]


def _unloading(operation: Operation, trip: Trip, stage: Stage) -> str:
    nurse = stage is Stage.NURSE
    handling_min = operation.nurse_handling_min if nurse else operation.dump_handling_min
    rate_gpm = trip.usable_gal / (trip.unload_min - handling_min)
    return f"{handling_min:g} + {trip.usable_gal:,.0f} / {rate_gpm:,.1f}"


def _trip_row(trip: Trip) -> tuple[str, ...]:
    minutes = (trip.fill_min, trip.legs_min, trip.unload_min, trip.round_trip_min)
    return (
        trip.unit_id,
        trip.site_id,
        figure_text(trip.usable_gal, 0),
        *(figure_text(one, 2) for one in minutes),
        f"{trip.share:.3f}",
        figure_text(trip.gpm, 1),
    )


def _limit_rows(limits: Sequence[LimitTold]) -> Iterator[tuple[str, ...]]:
    for one in sorted(limits, key=lambda limit: -limit.owed_gpm):
        if one.owed_gpm > 0:
            yield (
                one.what,
                one.group,
                f"{one.limit:,.2f}",
                f"{one.use:,.2f}",
                figure_text(one.price_gpm, 3),
                figure_text(one.owed_gpm, 1),
            )


def _changes(told: Explanation) -> list[str]:
    rows = [
        (
            change.what,
            figure_text(change.nurse_gpm, 0),
            figure_text(change.dump_site_gpm, 0),
            f"{change.gain_gpm:+,.0f}",
        )
        for change in told.changes
    ]
    if not rows:
        return ["What a change would bring: not tried, no unit in time and no site in use"]
    heads = ("change", "nurse gpm", "dump site gpm", "gain gpm")
    return ["What a change would bring, each solved anew", *_columns(heads, rows)]


def _prose(text: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent="   ", subsequent_indent="     ")


def _columns(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows under their heads; columns of figures are set right."""
    widths = [max(len(row[at]) for row in (heads, *rows)) for at in range(len(heads))]
    right = [
        all(row[at] == "none" or row[at][:1] in "+-0123456789" for row in rows)
        for at in range(len(heads))
    ]

    def line(cells: Sequence[str]) -> str:
        parts = [
            cell.rjust(width) if to_right else cell.ljust(width)
            for cell, width, to_right in zip(cells, widths, right, strict=True)
        ]
        return ("   " + "  ".join(parts)).rstrip()

    return [line(heads), *(line(row) for row in rows)] if rows else []
