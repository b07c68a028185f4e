"""A second run takes from the cache what it may and nothing else: the answers are the same."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from by_hand import engine, hydrant, inputs, parcel, road, road_point, station, tanker
from haulshed import pipeline
from haulshed.assess.model import assess
from haulshed.case import Inputs, Memory
from haulshed.inputs.play_cache import PlayCache
from haulshed.scenario import Scenario

#: Cells that a chief changes, and what to.
CELLS: dict[str, dict[str, tuple[Any, ...]]] = {
    "apparatus": {
        "tank_gal": (1000.0, 3000.0),
        "dump_gpm": (600.0, 1500.0, np.nan),
        "portable_tank_gal": (0.0, 3000.0),
        "supply_hose_ft": (0.0, 2000.0),
        "crew": (1, 5),
        "staffed_share": (0.4, 1.0),
        "station_id": ("S1", "S2", "S3"),
        "alarm": (1, 2),
        "kind": ("tanker", "engine"),
    },
    "fill_sites": {
        "flow_gpm": (250.0, 1500.0),
        "fill_positions": (1, 3),
        "handling_min": (1.0, 4.0),
        "kind": ("hydrant", "pond"),
        "usable_gal": (15_000.0, 200_000.0),
        "recharge_gpm": (0.0, 30.0),
        "status": ("open", "closed"),
        "source_id": ("H0", "H7"),
        "needs_pumper": (True, False),
        "geometry": (road_point(-2.2), road_point(9.5)),
    },
    "stations": {"turnout_min": (1.0, 12.0), "aid": ("own", "mutual")},
    "parcels": {
        "lay_ft": (50.0, 900.0),
        "needed_gpm": (250.0, 900.0),
        "geometry": (road_point(-3.3, 20.0), road_point(7.7, 20.0)),
    },
}
CHANGES = st.sampled_from(
    [(table, column, value) for table, of in CELLS.items() for column in of for value in of[column]]
)


def quiet(_step: str, _done: int = 0, _of: int = 0) -> None:
    """Report nothing."""


@pytest.fixture(scope="module")
def district() -> Inputs:
    """Ten miles of road, so that no incident has to do with all of the water."""
    places = {"S1": -4.0, "S2": 2.0, "S3": 9.0}
    return inputs(
        sites=[hydrant(f"H{i}", -4.8 + 1.5 * i) for i in range(10)],
        stations=[station(station_id=s, geometry=road_point(m)) for s, m in places.items()],
        apparatus=[
            *(engine(i, station_id=f"S{1 + i % 3}") for i in range(4)),
            *(
                tanker(i, station_id=f"S{1 + i % 3}", portable_tank_gal=2500.0, staffed_share=0.8)
                for i in range(6)
            ),
        ],
        parcels=[
            parcel(parcel_id=f"P{i}", geometry=road_point(-4.5 + 2.9 * i, 20.0)) for i in range(5)
        ],
        segments=road(*range(-5, 11)),
        scenario=Scenario.model_validate(
            {
                "demand": {"method": "fixed", "fixed_gpm": 500},
                "operation": {"assembly_min": 14},
                "chance": {"draws": 8},
            }
        ),
    )


def changed(case: Inputs, change: tuple[str, str, Any], row: int) -> Inputs:
    table, column, value = change
    frame = getattr(case, table).copy()
    values = frame[column].tolist()
    values[row % len(values)] = value
    if column == "geometry":
        frame = frame.set_geometry(gpd.GeoSeries(values, index=frame.index, crs=frame.crs))
    else:
        frame[column] = pd.Series(values, index=frame.index, dtype=frame[column].dtype)
    return replace(case, **{table: frame})


def answers(case: Inputs, memory: Memory | None = None) -> pd.DataFrame:
    parcels = assess(case, progress=quiet, memory=memory).parcels
    return pd.DataFrame(parcels.drop(columns="geometry"))


@settings(max_examples=6, deadline=None)
@given(changes=st.lists(st.tuples(CHANGES, st.integers(0, 9)), min_size=3, max_size=6))
def test_changed_cells_are_answered_as_without_a_cache(
    changes: list[tuple[tuple[str, str, Any], int]],
    district: Inputs,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    folder, case = tmp_path_factory.mktemp("cache"), district
    for at in range(len(changes) + 1):
        memory = PlayCache(folder, folder, quiet)
        pd.testing.assert_frame_equal(answers(case, memory), answers(case), check_exact=True)
        memory.write()
        if at < len(changes):
            case = changed(case, *changes[at])


def test_what_did_not_change_is_taken_and_what_did_is_not(district: Inputs, tmp_path: Path) -> None:
    def taken(case: Inputs) -> list[str]:
        said: list[str] = []
        memory = PlayCache(tmp_path, tmp_path, quiet)
        assess(case, progress=lambda step, _done=0, _of=0: said.append(step), memory=memory)
        memory.write()
        return [step.split(", ")[1] for step in said if "from the cache" in step]

    assert taken(district) == []
    assert taken(district) == ["5 of 5 from the cache"] * 4
    # One parcel is near the hydrant; two are reached in time from the tanker's station.
    hydrant_changed = changed(district, ("fill_sites", "flow_gpm", 300.0), 4)
    assert taken(hydrant_changed) == ["4 of 5 from the cache"] * 4
    tanker_changed = changed(district, ("apparatus", "tank_gal", 900.0), 4)
    assert taken(tanker_changed) == ["3 of 5 from the cache"] * 4
    seed = replace(
        district,
        scenario=Scenario.model_validate(
            district.scenario.model_dump() | {"chance": {"draws": 8, "seed": 3}}
        ),
    )
    assert taken(seed) == ["5 of 5 from the cache"] * 2, "what is not drawn"


def _bytes(folder: Path) -> dict[str, bytes]:
    return {
        file.relative_to(folder).as_posix(): file.read_bytes()
        for file in sorted(folder.rglob("*"))
        if file.is_file() and file.name != "run.json"
    }


@pytest.mark.slow  # five whole runs
def test_the_files_are_the_same_with_no_cache_a_full_one_and_a_damaged_one(
    tiny_district: Callable[..., Path], tmp_path: Path
) -> None:
    folder, cache = tiny_district(), tmp_path / "cache"
    pipeline.run(folder, out=tmp_path / "first", cache=cache)
    first = _bytes(tmp_path / "first")
    kept = sorted(cache.glob("plays-*.rows"))
    assert len(kept) == 2, "nothing can be sustained there: only the need is asked for"
    pipeline.run(folder, out=tmp_path / "warm", cache=cache)
    assert _bytes(tmp_path / "warm") == first
    for number, file in enumerate(kept):
        content = file.read_bytes()
        file.write_bytes((content[:-8], content[:40] + b"\xff" + content[41:])[number])
    pipeline.run(folder, out=tmp_path / "damaged", cache=cache)
    assert _bytes(tmp_path / "damaged") == first
    for file in cache.glob("plays-*.json"):
        file.unlink()
    pipeline.run(folder, out=tmp_path / "halved", cache=cache)
    assert _bytes(tmp_path / "halved") == first
