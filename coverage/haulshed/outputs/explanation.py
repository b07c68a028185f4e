"""One parcel's computation as text, step by step, to be followed with a pencil."""

import textwrap
from collections.abc import Iterator, Sequence

from haulshed.assess.explain import Explanation, SiteTold, UnitTold
from haulshed.assess.stage_told import LimitTold, StageTold, Trip
from haulshed.case import CAUTION

_WIDTH = 98
#: Fill sites listed: the nearest by both legs. All of them are in --json.
_SITES_SHOWN = 8


def explanation_text(told: Explanation) -> str:
    """Return the explanation for a terminal."""
    parts = (
        _answer(told),
        _need(told),
        _units(told.units),
        _line(told),
        _fill_sites(told),
        *(_stage(stage) for stage in told.stages),
        _changes(told),
        textwrap.wrap(CAUTION, _WIDTH),
    )
    return "\n\n".join("\n".join(part) for part in parts)


def _answer(told: Explanation) -> list[str]:
    row = told.answer
    lines = [
        f"Parcel {told.parcel_id}: {row['verdict']}",
        (
            f"  needed {_figure(row['needed_gpm'], 0)} gpm;"
            f" nurse {_figure(row['nurse_gpm'], 1)} gpm,"
            f" dump site {_figure(row['dump_site_gpm'], 1)} gpm;"
            f" sustained {_figure(row['sustained_gpm'], 1)} gpm, limited by: {row['limited_by']}"
        ),
    ]
    if row["hose_site_id"] is not None:
        lines.append(
            f"  hose line from {row['hose_site_id']}: {_figure(row['hose_site_ft'], 0)} ft by road,"
            f" {_figure(row['hose_gpm'], 0)} gpm"
        )
    if row["last_tanker_min"] is not None:
        lines.append(f"  not before minute {_figure(row['last_tanker_min'], 0)} after dispatch")
    return lines


def _need(told: Explanation) -> list[str]:
    row = told.answer
    water = f"{_figure(row['needed_gal'], 0)} gal, " if row["needed_gal"] is not None else ""
    lines = [f"1. Need: {water}{_figure(row['needed_gpm'], 0)} gpm ({row['demand_source']})"]
    need = told.need
    if need.floor_area_ft2 is not None and need.height_ft is not None:
        volume_ft3 = need.floor_area_ft2 * need.height_ft
        exposed = " × 1.5 for the exposure" if need.exposure else ""
        lines += [
            (
                f"   {need.floor_area_ft2:,.0f} ft² × {need.height_ft:g} ft = {volume_ft3:,.0f} ft³;"
                f" / occupancy hazard {need.occupancy_hazard}"
                f" × construction class {need.construction_class:g}{exposed}"
            ),
            "   at least 2,000 gal, 3,000 with an exposure; then the delivery table",
        ]
    if row["test_min"] is not None:
        lines.append(f"   judged over {_figure(row['test_min'], 1)} min")
    return lines


def _units(units: Sequence[UnitTold]) -> list[str]:
    rows = [
        (
            one.unit_id,
            one.kind,
            one.station_id,
            _figure(one.turnout_min, 1),
            _figure(one.arrival_min, 1),
            "yes" if one.counts else "no",
            one.why,
        )
        for one in sorted(units, key=lambda unit: (not unit.counts, unit.arrival_min or 1e9))
    ]
    heads = ("unit", "kind", "station", "turnout", "there", "counts", "because")
    return [
        "2. Who comes [min from dispatch: turnout + drive + fixed part]",
        *_columns(heads, rows),
    ]


def _line(told: Explanation) -> list[str]:
    line = told.line
    if line.loss_psi_at_500_gpm is None:
        return [
            (
                f"3. Supply line: lay {_figure(line.lay_ft, 0)} ft, hose on the engines"
                f" {line.hose_ft:,.0f} ft: it does not reach"
            )
        ]
    return [
        (
            f"3. Supply line: lay {_figure(line.lay_ft, 0)} ft ({told.answer['lay_source']}),"
            f" hose on the engines {line.hose_ft:,.0f} ft"
        ),
        f"   loss at 500 gpm {line.loss_psi_at_500_gpm:.1f} psi (grows as flow squared)",
        (
            f"   pump and line carry {line.dump_site_line_gpm:,.0f} gpm from a dump site"
            f" (bound: {line.dump_site_line_bound})"
        ),
    ]


