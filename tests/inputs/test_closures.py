"""Closed ways and closed areas, as district.toml names them."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from haulshed.assess.ground import ground
from haulshed.errors import TableError
from haulshed.inputs.district import District, read_district

Write = Callable[..., Path]
BASE = """
[district]
name = "Tiny"
[roads]
file = "roads.osm"
[parcels]
file = "parcels.csv"
[fill_sites]
file = "fill_sites.csv"
[stations]
file = "stations.csv"
[apparatus]
file = "apparatus.csv"
"""


def read(folder: Path, scenario: str | None = None) -> District:
    return read_district(folder, scenario=scenario, progress=lambda *_: None)


def closed_ways(district: District) -> set[int]:
    segments = ground(district.inputs).network.segments
    shut = ~(segments["forward_open"] | segments["backward_open"])
    return set(segments["way_id"][shut])


def square(west: float, south: float, east: float, north: float) -> str:
    ring = [[west, south], [east, south], [east, north], [west, north], [west, south]]
    return json.dumps({"type": "Polygon", "coordinates": [ring]})


def test_a_scenario_closes_a_way(tiny_district: Write) -> None:
    toml = f"{BASE}[scenario.flood.roads]\nclosed_ways = [11]\n"
    folder = tiny_district(district_toml=toml)
    assert closed_ways(read(folder)) == set()
    assert closed_ways(read(folder, "flood")) == {11}
    assert closed_ways(read(folder)) == set()  # the cache keeps the roads as the file has them


def test_a_scenario_closes_an_area(tiny_district: Write) -> None:
    toml = f'{BASE}[scenario.flood.roads]\nclosed_area = "flood.geojson"\n'
    folder = tiny_district(district_toml=toml)
    (folder / "flood.geojson").write_text(square(-100.04, 44.99, -100.02, 45.01), encoding="utf-8")
    flooded = read(folder, "flood")
    assert closed_ways(flooded) == {10}
    shut = flooded.inputs.segments
    assert (shut["forward_open"] | shut["backward_open"]).sum() == len(shut) - 1
    assert "flood.geojson" in flooded.input_sha256
    assert "flood.geojson" not in read(folder).input_sha256


def test_a_way_that_is_not_there_is_a_fault_each(tiny_district: Write) -> None:
    toml = BASE.replace('"roads.osm"', '"roads.osm"\nclosed_ways = [11, 12, 13]')
    with pytest.raises(TableError) as caught:
        read(tiny_district(district_toml=toml))
    assert [fault.value for fault in caught.value.faults] == ["12", "13"]
    assert "closed_ways = 12 is no way among the roads" in str(caught.value)


def test_an_area_that_is_not_there(tiny_district: Write) -> None:
    toml = BASE.replace('"roads.osm"', '"roads.osm"\nclosed_area = "flood.geojson"')
    with pytest.raises(TableError, match=r"closed_area = flood.geojson does not exist"):
        read(tiny_district(district_toml=toml))


@pytest.mark.parametrize("text", ["{}", "no json", '{"type": "Point", "coordinates": [0, 0]}'])
def test_an_area_that_is_none(tiny_district: Write, text: str) -> None:
    toml = BASE.replace('"roads.osm"', '"roads.osm"\nclosed_area = "flood.geojson"')
    folder = tiny_district(district_toml=toml)
    (folder / "flood.geojson").write_text(text, encoding="utf-8")
    with pytest.raises(ValueError, match="closed_area"):
        read(folder)
