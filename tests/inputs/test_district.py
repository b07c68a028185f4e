"""What a sound district is read as."""

import hashlib
from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from pyproj import Transformer

from haulshed.errors import TableError
from haulshed.inputs import district as district_module
from haulshed.inputs.bbox import Bbox
from haulshed.inputs.district import District, read_district
from haulshed.inputs.roads import read_roads
from haulshed.scenario import RoadRules
from haulshed.tables.apparatus import APPARATUS
from haulshed.tables.fill_sites import FILL_SITES
from haulshed.tables.parcels import PARCELS
from haulshed.tables.stations import STATIONS
from haulshed.units import System

Write = Callable[..., Path]


def read(folder: Path, scenario: str | None = None) -> District:
    return read_district(folder, scenario=scenario, progress=lambda _step: None)


def change(folder: Path, file: str, old: str, new: str) -> Path:
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return folder


def test_the_tables_are_whole_typed_and_in_the_roads_system(tiny_district: Write) -> None:
    district = read(tiny_district())
    inputs = district.inputs
    assert inputs.name == "Tiny"
    assert district.units is System.US
    assert district.scenario_name == "base"
    pairs = (
        (PARCELS, inputs.parcels, ["structure", "access"]),
        (FILL_SITES, inputs.fill_sites, []),
        (STATIONS, inputs.stations, []),
        (APPARATUS, inputs.apparatus, []),
    )
    for table, frame, further in pairs:
        assert list(frame.columns) == [column.name for column in table.columns] + further
        assert list(frame.index) == list(range(len(frame)))
        table.check(frame)
    for frame in (inputs.parcels, inputs.fill_sites, inputs.stations):
        assert frame.crs == inputs.segments.crs
    for name in ("structure", "access"):
        assert inputs.parcels[name].crs == inputs.segments.crs
        assert inputs.parcels[name].isna().all()


def test_rows_stay_in_file_order(tiny_district: Write) -> None:
    inputs = read(tiny_district()).inputs
    assert inputs.parcels["parcel_id"].tolist() == ["P-1", "P-2", "P-3"]
    assert inputs.fill_sites["site_id"].tolist() == ["H-1", "D-1"]
    assert inputs.apparatus["unit_id"].tolist() == ["T-1", "T-2", "E-1"]


def test_degrees_come_to_lie_where_proj_puts_them(tiny_district: Write) -> None:
    folder = change(
        tiny_district(), "parcels.csv", "floor_area_ft2,stories", "access_lat,access_lon"
    )
    change(folder, "parcels.csv", "1500,1,1", "45.0,-100.03,1")
    change(folder, "parcels.csv", "2400,2,1", ",,1")
    parcels = read(folder).inputs.parcels
    to_metres = Transformer.from_crs(4326, parcels.crs, always_xy=True)
    for place, lon, lat in (("geometry", -100.03, 45.001), ("access", -100.03, 45.0)):
        point = parcels[place].iloc[0]
        assert (point.x, point.y) == pytest.approx(to_metres.transform(lon, lat))
    assert parcels["access"].isna().tolist() == [False, True, True]


def test_defaults_are_filled_and_what_the_model_decides_stays_empty(tiny_district: Write) -> None:
    inputs = read(tiny_district()).inputs
    sites = inputs.fill_sites.set_index("site_id")
    assert sites["source_id"].tolist() == ["H-1", "D-1"]
    assert sites["needs_pumper"].tolist() == [False, True]
    assert sites["status"].tolist() == ["open", "open"]
    assert sites["recharge_gpm"].tolist() == [0, 0]
    assert sites["handling_min"].isna().all()
    assert np.isnan(sites.loc["H-1", "usable_gal"])
    units = inputs.apparatus.set_index("unit_id")
    assert units.loc["T-2", ["fill_gpm", "pump_gpm", "crew", "alarm"]].tolist() == [1000, 0, 2, 1]
    assert np.isnan(units.loc["E-1", "dump_gpm"])
    assert inputs.stations["aid"].tolist() == ["own"]