def _fill_sites(told: Explanation) -> list[str]:
    near = [site for site in told.sites if site.loaded_min is not None]
    near.sort(key=lambda site: (site.loaded_min or 0) + (site.empty_min or 0))
    rows = [_site_row(site) for site in near[:_SITES_SHOWN]]
    heads = ("site", "kind", "miles", "loaded", "empty", "gpm", "gal", "positions", "handling")
    shown = f"the nearest {len(rows)} of {len(told.sites)}" if rows else "none can be reached"
    return [f"4. Fill sites: {shown} [legs and handling in min]", *_columns(heads, rows)]


def _site_row(site: SiteTold) -> tuple[str, ...]:
    return (
        site.site_id,
        site.kind + (" (engine drafts)" if site.needs_pumper else ""),
        _figure(site.loaded_miles, 2),
        _figure(site.loaded_min, 2),
        _figure(site.empty_min, 2),
        _figure(site.rate_gpm, 0),
        "no limit" if site.volume_gal is None else _figure(site.volume_gal, 0),
        str(site.fill_positions),
        _figure(site.handling_min, 1),
    )


def _stage(stage: StageTold) -> list[str]:
    name = "5. Nurse operation" if stage.stage == "nurse" else "6. Dump site"
    if not stage.trips:
        return [f"{name}: 0 gpm"]
    return [
        f"{name}: {stage.flow_gpm:,.1f} gpm",
        f"   unloading: {stage.unloading}",
        "   round trip = fill + legs + unloading; gpm = usable load / round trip × share of time",
        *_columns(
            ("unit", "site", "load gal", "fill", "legs", "unload", "trip", "share", "gpm"),
            [_trip_row(trip) for trip in stage.trips],
        ),
        "   limits that are priced: more of them is more flow; price × limit adds up to the flow",
        *_columns(
            ("limit", "counts as", "at most", "in use", "gpm for one more", "owed gpm"),
            list(_limit_rows(stage.limits)),
        ),
    ]


def _trip_row(trip: Trip) -> tuple[str, ...]:
    minutes = (trip.fill_min, trip.legs_min, trip.unload_min, trip.round_trip_min)
    return (
        trip.unit_id,
        trip.site_id,
        _figure(trip.usable_gal, 0),
        *(_figure(one, 2) for one in minutes),
        f"{trip.share:.3f}",
        _figure(trip.gpm, 1),
    )


def _limit_rows(limits: Sequence[LimitTold]) -> Iterator[tuple[str, ...]]:
    for one in sorted(limits, key=lambda limit: -limit.owed_gpm):
        if one.owed_gpm > 0:
            yield (
                one.what,
                one.group,
                f"{one.limit:,.2f}",
                f"{one.use:,.2f}",
                _figure(one.price_gpm, 3),
                _figure(one.owed_gpm, 1),
            )


def _changes(told: Explanation) -> list[str]:
    rows = [
        (
            change.what,
            _figure(change.nurse_gpm, 0),
            _figure(change.dump_site_gpm, 0),
            f"{change.gain_gpm:+,.0f}",
        )
        for change in told.changes
    ]
    heads = ("change", "nurse gpm", "dump site gpm", "gain gpm")
    return ["7. What a change would bring, each solved anew", *_columns(heads, rows)]


def _figure(value: object, digits: int) -> str:
    return f"{value:,.{digits}f}" if isinstance(value, int | float) else "none"


def _columns(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows under their heads; columns of figures are set right."""
    widths = [max(len(row[at]) for row in (heads, *rows)) for at in range(len(heads))]
    right = [all(row[at][:1] in "+-0123456789" for row in rows) for at in range(len(heads))]

    def line(cells: Sequence[str]) -> str:
        parts = [
            cell.rjust(width) if to_right else cell.ljust(width)
            for cell, width, to_right in zip(cells, widths, right, strict=True)
        ]
        return ("   " + "  ".join(parts)).rstrip()

    return [line(heads), *(line(row) for row in rows)] if rows else []
