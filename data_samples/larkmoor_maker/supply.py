"""Fill sites, stations and apparatus: the knobs that decide what Larkmoor's fleet can keep up.

Places are given roughly [mi east and north of the middle] and moved to the nearest public road.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from shapely import Point, STRtree

from larkmoor_maker.evidence import papers
from larkmoor_maker.frame import MI, Point2, along, degrees
from larkmoor_maker.road import Road
from larkmoor_maker.water import Waters, pond

Cell = str | float
Row = dict[str, Cell]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Site:
    """A fill site: where it is about, and its row; `acres` if a pond is to be dug beside it."""

    id: str
    name: str
    kind: str
    near: Point2
    acres: float = 0.0
    more: Mapping[str, Cell]


_MAIN, _WEAK = {"source_id": "MAIN-N"}, {"source_id": "MAIN-S"}
_RIVER = {"usable_gal": 6_000_000, "recharge_gpm": 5000}

_SITES = (
    _Site(id="HY-1", name="Market Circle", kind="hydrant", near=(6.93, -7.0),
          more={**_MAIN, "static_psi": 68, "residual_psi": 52, "test_flow_gpm": 920,
                "fill_positions": 2}),
    _Site(id="HY-2", name="Depot & Plover", kind="hydrant", near=(6.87, -6.83),
          more={**_MAIN, "flow_gpm": 1100, "fill_positions": 1}),
    _Site(id="HY-3", name="Chapel Street", kind="hydrant", near=(6.66, -6.87),
          more={**_MAIN, "static_psi": 66, "residual_psi": 45, "test_flow_gpm": 850,
                "fill_positions": 1}),
    _Site(id="HY-4", name="Granary Street", kind="hydrant", near=(7.32, -6.98),
          more={**_MAIN, "static_psi": 64, "residual_psi": 40, "test_flow_gpm": 760,
                "fill_positions": 1}),
    _Site(id="HY-5", name="Moor Road at Dunlin Street", kind="hydrant", near=(7.06, -6.74),
          more={**_MAIN, "flow_gpm": 900, "fill_positions": 1}),
    _Site(id="HY-6", name="Heather Street", kind="hydrant", near=(6.9, -7.21),
          more={**_WEAK, "static_psi": 48, "residual_psi": 26, "test_flow_gpm": 330,
                "fill_positions": 1}),
    _Site(id="HY-7", name="Sedge Street", kind="hydrant", near=(7.02, -7.25),
          more={**_WEAK, "static_psi": 46, "residual_psi": 25, "test_flow_gpm": 300,
                "fill_positions": 1}),
    _Site(id="DH-1", name="Ferry Road landing", kind="dry_hydrant", near=(1.12, -0.30),
          more={**_RIVER, "source_id": "WEND", "flow_gpm": 1000, "fill_positions": 2}),
    _Site(id="DH-2", name="Moor Road bridge", kind="dry_hydrant", near=(6.9, -3.378),
          more={**_RIVER, "source_id": "WEND", "flow_gpm": 1200, "fill_positions": 2}),
    _Site(id="DH-3", name="Cold Spring bridge", kind="dry_hydrant", near=(-2.377, 3.91),
          more={**_RIVER, "source_id": "WEND", "flow_gpm": 900, "fill_positions": 1}),
    _Site(id="DH-4", name="Tolland quarry pit", kind="dry_hydrant", near=(1.65, -7.75), acres=3.2,
          more={"flow_gpm": 800, "usable_gal": 240_000, "fill_positions": 1}),
    _Site(id="PD-1", name="Thorn & Thistle Pond, south ramp", kind="pond", near=(-8.0, -2.62),
          acres=0.9, more={"source_id": "THORN-POND", "flow_gpm": 600, "usable_gal": 60_000,
                           "recharge_gpm": 15, "fill_positions": 1}),
    _Site(id="PD-2", name="Thorn & Thistle Pond, north ramp", kind="pond", near=(-8.0, -2.57),
          more={"source_id": "THORN-POND", "flow_gpm": 450, "usable_gal": 60_000,
                "recharge_gpm": 15, "fill_positions": 1, "handling_min": 4}),
    _Site(id="PD-3", name="Fold Pond", kind="pond", near=(-3.55, -6.0), acres=0.5,
          more={"flow_gpm": 500, "usable_gal": 30_000, "recharge_gpm": 5, "fill_positions": 1}),
    _Site(id="PD-4", name="Étang d'Aubépine", kind="pond", near=(-7.9, 2.85), acres=0.7,
          more={"flow_gpm": 500, "usable_gal": 42_000, "recharge_gpm": 10, "fill_positions": 1}),
    _Site(id="PD-5", name="Sheepwash", kind="pond", near=(8.3, 1.55), acres=0.45,
          more={"flow_gpm": 450, "usable_gal": 26_000, "recharge_gpm": 8, "fill_positions": 1,
                "open_months": "9-5"}),
    _Site(id="PD-6", name="Peat Cutting Pool", kind="pond", near=(4.86, 5.45), acres=1.4,
          more={"flow_gpm": 700, "usable_gal": 90_000, "recharge_gpm": 30, "fill_positions": 1,
                "open_months": "9-5"}),
    _Site(id="PD-7", name="Old Gravel Pit", kind="pond", near=(-5.4, 7.1), acres=1.1,
          more={"flow_gpm": 600, "usable_gal": 180_000, "fill_positions": 1, "status": "closed"}),
    _Site(id="ST-1", name="Sallow Creek at Highway 12", kind="stream", near=(-0.966, -4.05),
          more={"source_id": "SALLOW", "flow_gpm": 420, "fill_positions": 1}),
    _Site(id="ST-2", name="Pewit Brook ford", kind="stream", near=(-5.84, 2.146),
          more={"flow_gpm": 260, "fill_positions": 1, "open_months": "5-12"}),
    _Site(id="ST-3", name="Quarry Brook at South Bank Road", kind="stream", near=(4.884, -3.2),
          more={"flow_gpm": 380, "fill_positions": 1, "handling_min": 3.5}),
    _Site(id="CI-1", name="Section 31 cistern", kind="cistern", near=(-6.0, -7.5),
          more={"flow_gpm": 750, "usable_gal": 30_000, "fill_positions": 1}),
    _Site(id="CI-2", name="Crest cistern", kind="cistern", near=(7.9, 4.0),
          more={"flow_gpm": 600, "usable_gal": 20_000, "fill_positions": 1}),
    _Site(id="CI-3", name="Eastfield school cistern", kind="cistern", near=(8.9, -5.45),
          more={"flow_gpm": 750, "usable_gal": 25_000, "fill_positions": 1}),
)  # fmt: skip

#: id, name, aid, turnout [min], where about
_STATIONS = (
    ("S1", "Larkmoor Village", "own", 4, (6.85, -6.96)),
    ("S2", "Stage Cross", "own", 5, (-5.9, -3.9)),
    ("S3", "Cold Spring", "own", 5, (-5.35, 4.15)),
    ("S4", "Ferry Bridge", "own", 6, (2.05, 0.75)),
    ("S5", "Moor Edge", "own", 7, (5.45, 2.75)),
    ("A1", "Eastbeck", "automatic", 5, (11.6, -7.95)),
    ("A2", "Westerly", "automatic", 5, (-11.8, -4.0)),
    ("A3", "Northfell", "mutual", 7, (4.65, 10.4)),
)

_ENGINE = ("unit_id", "station_id", "tank_gal", "pump_gpm", "tank_to_pump_gpm", "supply_hose_ft",
           "supply_hose_in", "portable_tank_gal", "crew", "alarm", "staffed_share", "weight_lb",
           "empty_weight_lb")  # fmt: skip
_ENGINES = (
    ("E-11", "S1", 1000, 1500, 750, 1200, 5, 0, 5, 1, 1.0, 42000, 33500),
    ("E-21", "S2", 1000, 1250, 500, 1000, 4, 0, 4, 1, 0.95, 40500, 32000),
    ("E-31", "S3", 750, 1250, 500, 1000, 5, 0, 4, 1, 0.9, 38000, 31500),
    ("E-41", "S4", 1000, 1000, 500, 800, 3, 0, 3, 1, 0.85, 39000, 30500),
    ("E-71", "A1", 1000, 1500, 750, 1000, 5, 0, 4, 2, 0.9, 43000, 34500),
    ("E-91", "A3", 750, 1250, 500, 1000, 4, 0, 4, 1, 0.8, 38500, 32000),
)
_TANKER = ("unit_id", "station_id", "tank_gal", "fill_gpm", "dump_gpm", "pump_gpm",
           "portable_tank_gal", "crew", "alarm", "staffed_share", "weight_lb",
           "empty_weight_lb")  # fmt: skip
_TANKERS = (
    ("T-12", "S1", 2000, 1000, 1200, 500, 2500, 2, 1, 1.0, 40500, 23500),
    ("T-13", "S1", 3000, 1000, 1500, 750, 3500, 2, 1, 0.9, 58000, 32500),
    ("T-22", "S2", 2500, 1000, 1200, 500, 3000, 2, 1, 0.95, 48500, 27500),
    ("T-32", "S3", 1800, 800, 1000, 500, 2100, 2, 1, 0.9, 38000, 22500),
    ("T-42", "S4", 2000, 1000, "", 500, 2500, 2, 1, 0.8, 41000, 24000),
    ("T-51", "S5", 1500, 800, 1000, 250, 2000, 2, 1, 0.75, 33500, 20500),
    ("T-52", "S5", 3500, 1000, 1500, "", 3500, 1, 2, 0.6, 66000, 36500),
    ("T-72", "A1", 3000, 1000, 1500, 750, 3500, 2, 1, 0.85, 57500, 32000),
    ("T-81", "A2", 2000, 1000, 1200, 500, 2500, 2, 1, 0.9, 41000, 24000),
    ("T-82", "A2", 2800, 900, 1000, 500, "", 2, 3, 0.7, 53000, 29500),
    ("T-92", "A3", 2500, 1000, 1200, 500, 3000, 2, 1, 0.8, 48000, 27000),
)


def site_rows(roads: Sequence[Road]) -> list[Row]:
    """Return the table of fill sites."""
    rows = []
    for site in _SITES:
        at, _ = _beside(site.near, roads)
        lon, lat = degrees([at])[0]
        head: Row = {"site_id": site.id, "name": site.name, "kind": site.kind}
        rows.append({**head, "lat": lat, "lon": lon, **site.more, **papers(site.id)})
    return rows


def with_ponds(waters: Waters, roads: Sequence[Road]) -> Waters:
    """Return the waters with a pond beside every fill site that takes from one."""
    ponds = {}
    for site in _SITES:
        if site.acres:
            at, away = _beside(site.near, roads)
            reach = math.sqrt(site.acres * 4046.9 / math.pi) * 1.65 + 10
            middle = (at[0] + reach * math.cos(away), at[1] + reach * math.sin(away))
            ponds[site.name.split(",")[0]] = pond(middle, site.acres, site.id)
    return replace(waters, ponds=ponds)


def station_rows(roads: Sequence[Road]) -> list[Row]:
    """Return the table of stations."""
    rows = []
    for number, name, aid, turnout, near in _STATIONS:
        lon, lat = degrees([_beside(near, roads)[0]])[0]
        row: Row = {"station_id": number, "name": name, "lat": lat, "lon": lon, "aid": aid}
        rows.append({**row, "turnout_min": turnout})
    return rows


def apparatus_rows() -> list[Row]:
    """Return the table of apparatus, by station."""
    engines = [{"kind": "engine", **dict(zip(_ENGINE, row, strict=True))} for row in _ENGINES]
    tankers = [{"kind": "tanker", **dict(zip(_TANKER, row, strict=True))} for row in _TANKERS]
    order = [number for number, *_ in _STATIONS]
    return sorted([*engines, *tankers], key=lambda row: order.index(str(row["station_id"])))


def _beside(near_mi: Point2, roads: Sequence[Road]) -> tuple[Point2, float]:
    """Return a place on the verge of the nearest public road, and the direction off the road."""
    near = Point(near_mi[0] * MI, near_mi[1] * MI)
    public = [road for road in roads if road.public and "bridge" not in road.tags]
    road = public[STRtree([road.line for road in public]).nearest(near)]
    (x, y), angle = along(road.line, road.line.project(near))
    side = math.sin(math.atan2(near.y - y, near.x - x) - angle)
    away = angle + math.copysign(math.pi / 2, side)
    step = 0.6 * road.half_strip_m
    return (x + step * math.cos(away), y + step * math.sin(away)), away