def test_a_site_without_tested_flow_keeps_its_flow_test(tiny_district: Write) -> None:
    folder = change(
        tiny_district(),
        "fill_sites.csv",
        "flow_gpm,usable_gal,fill_positions\nH-1,hydrant,45.0001,-99.97,900,,2\n"
        "D-1,pond,44.9999,-100.04,600,200000,1",
        "static_kpa,residual_psi,test_flow_lpm,source_id\n"
        "H-1,hydrant,45.0001,-99.97,400,40,2000,MAIN",
    )
    site = read(folder).inputs.fill_sites.iloc[0]
    assert np.isnan(site["flow_gpm"])
    # 1 psi = 6.894757 kPa, 1 gal = 3.785412 L (NIST Special Publication 811, appendix B)
    assert site["static_psi"] == pytest.approx(400 / 6.894757, rel=1e-6)
    assert site["test_flow_gpm"] == pytest.approx(2000 / 3.785412, rel=1e-6)
    assert site["source_id"] == "MAIN"


def test_words_months_and_choices_are_read_as_they_are_meant(tiny_district: Write) -> None:
    folder = tiny_district(
        fill_sites_csv="site_id,kind,lat,lon,flow_gpm,needs_pumper,open_months,status\n"
        'H-1, Hydrant ,45.0001,-99.97,900,YES,"11-2, 7",Closed\n'
        "H-2,hydrant,45.0001,-99.97,9e2,0,5,\n"
    )
    sites = read(folder).inputs.fill_sites
    assert sites["kind"].tolist() == ["hydrant", "hydrant"]
    assert sites["needs_pumper"].tolist() == [True, False]
    assert sites["open_months"].tolist() == ["1,2,7,11,12", "5"]
    assert sites["status"].tolist() == ["closed", "open"]


def test_names_that_look_like_formulas_are_data(tiny_district: Write) -> None:
    folder = change(tiny_district(), "stations.csv", "S-1,Crossing", 'S-1,"=1+1, ""@home"""')
    assert read(folder).inputs.stations["name"].tolist() == ['=1+1, "@home"']


def test_ids_keep_their_zeros(tiny_district: Write) -> None:
    folder = change(tiny_district(), "parcels.csv", "P-1", "007")
    assert read(folder).inputs.parcels["parcel_id"].tolist()[0] == "007"


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_a_byte_order_mark_and_any_line_ending_change_nothing(
    newline: str, tiny_district: Write
) -> None:
    plain = read(tiny_district()).inputs
    folder = tiny_district()
    for name in ("parcels.csv", "fill_sites.csv", "stations.csv", "apparatus.csv"):
        path = folder / name
        text = path.read_text().replace("\n", newline)
        path.write_bytes(b"\xef\xbb\xbf" + text.encode())
    marked = read(folder).inputs
    assert plain.parcels.equals(marked.parcels)
    assert plain.fill_sites.equals(marked.fill_sites)
    assert plain.stations.equals(marked.stations)
    assert plain.apparatus.equals(marked.apparatus)


def test_empty_lines_are_passed_over_and_counted(tiny_district: Write) -> None:
    folder = change(tiny_district(), "parcels.csv", "P-2,", ",,,,,\n\nP-2,")
    district = read(folder)
    assert len(district.inputs.parcels) == 3
    assert district.inputs.reading_notes == ("parcels.csv: 2 empty lines passed over",)


def test_headers_may_be_mapped_ignored_or_nothing_of_ours(tiny_district: Write) -> None:
    folder = change(tiny_district(), "parcels.csv", "parcel_id,", "PIN,")
    change(folder, "parcels.csv", "floor_area_ft2,stories", "LIVING_M2,zoning")
    change(folder, "parcels.csv", "structures", "structure")
    change(
        folder,
        "district.toml",
        'file = "parcels.csv"',
        'file = "parcels.csv"\ncolumns = { parcel_id = "PIN", floor_area_m2 = "LIVING_M2" }\n'
        'ignore = ["structure"]',
    )
    district = read(folder)
    assert district.inputs.parcels["parcel_id"].tolist() == ["P-1", "P-2", "P-3"]
    # 1 ft² = 0.09290304 m² (NIST Special Publication 811, appendix B)
    assert district.inputs.parcels["floor_area_ft2"].iloc[0] == pytest.approx(1500 / 0.09290304)
    assert district.inputs.parcels["structures"].isna().all()
    assert district.inputs.reading_notes == ("parcels.csv: not used: zoning",)


