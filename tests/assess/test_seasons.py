"""What a month and a drought leave of the fill sites."""

import geopandas as gpd
import numpy as np
import pytest

from by_hand import CRS, Row, hydrant
from haulshed.assess.fill_sites import ready_sites
from haulshed.scenario.operation import Operation
from haulshed.tables import fill_sites
from haulshed.tables.fill_sites import FILL_SITES, FillSites

KINDS = ("hydrant", "dry_hydrant", "pond", "stream", "cistern")
STATED = {"flow_gpm": 800.0, "usable_gal": 50_000.0, "recharge_gpm": 20.0}


def ready(operation: dict[str, object], **changes: object) -> dict[str, dict[str, object]]:
    rows: list[Row] = [hydrant(kind, 1.0, kind=kind, **STATED | changes) for kind in KINDS]
    frame = gpd.GeoDataFrame(rows, geometry="geometry", crs=CRS).reindex(
        columns=[column.name for column in FILL_SITES.columns]
    )
    sites = FillSites(gpd.GeoDataFrame(fill_sites.filled(frame), geometry="geometry", crs=CRS))
    got = ready_sites(sites, Operation.model_validate(operation))
    return dict(zip(KINDS, got.to_dict("records"), strict=True))


def left(row: dict[str, object]) -> tuple[object, ...]:
    return row["rate_gpm"], row["volume_gal"], row["recharge_gpm"]


def test_a_drought_by_kind_as_it_is_written_down() -> None:
    got = ready({"drought_factor": 0.4})
    for kind in ("dry_hydrant", "pond"):
        assert left(got[kind]) == (800, 20_000, 8)
    assert left(got["stream"]) == (320, 20_000, 8)
    for kind in ("hydrant", "cistern"):
        assert left(got[kind]) == (800, 50_000, 20)


def test_a_kind_of_its_own_share() -> None:
    share = {"pond": 0.1, "stream": 0.5, "cistern": 0.8, "hydrant": 0.9}
    got = ready({"drought_factor": 0.4, "water_left": share})
    assert left(got["pond"]) == (800, pytest.approx(5_000), pytest.approx(2))
    assert left(got["dry_hydrant"]) == (800, 20_000, 8)
    assert left(got["stream"]) == (400, 25_000, 10)
    assert left(got["cistern"]) == (800, 40_000, 16)
    assert left(got["hydrant"]) == (720, 45_000, 18)


@pytest.mark.parametrize("kind", KINDS)
def test_none_left_switches_a_kind_off(kind: str) -> None:
    got = ready({"water_left": {kind: 0}})
    assert {name for name, row in got.items() if not row["open"]} == {kind}
    assert got[kind]["why_closed"] == "no flow or no water left"


def test_what_is_not_limited_stays_so() -> None:
    got = ready({"drought_factor": 0.4, "water_left": {"hydrant": 0.5}}, usable_gal=np.nan)
    assert left(got["stream"]) == (320, np.inf, 8)
    assert left(got["hydrant"]) == (400, np.inf, 10)


def test_a_month_switches_off() -> None:
    for month, is_open in ((None, True), (5, True), (1, False)):
        got = ready({"month": month}, open_months="4-11")
        assert {row["open"] for row in got.values()} == {is_open}
    assert got["pond"]["why_closed"] == "closed in month 1"
    assert ready({}, status="closed")["pond"]["why_closed"] == "closed"
