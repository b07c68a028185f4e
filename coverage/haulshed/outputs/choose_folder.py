"""The folder of a choice: the ladder, the plans, the candidates, the map and the pictures."""

from collections.abc import Mapping
from dataclasses import asdict, fields
from pathlib import Path

import geopandas as gpd
import pandas as pd
from shapely import Point

from haulshed.case import Progress, Provenance
from haulshed.options.choose import Choice, Step
from haulshed.options.compare import Comparison
from haulshed.options.option import Option
from haulshed.options.robust import Robustness
from haulshed.options.sensitivity import Assumption
from haulshed.outputs.compare_folder import bars, states
from haulshed.outputs.csv_table import write_csv
from haulshed.outputs.folder import MAP_FILE, SUMMARY_FILE, write_records, written_whole
from haulshed.outputs.geopackage import write_layers
from haulshed.outputs.ladder_curve import ladder_curve
from haulshed.outputs.map_page import map_html
from haulshed.outputs.measures import converted
from haulshed.outputs.plan_picture import plan_picture
from haulshed.outputs.qgis_style import parcels_style
from haulshed.outputs.staging import RUN_FILE
from haulshed.units import System

LADDER_FILE, OPTIONS_FILE, PARCELS_FILE = "ladder.csv", "options.csv", "plan_parcels.csv"
CURVE_FILE, PICTURE_FILE, BARS_FILE = "ladder.svg", "plan.svg", "verdicts.svg"
LAYERS_FILE = "plan.gpkg"

_NAMES = frozenset(
    (
        LADDER_FILE,
        OPTIONS_FILE,
        PARCELS_FILE,
        CURVE_FILE,
        PICTURE_FILE,
        BARS_FILE,
        LAYERS_FILE,
        MAP_FILE,
        SUMMARY_FILE,
        RUN_FILE,
    )
)

_RUNG = [column.name for column in fields(Step)]


def write_choice(  # noqa: PLR0913 — one argument an output's property
    choice: Choice,
    comparison: Comparison,
    out: Path,
    *,
    robustness: Robustness | None,
    assumptions: tuple[Assumption, ...],
    options: tuple[Option, ...],
    provenance: Provenance,
    units: System,
    base_map: bool,
    progress: Progress,
) -> None:
    """
    Write a choice into `out`, replacing what an earlier one left there.

    Raises
    ------
    OutputError
        If `out` holds what no run of ours wrote, or cannot be written. What was there stays.
    """
    with written_whole(out, _NAMES) as folder:
        progress(f"writing {OPTIONS_FILE}")
        write_csv(_options(choice, options), folder / OPTIONS_FILE)
        write_csv(
            pd.DataFrame([asdict(step) for step in choice.ladder], columns=_RUNG),
            folder / LADDER_FILE,
        )
        if comparison.ways:
            _write_plan(choice, comparison, folder, units)
        progress("drawing the map")
        html = map_html(
            comparison.base,
            scenario_name=provenance.scenario_name,
            system=units,
            base_map=base_map,
            states=states(comparison) if comparison.ways else (),
        )
        (folder / MAP_FILE).write_text(html, encoding="utf-8")
        told = summary(choice, comparison, robustness, assumptions)
        write_records(told, provenance, folder, units)


def _write_plan(choice: Choice, comparison: Comparison, folder: Path, units: System) -> None:
    best = comparison.ways[0]
    table = best.table.assign(rung=choice.rung + 1)
    write_csv(converted(table, units), folder / PARCELS_FILE)
    shapes = comparison.base.parcels.geometry
    layer = gpd.GeoDataFrame(table, geometry=shapes, crs=shapes.crs)
    areas = bool(shapes.geom_type.str.contains("Polygon").any())
    style = parcels_style(areas=areas, attribute="verdict_after")
    sites = best.result.fill_sites
    layers = {"parcels": layer, "fill_sites": sites}
    write_layers(layers, {"parcels": style}, folder / LAYERS_FILE, units=units)
    name = comparison.base.inputs.name
    pictures = {
        CURVE_FILE: ladder_curve(choice, name),
        PICTURE_FILE: plan_picture(choice, comparison.base, best.result),
        BARS_FILE: bars(comparison),
    }
    for file, picture in pictures.items():
        (folder / file).write_text(picture, encoding="utf-8")


def _options(choice: Choice, options: tuple[Option, ...]) -> pd.DataFrame:
    """Return every option that was weighed: what it brings alone, its cost, what to verify."""
    best = choice.plans[0].names if choice.plans else ()
    rows = [
        {
            "option": option.name,
            "title": option.title,
            "in_plan": option.name in best,
            "gain_alone": choice.alone.get(option.name),
            "capital": option.capital,
            "cost_a_year": option.a_year(choice.limits.discount_rate),
            "lon": _place(option).x,
            "lat": _place(option).y,
            "verify": option.verify,
        }
        for option in options
    ]
    names = ("option", "title", "in_plan", "gain_alone", "capital", "cost_a_year", "lon", "lat")
    table = pd.DataFrame(rows, columns=[*names, "verify"])
    return table.sort_values(["gain_alone", "option"], ascending=[False, True], ignore_index=True)


def _place(option: Option) -> Point:
    site = option.new_site
    if site is None:
        return Point(float("nan"), float("nan"))
    return Point(float(str(site.row["lon"])), float(str(site.row["lat"])))


def summary(
    choice: Choice,
    comparison: Comparison,
    robustness: Robustness | None,
    assumptions: tuple[Assumption, ...],
) -> Mapping[str, object]:
    """Return the choice as plain values, ready for JSON."""
    return {
        "district": comparison.base.inputs.name,
        "parcels": len(comparison.base.parcels),
        "objective": str(choice.objective),
        "budget": choice.limits.budget,
        "budget_of": str(choice.limits.money),
        "count": choice.limits.count,
        "options_considered": choice.considered,
        "score_before": choice.score_before,
        "bound": choice.bound,
        "gap": choice.gap,
        "proof": choice.proof,
        "parcels_solved": choice.parcels_solved,
        "ladder": [asdict(step) for step in choice.ladder],
        "plans": [
            {
                "options": list(plan.names),
                "found_by": list(plan.found_by),
                "score": plan.score,
                "gain": plan.gain,
                "capital": plan.capital,
                "cost_a_year": plan.cost_a_year,
                "full_model": asdict(way.figures),
            }
            for plan, way in zip(choice.plans, comparison.ways, strict=True)
        ],
        "robustness": None if robustness is None else asdict(robustness),
        "sensitivity": [{**asdict(one), "moves": one.moves} for one in assumptions],
    }
