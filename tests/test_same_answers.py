"""Neither the order of a file's rows nor its units change an answer; parcels in are parcels out."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from haulshed.assess.model import assess
from haulshed.case import Result
from haulshed.inputs.district import read_district
from haulshed.inputs.samples import larkmoor

#: One of ours in the SI unit of a file. 1 gal = 231 in³, 1 in = 25.4 mm, 1 lb = 0.45359237 kg,
#: standard gravity 9.80665 m/s² (worked out here, apart from the package).
LITRES = 231 * 0.254**3
SI = {
    "_gal": ("_l", LITRES),
    "_gpm": ("_lpm", LITRES),
    "_psi": ("_kpa", 0.45359237 * 9.80665 / 0.0254**2 / 1000),
    "_ft": ("_m", 0.3048),
    "_in": ("_mm", 25.4),
    "_lb": ("_kg", 0.45359237),
}
TABLES = ("fill_sites.csv", "stations.csv", "apparatus.csv")


def answers(folder: Path) -> Result:
    read = read_district(folder, progress=lambda _step, _done=0, _of=0: None)
    return assess(read.inputs, progress=lambda _step, _done=0, _of=0: None)


@pytest.fixture(scope="module")
def as_given() -> Result:
    return answers(larkmoor())


@pytest.fixture
def copied(tmp_path: Path) -> Path:
    return Path(shutil.copytree(larkmoor(), tmp_path / "larkmoor"))


def same(one: pd.DataFrame, other: pd.DataFrame) -> None:
    for column in one.columns.drop("geometry"):
        if pd.api.types.is_float_dtype(one[column]):
            assert np.allclose(one[column], other[column], atol=1e-5, equal_nan=True), column
        else:
            assert other[column].astype(str).tolist() == one[column].astype(str).tolist(), column


def test_parcels_in_are_parcels_out(as_given: Result) -> None:
    given = json.loads((larkmoor() / "parcels.geojson").read_text(encoding="utf-8"))
    ids = [feature["properties"]["parcel_id"] for feature in given["features"]]
    assert as_given.parcels["parcel_id"].tolist() == ids


def test_shuffled_rows_give_the_same_answers(as_given: Result, copied: Path) -> None:
    rng = np.random.default_rng(7)
    for name in TABLES:
        head, *rows = (copied / name).read_text(encoding="utf-8").splitlines()
        shuffled = [rows[at] for at in rng.permutation(len(rows))]
        (copied / name).write_text("\n".join([head, *shuffled]) + "\n", encoding="utf-8")
    parcels = json.loads((copied / "parcels.geojson").read_text(encoding="utf-8"))
    features = parcels["features"]
    parcels["features"] = [features[at] for at in rng.permutation(len(features))]
    (copied / "parcels.geojson").write_text(json.dumps(parcels), encoding="utf-8")
    again = answers(copied)
    ids = as_given.parcels["parcel_id"]
    same(as_given.parcels, again.parcels.set_index("parcel_id").loc[ids].reset_index())
    same(as_given.fill_sites, again.fill_sites)
    same(as_given.roads, again.roads)


def test_files_in_si_give_the_same_answers(as_given: Result, copied: Path) -> None:
    for name in TABLES:
        table = pd.read_csv(copied / name, dtype=object)
        for column in table.columns:
            for ours, (theirs, factor) in SI.items():
                if column.endswith(ours):
                    turned = table[column].astype(float) * factor
                    table[column] = turned.map("{:.12g}".format, na_action="ignore")
                    table = table.rename(columns={column: column.removesuffix(ours) + theirs})
        table.to_csv(copied / name, index=False)
    same(as_given.parcels, answers(copied).parcels)


def test_set_aside_rows_and_answers_are_the_whole_input(
    tiny_district: Callable[..., Path],
) -> None:
    parcels = (
        "parcel_id,lat,lon,stories\nP-1,45.001,-100.03,1\nP-2,45.02,-99.999,-3\n"
        "P-3,44.97,-100.001,2\n"
    )
    folder = tiny_district(parcels_csv=parcels)
    quiet = lambda _step, _done=0, _of=0: None  # noqa: E731 — a stand-in for the progress bar
    read = read_district(folder, set_aside=True, progress=quiet)
    got = assess(read.inputs, progress=quiet).parcels["parcel_id"].tolist()
    assert sorted([*got, *read.rejected_rows["row"]]) == ["P-1", "P-2", "P-3"]
