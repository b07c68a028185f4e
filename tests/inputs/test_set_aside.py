"""Going on without faulty rows."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from haulshed.errors import TableError
from haulshed.inputs.district import District, read_district

Write = Callable[..., Path]

PARCELS = """\
parcel_id,lat,lon,stories
P-1,45.001,-100.03,1
P-2,45.02,-99.999,two
P-3,44.97,-100.001,
P-3,44.98,-100.001,
P-5,-100.001,44.98,x
P-6,44.98,-100.001,3
"""


def read(folder: Path) -> District:
    return read_district(folder, set_aside=True, progress=lambda _step: None)


def test_sound_rows_are_kept_in_order_and_numbered_anew(tiny_district: Write) -> None:
    parcels = read(tiny_district(parcels_csv=PARCELS)).inputs.parcels
    assert parcels["parcel_id"].tolist() == ["P-1", "P-6"]
    assert parcels["stories"].tolist() == [1, 3]
    assert parcels.index.tolist() == [0, 1]
    assert parcels.geometry.notna().all()


def test_every_row_set_aside_is_kept_with_its_reasons_and_cells(tiny_district: Write) -> None:
    district = read(tiny_district(parcels_csv=PARCELS))
    rejected = district.rejected_rows
    assert rejected["table"].unique().tolist() == ["parcels"]
    assert rejected["place"].tolist() == ["line 3", "line 4", "line 5", "line 6"]
    assert rejected["row"].tolist() == ["P-2", "P-3 (line 4)", "P-3 (line 5)", "P-5"]
    assert json.loads(rejected["cells"].iloc[0]) == {
        "parcel_id": "P-2",
        "lat": "45.02",
        "lon": "-99.999",
        "stories": "two",
    }
    assert "stories = x is not a number" in rejected["reasons"].iloc[3]
    assert "looks swapped" in rejected["reasons"].iloc[3]
    assert len(district.rejected) == 5


def test_no_row_is_lost(tiny_district: Write) -> None:
    district = read(tiny_district(parcels_csv=PARCELS))
    assert len(district.inputs.parcels) + len(district.rejected_rows) == 6


def test_a_sound_district_sets_nothing_aside(tiny_district: Write) -> None:
    district = read(tiny_district())
    assert len(district.rejected) == 0
    assert list(district.rejected_rows.columns) == ["table", "place", "row", "reasons", "cells"]


def test_the_units_of_a_lost_station_go_with_it(tiny_district: Write) -> None:
    district = read(
        tiny_district(
            stations_csv="station_id,lat,lon,aid\nS-1,45,-100,own\nS-2,45,-100,county\n",
            apparatus_csv="unit_id,station_id,kind,tank_gal\nT-1,S-1,tanker,2000\n"
            "T-2,S-2,tanker,2000\nT-3,S-3,tanker,2000\n",
        )
    )
    assert district.inputs.apparatus["unit_id"].tolist() == ["T-1"]
    county, lost, unknown = map(str, district.rejected)
    assert county.startswith("stations: S-2: aid = county is not a word of this column.")
    assert lost.startswith("apparatus: T-2: station_id = S-2 is a station that was set aside.")
    assert unknown.startswith("apparatus: T-3: station_id = S-3 is no station of the stations")


def test_a_unit_of_a_station_that_stands_twice_goes_too(tiny_district: Write) -> None:
    stations = "station_id,lat,lon\nS-1,45,-100\nS-1,45.01,-100\nS-2,45,-100\n"
    units = "unit_id,station_id,kind,tank_gal\nT-1,S-1,tanker,2000\nT-2,S-2,tanker,2000\n"
    district = read(tiny_district(stations_csv=stations, apparatus_csv=units))
    assert district.inputs.stations["station_id"].tolist() == ["S-2"]
    assert district.inputs.apparatus["unit_id"].tolist() == ["T-2"]


def test_rows_with_too_few_cells_are_set_aside(tiny_district: Write) -> None:
    parcels = "parcel_id,lat,lon\nP-1,45.001,-100.03\nP-2,45.02\nP-3,45,-100,7\n"
    district = read(tiny_district(parcels_csv=parcels))
    assert district.inputs.parcels["parcel_id"].tolist() == ["P-1"]
    assert len(district.rejected) == 2


def test_a_fault_of_a_whole_table_still_stops(tiny_district: Write) -> None:
    with pytest.raises(TableError, match="column 'lon' is missing"):
        read(tiny_district(parcels_csv="parcel_id,lat\nP-1,45.001\n"))
    with pytest.raises(TableError, match="Did you mean 'stories'"):
        read(tiny_district(parcels_csv="parcel_id,lat,lon,storys\nP-1,45.001,-100,2\n"))


def test_a_table_of_which_nothing_is_left_stops_with_the_reasons(tiny_district: Write) -> None:
    with pytest.raises(TableError) as caught:
        read(tiny_district(stations_csv="station_id,lat,lon\nS-1,45,\n"))
    said = [str(fault) for fault in caught.value.faults]
    assert said[0].startswith("stations: has no row without a fault.")
    assert said[1].startswith("apparatus: has no row without a fault.")
    assert said[2].startswith("stations: S-1: lon is empty.")
    assert "a station that was set aside" in said[3]
