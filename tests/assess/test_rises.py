"""Lines that rise or fall over ground made by hand, each flow worked out on paper."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pyproj
import pytest

from by_hand import CRS, NORTH_M, WEST_M, Row, engine, hydrant, inputs, parcel, station, tanker
from haulshed.assess.explain import explain_parcel
from haulshed.assess.model import assess
from haulshed.case import Inputs
from haulshed.outputs.explanation import explanation_text
from haulshed.scenario import Scenario
from haulshed.terrain import Grid, Terrain

FT_PER_M = 1 / 0.3048
#: 5-in hose, 100 ft of it: loss per gpm² [psi] (training slides, records.rpcity.org id 366543).
LOSS = 0.08 * 100 / 100**3


def slope(per_m: float, *, step_m: float = 10.0, cells: int = 400) -> Grid:
    """Return ground that is level along the road and rises `per_m` to the north of it [ft/m]."""
    north_m = NORTH_M + step_m * cells / 2
    y = north_m - step_m * (np.arange(cells) + 0.5)
    column = 1000 + per_m * (y - NORTH_M)
    return Grid(
        level_ft=np.repeat(column[:, None], cells, axis=1).astype(np.float32),
        crs=pyproj.CRS(CRS),
        to_xy=(step_m, 0, WEST_M - step_m * cells / 2, 0, -step_m, north_m),
    )


def case(*grids: Grid, sites: list[Row] | None = None, **supply_line: object) -> Inputs:
    scenario = {"demand": {"method": "fixed"}, "supply_line": supply_line}
    made = inputs(
        sites=sites or [hydrant("H1", 0.3, flow_gpm=5000.0)],
        stations=[station()],
        apparatus=[engine(1, pump_gpm=5000.0), *(tanker(i) for i in range(3))],
        parcels=[parcel()],
        scenario=Scenario.model_validate(scenario),
    )
    return replace(made, terrain=Terrain(grids=grids, crs=pyproj.CRS(CRS)))


def answer(given: Inputs) -> "pd.Series[object]":
    return assess(given, progress=lambda _step, _done=0, _of=0: None).parcels.iloc[0]


def line_gpm(given: Inputs) -> float:
    told = explain_parcel(given, "P1", progress=lambda _step, _done=0, _of=0: None)
    return told.line.dump_site_line_gpm


def test_the_rise_is_from_the_road_to_the_structure() -> None:
    # The structure stands 20 m north of the road.
    got = answer(case(slope(1.5)))
    assert got["rise_ft"] == pytest.approx(30, abs=1e-3)
    assert got["rise_source"] == "dem"
    down = answer(case(slope(-2.0)))
    assert down["rise_ft"] == pytest.approx(-40, abs=1e-3)


@pytest.mark.parametrize("rise_ft", [150.0, -60.0])
def test_flow_of_a_line_that_rises_or_falls(rise_ft: float) -> None:
    # The pump of 5,000 gpm binds nothing here: √((100 − 20 − 10 − 0.434 × rise) / loss), loss that
    # of 100 ft of 5-in hose; up 150 ft √(4.9 / 8e-6) = 783 gpm, down 60 ft √(96.04 / 8e-6) = 3,465.
    given = case(slope(rise_ft / 20), discharge_psi=100)
    by_hand = np.sqrt((100 - 20 - 10 - 0.434 * rise_ft) / LOSS)
    assert line_gpm(given) == pytest.approx(by_hand, rel=1e-4)
    # What is left at the end is the residual: pumped at 100 psi, less loss, appliance and rise.
    left_psi = 100 - LOSS * line_gpm(given) ** 2 - 10 - 0.434 * rise_ft
    assert left_psi == pytest.approx(20, abs=0.05)


def test_a_hill_too_high_carries_nothing() -> None:
    assert answer(case(slope(20.0), discharge_psi=185))["sustained_gpm"] == 0


def test_unknown_ground_takes_the_scenarios_rise_and_never_zero() -> None:
    void = slope(1.0)
    void.level_ft[:] = np.nan
    for terrain in ((), (void,), (slope(1.0, cells=2, step_m=5.0),)):
        given = case(*terrain, rise_ft=77, discharge_psi=100)
        got = answer(given)
        assert (got["rise_ft"], got["rise_source"]) == (77, "scenario")
        assert line_gpm(given) == pytest.approx(np.sqrt((70 - 0.434 * 77) / LOSS), rel=1e-6)


def test_the_first_grid_that_knows_both_ends_counts() -> None:
    # Another zero in each: a level of one less a level of the other would be 5,000 ft.
    half = slope(0.0)
    half.level_ft[:] += 5000
    row_of_road = 200
    half.level_ft[:row_of_road] = np.nan  # nothing north of the road
    got = answer(case(half, slope(1.5)))
    assert got["rise_ft"] == pytest.approx(30, abs=1e-3)


def test_two_grids_of_which_each_knows_one_end() -> None:
    north, south = slope(1.5), slope(1.5)
    north.level_ft[199:] = np.nan
    south.level_ft[:199] = np.nan
    # The structure lies between the centres 15 and 25 m north: rows 198 and 197.
    got = answer(case(north, south))
    assert got["rise_ft"] == pytest.approx(30, abs=1e-3)


def test_a_hose_line_rises_from_its_hydrant() -> None:
    # A hydrant beside the road, 100 ft down a bank of 0.5 ft a foot; the parcel 20 m = 65.6 ft up.
    low = hydrant("H1", 0.05, flow_gpm=5000.0)
    low["geometry"] = type(low["geometry"])(low["geometry"].x, NORTH_M - 100 / FT_PER_M)
    per_m = 0.5 * FT_PER_M
    got = answer(case(slope(per_m), sites=[low], discharge_psi=125))
    laid_ft = 0.05 * 5280 + 100 + 100  # road, bank, lay
    rise_ft = 0.5 * (100 + 20 * FT_PER_M)
    by_hand = np.sqrt((125 - 30 - 0.434 * rise_ft) / (LOSS * laid_ft / 100))
    assert got["hose_gpm"] == pytest.approx(by_hand, rel=1e-3)


def test_explain_shows_the_levels_and_warns_of_a_shut_line() -> None:
    def told(given: Inputs) -> str:
        quiet = explain_parcel(given, "P1", progress=lambda _step, _done=0, _of=0: None)
        return " ".join(explanation_text(quiet).split())

    up = told(case(slope(1.5)))
    assert "rises 30 ft: +13.0 psi (ground levels: access point 1,000 ft, structure 1,030 ft)" in up
    assert "shut at the structure" not in up
    # 185 psi and 0.434 × 100 ft more at the bottom.
    down = told(case(slope(-5.0)))
    assert "rises -100 ft: -43.4 psi" in down
    assert "pumped at 185 psi it stands at 228 psi there: throttle" in down
    assert "(no ground level known; the scenario's rise)" in told(case())