def test_a_scenario_changes_its_own_keys_only(tiny_district: Write) -> None:
    folder = change(
        tiny_district(),
        "district.toml",
        "[scenario.winter.operation]",
        "[operation]\nassembly_min = 20\n[scenario.all.roads.speed_mph]\ntrack = 5\n"
        "[scenario.winter.operation]",
    )
    base, winter, everything = (
        read(folder, name).inputs.scenario for name in (None, "winter", "all")
    )
    assert (base.operation.month, winter.operation.month) == (None, 1)
    assert winter.operation.assembly_min == base.operation.assembly_min == 20
    assert everything.roads.speed_mph.track == 5
    assert everything.roads.speed_mph.primary == base.roads.speed_mph.primary
    assert read(folder, "winter").scenario_name == "winter"


def test_the_name_is_the_folders_where_none_is_given(tiny_district: Write) -> None:
    folder = change(tiny_district(), "district.toml", 'name = "Tiny"', 'units = "si"')
    assert read(folder).inputs.name == "tiny"
    assert read(folder / "district.toml").units is System.SI


def test_every_input_file_is_hashed(tiny_district: Write) -> None:
    folder = tiny_district()
    expected = {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()
    }
    assert read(folder).input_sha256 == expected


def test_every_part_of_a_shapefile_is_hashed(tiny_district: Write) -> None:
    folder = change(tiny_district(), "district.toml", "stations.csv", "stations.shp")
    stations = gpd.GeoDataFrame(
        {"station_id": ["S-1"]}, geometry=gpd.points_from_xy([-100], [45]), crs=4326
    )
    stations.to_file(folder / "stations.shp")
    hashed = read(folder).input_sha256
    assert {"stations.shp", "stations.dbf", "stations.shx", "stations.prj"} <= set(hashed)


def test_files_may_lie_elsewhere(tiny_district: Write) -> None:
    folder = change(tiny_district(), "district.toml", "stations.csv", "../stations.csv")
    (folder / "stations.csv").rename(folder.parent / "stations.csv")
    assert "../stations.csv" in read(folder).input_sha256


def test_each_step_is_told(tiny_district: Write) -> None:
    steps: list[str] = []
    read_district(tiny_district(), progress=steps.append)
    assert steps[-4:] == [
        "Reading parcels.csv.",
        "Reading fill_sites.csv.",
        "Reading stations.csv.",
        "Reading apparatus.csv.",
    ]


@pytest.mark.parametrize(
    ("source", "where"),
    [
        ('place = "Larkmoor"', "Larkmoor"),
        (
            "bbox = { west = -100.05, south = 44.9, east = -99.9, north = 45.1 }",
            Bbox(west=-100.05, south=44.9, east=-99.9, north=45.1),
        ),
    ],
)
def test_roads_may_be_downloaded(
    source: str,
    where: str | Bbox,
    tiny_district: Write,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folder = change(tiny_district(), "district.toml", 'file = "roads.osm"', source)
    asked: list[object] = []

    def download(what: object, rules: RoadRules, **others: object) -> object:
        asked.append(what)
        return read_roads(folder / "roads.osm", rules, **others)  # type: ignore[arg-type]  # passed on

    monkeypatch.setattr(district_module, "download_roads", download)
    assert len(read(folder).inputs.segments) == 4
    assert asked == [where]


def test_a_fleet_without_tankers_is_no_fault(tiny_district: Write) -> None:
    units = "unit_id,station_id,kind,pump_gpm\nE-1,S-1,engine,1000\n"
    assert read(tiny_district(apparatus_csv=units)).inputs.apparatus["kind"].tolist() == ["engine"]


def test_a_stream_may_have_no_volume_and_a_cistern_may_not(tiny_district: Write) -> None:
    sites = "site_id,kind,lat,lon,flow_gpm\nA,{},45,-100,500\n"
    stream = read(tiny_district(fill_sites_csv=sites.format("stream")))
    assert pd.isna(stream.inputs.fill_sites["usable_gal"].iloc[0])
    for kind in ("pond", "cistern", "dry_hydrant"):
        with pytest.raises(TableError, match="usable_gal is needed"):
            read(tiny_district(fill_sites_csv=sites.format(kind)))
