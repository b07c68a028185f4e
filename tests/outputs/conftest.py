"""A made-up result: thirty parcels of every answer, hostile names, empty cells."""

from dataclasses import replace
from itertools import cycle

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import LineString, Point, Polygon, box

from haulshed.case import Inputs, Provenance, Result
from haulshed.scenario import Scenario
from haulshed.tables.answers import ANSWERS, LimitedBy, Verdict

#: An invented place; UTM zone 14 north.
CRS = "EPSG:32614"
EAST_M, NORTH_M = 500_000.0, 4_983_000.0
HOSTILE = '<script>alert("x")</script>'
FORMULA = "=HYPERLINK(1)"
RIGHT_TO_LEFT = "מגרש-10"
#: Means something to the language of folium's templates: work done, or an unknown word.
TEMPLATE = "{{ 7 * 7 }}{% lot %}"

_FLOWS_GPM = {
    Verdict.HOSE_LINE: (0.0, 0.0),
    Verdict.NURSE: (499.999, 300.0),
    Verdict.DUMP_SITE: (112.4, 1049.9),
    Verdict.SHORT: (24.9, 0.0),
    Verdict.NONE: (0.0, 0.0),
    Verdict.NO_DEMAND: (260.0, 250.0),
}


def square(number: int) -> Polygon:
    """Return the outline of a parcel; the squares stand in rows of six."""
    east, north = EAST_M + 250 * (number % 6), NORTH_M + 250 * (number // 6)
    return box(east, north, east + 200, north + 200)


def answer(number: int, verdict: Verdict) -> dict[str, object]:
    """Return a parcel's row."""
    nurse_gpm, dump_gpm = _FLOWS_GPM[verdict]
    held_gpm = max(nurse_gpm, dump_gpm)
    hauled = held_gpm > 0
    hose = verdict is Verdict.HOSE_LINE
    needed_gpm = np.nan if verdict is Verdict.NO_DEMAND else 250.2
    lon, lat = -99.0 + 0.003 * (number % 6), 45.0 + 0.002 * (number // 6)
    return {
        "parcel_id": {
            7: HOSTILE,
            8: FORMULA,
            9: "Ärmel-9",
            10: RIGHT_TO_LEFT,
            11: TEMPLATE,
        }.get(number, f"P-{number}"),
        "lon": lon + 1.2345678e-3,
        "lat": lat,
        "access_lon": np.nan if verdict is Verdict.NONE else lon,
        "access_lat": np.nan if verdict is Verdict.NONE else lat,
        "lay_ft": np.nan if verdict is Verdict.NONE else 333.3333,
        "lay_source": None if verdict is Verdict.NONE else "straight",
        "needed_gpm": needed_gpm,
        "needed_gal": np.nan if number % 2 else 12_345.6,
        "demand_source": "no structure" if verdict is Verdict.NO_DEMAND else "parcel",
        "test_min": 120.0,
        "hose_site_id": "H-1" if hose else None,
        "hose_site_ft": 612.0 if hose else np.nan,
        "hose_gpm": 780.0 if hose else np.nan,
        "nurse_gpm": nurse_gpm,
        "dump_site_gpm": dump_gpm,
        "sustained_gpm": held_gpm,
        "margin_gpm": held_gpm - needed_gpm,
        "verdict": str(verdict),
        "limited_by": str(LimitedBy.TANKERS if hauled else LimitedBy.NO_ROAD),
        "tight": verdict is Verdict.NURSE and number % 2 == 1,
        "minus_one_gpm": held_gpm / 2,
        "best_site_id": "D-1" if hauled else None,
        "site_ids": "D-1 H-1" if hauled else None,
        "round_trip_min": 23.456 if hauled else np.nan,
        "road_miles_to_site": 2.5 if hauled else np.nan,
        "tankers": 3 if hauled else 0,
        "tankers_needed": 2 if hauled and verdict is not Verdict.SHORT else pd.NA,
        "engines": 2 if hauled else 0,
        "first_due": None if verdict is Verdict.NONE else "A",
        "first_engine_min": np.nan if verdict is Verdict.NONE else 9.1,
        "first_tanker_min": 11.0 if hauled else np.nan,
        "last_tanker_min": 19.01 if hauled else np.nan,
    }


def parcels(count: int, *, points: bool) -> gpd.GeoDataFrame:
    """Return so many parcels, the answers in turn; every tenth a point if `points`."""
    turn = cycle(Verdict)
    table = pd.DataFrame(
        [answer(number, next(turn)) for number in range(count)],
        columns=[column.name for column in ANSWERS.columns],
    )
    table["tankers_needed"] = table["tankers_needed"].astype("Int64")
    table["tight"] = table["tight"].astype(bool)
    shapes = [square(n).centroid if points and n % 10 == 4 else square(n) for n in range(count)]
    return gpd.GeoDataFrame(table, geometry=gpd.GeoSeries(shapes, crs=CRS), crs=CRS)


def roads() -> gpd.GeoDataFrame:
    """Return six segments, one of each flow class."""
    flows_gpm = [0.0, 10.0, 250.0, 999.9, 1000.0, np.nan]
    lines = [
        LineString([(EAST_M, NORTH_M + 250 * n - 25), (EAST_M + 1500, NORTH_M + 250 * n - 25)])
        for n in range(6)
    ]
    return gpd.GeoDataFrame(
        {
            "segment_id": range(6),
            "way_id": range(101, 107),
            "bridge": [False, True, False, False, False, False],
            "max_weight_lb": [np.nan, 20_000.0, np.nan, np.nan, np.nan, np.nan],
            "max_height_ft": [np.nan, np.nan, np.nan, 12.5, np.nan, np.nan],
            "closed": [False, False, False, False, False, True],
            "name": ["Mill Road", "", HOSTILE, "Ridge Road", "County 7", "drive"],
            "road_class": ["tertiary", "unclassified", "residential", "track", "road", "service"],
            "unpaved": [False, True, False, False, True, True],
            "speed_mph": [35.0, 22.5, 30.0, 15.0, 25.0, np.nan],
            "speed_source": ["class", "class", "posted", "class", "class", "class"],
            "sustained_gpm": flows_gpm,
        },
        geometry=lines,
        crs=CRS,
    )


def fill_sites() -> gpd.GeoDataFrame:
    """Return a site of each kind and a hydrant of each class."""
    kinds = ["hydrant"] * 4 + ["dry_hydrant", "pond", "stream", "cistern"]
    rates_gpm = [499.0, 500.0, 1499.0, 1500.0, 1000.0, 600.0, 700.0, 800.0]
    volumes_gal = [np.nan] * 4 + [90_000.0, 200_000.0, np.nan, 30_000.0]
    count = len(kinds)
    return gpd.GeoDataFrame(
        {
            "site_id": ["H-1", "H-2", "H-3", "H-4", "D-1", "PD-1", "S-1", "C-1"],
            "name": ["Corner", "", "Mill", "Depot", HOSTILE, "Pool & Co", "Ford", "Crest"],
            "kind": kinds,
            "flow_gpm": rates_gpm,
            "static_psi": np.nan,
            "residual_psi": np.nan,
            "test_flow_gpm": np.nan,
            "usable_gal": volumes_gal,
            "recharge_gpm": [0.0] * 5 + [40.0, 0.0, 0.0],
            "source_id": ["H-1", "H-2", "H-3", "H-4", "D-1", "PD-1", "S-1", "C-1"],
            "fill_positions": [2] * count,
            "handling_min": np.nan,
            "needs_pumper": [kind != "hydrant" for kind in kinds],
            "open_months": None,
            "status": ["open"] * (count - 1) + ["closed"],
            "rate_gpm": rates_gpm,
            "volume_gal": [*volumes_gal[:5], 80_000.0, *volumes_gal[6:]],
            "refill_gpm": [0.0] * 5 + [40.0, 0.0, 0.0],
            "open": [True] * (count - 1) + [False],
            "on_road": True,
            "road_ft": 12.0,
            "parcels_reached": 20,
            "parcels_best": [0, 0, 0, 0, 20, 0, 0, 0],
            "why_not": [""] * (count - 1) + ["closed"],
        },
        geometry=[Point(EAST_M + 180 * n, NORTH_M - 60) for n in range(count)],
        crs=CRS,
    )


def stations() -> gpd.GeoDataFrame:
    """Return two stations, one of them without apparatus."""
    return gpd.GeoDataFrame(
        {
            "station_id": ["A", "B"],
            "name": ["Station <One>", ""],
            "aid": ["own", "mutual"],
            "turnout_min": [5.0, np.nan],
            "on_road": [True, True],
            "road_ft": [10.0, 20.0],
            "tankers": ["T-1", ""],
            "engines": ["E-1", ""],
        },
        geometry=[Point(EAST_M + 700, NORTH_M + 650), Point(EAST_M - 90, NORTH_M)],
        crs=CRS,
    )


def apparatus() -> pd.DataFrame:
    """Return a tanker and an engine, both of station A."""
    return pd.DataFrame(
        {
            "unit_id": ["T-1", "E-1"],
            "station_id": ["A", "A"],
            "kind": ["tanker", "engine"],
            "tank_gal": [3000.0, 1000.0],
            "pump_gpm": [0.0, 1250.0],
            "supply_hose_ft": [0.0, 1000.0],
            "alarm": [1, 2],
        }
    )


def made_up(count: int = 30, *, points: bool = True) -> Result:
    """Return the whole result."""
    table = parcels(count, points=points)
    inputs = Inputs(
        name="Larkmoor <East>",
        scenario=Scenario(),
        segments=roads(),
        parcels=table,
        fill_sites=fill_sites(),
        stations=stations(),
        apparatus=apparatus(),
        boundary=box(EAST_M - 50, NORTH_M - 80, EAST_M + 1500, NORTH_M + 1300),
        road_notes={},
    )
    return Result(
        inputs=inputs,
        parcels=table,
        roads=roads(),
        fill_sites=fill_sites(),
        stations=stations(),
        summary={"district": inputs.name, "parcels": count, "road_credit": "Roads © <them>"},
    )


@pytest.fixture(scope="session")
def result() -> Result:
    """The whole result, polygons and points mixed."""
    return made_up()


@pytest.fixture(scope="session")
def polygons() -> Result:
    """The whole result, every parcel a polygon."""
    return made_up(points=False)


@pytest.fixture(scope="session")
def bare(result: Result) -> Result:
    """Roads and nothing else."""
    return replace(
        result,
        inputs=replace(result.inputs, boundary=None, apparatus=apparatus().iloc[:0]),
        parcels=result.parcels.iloc[:0],
        fill_sites=result.fill_sites.iloc[:0],
        stations=result.stations.iloc[:0],
    )


@pytest.fixture(scope="session")
def provenance() -> Provenance:
    """Where the result came from."""
    return Provenance(
        version="0.0.1",
        code_sha256="00",
        made="2026-01-02T03:04:05+00:00",
        crs=CRS,
        scenario_name="winter",
        scenario=Scenario(),
        input_sha256={"parcels.csv": "00"},
        libraries={"numpy": "2"},
    )
