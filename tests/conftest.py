"""Fixtures that several areas share."""

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings

#: A program for the hand, not a test; it needs atheris, which no test does.
collect_ignore = ["fuzz_readers.py"]

# The same cases in every run: a red test must be red for everybody.
settings.register_profile("same", derandomize=True, deadline=None)
settings.load_profile("same")

#: An invented place: two roads that cross, three parcels, two fill sites, one station.
TINY = {
    "district.toml": """\
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

[scenario.winter.operation]
month = 1
""",
    "roads.osm": """\
<?xml version="1.0" encoding="UTF-8"?>
<osm version="0.6">
  <node id="1" lat="45.00" lon="-100.05"/>
  <node id="2" lat="45.00" lon="-100.00"/>
  <node id="3" lat="45.00" lon="-99.95"/>
  <node id="4" lat="44.96" lon="-100.00"/>
  <node id="5" lat="45.04" lon="-100.00"/>
  <way id="10">
    <nd ref="1"/><nd ref="2"/><nd ref="3"/>
    <tag k="highway" v="tertiary"/><tag k="name" v="Mill Road"/>
  </way>
  <way id="11">
    <nd ref="4"/><nd ref="2"/><nd ref="5"/>
    <tag k="highway" v="residential"/><tag k="name" v="Ridge Road"/>
  </way>
</osm>
""",
    "parcels.csv": """\
parcel_id,lat,lon,floor_area_ft2,stories,structures
P-1,45.001,-100.03,1500,1,1
P-2,45.02,-99.999,2400,2,1
P-3,44.97,-100.001,,,0
""",
    "fill_sites.csv": """\
site_id,kind,lat,lon,flow_gpm,usable_gal,fill_positions
H-1,hydrant,45.0001,-99.97,900,,2
D-1,pond,44.9999,-100.04,600,200000,1
""",
    "stations.csv": """\
station_id,name,lat,lon
S-1,Crossing,45.0002,-100.0002
""",
    "apparatus.csv": """\
unit_id,station_id,kind,tank_gal,dump_gpm,pump_gpm,portable_tank_gal,supply_hose_ft,supply_hose_in
T-1,S-1,tanker,2000,1000,500,2500,,
T-2,S-1,tanker,1500,800,,,,
E-1,S-1,engine,750,,1250,,1000,4
""",
}


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep every test out of the user's cache folder."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))


@pytest.fixture
def tiny_district(tmp_path: Path) -> Callable[..., Path]:
    """Return what writes the tiny district, some of its files replaced, and gives its folder."""

    def write(**files: str | bytes) -> Path:
        """Write it; ``parcels_csv="…"`` replaces parcels.csv."""
        folder = tmp_path / "tiny"
        folder.mkdir(exist_ok=True)
        replaced = {"_".join(name.rsplit(".", 1)): name for name in TINY}
        changed = {replaced[key]: content for key, content in files.items()}
        for name, content in {**TINY, **changed}.items():
            data = content.encode() if isinstance(content, str) else content
            (folder / name).write_bytes(data)
        return folder

    return write
