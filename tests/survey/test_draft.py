"""From a made map to a district's tables: what becomes what, and what is left out."""

from pathlib import Path

import geopandas as gpd
import pytest
from shapely import MultiPolygon, Point, Polygon

from haulshed.survey.draft import Draft, draft_district
from haulshed.units import M_PER_FT
from map_maker import MapMaker, read

FT2_PER_M2 = 10.763910417


def drafted(maker: MapMaker, tmp_path: Path, name: str = "", **how: str) -> Draft:
    extract, segments = read(maker.write(tmp_path / "map.osm", **how))
    return draft_district(extract, segments, name=name)


def parcels(draft: Draft) -> dict[str, dict[str, object]]:
    assert draft.lots is not None
    table = draft.lots.parcels.set_index("parcel_id")
    return {str(one): table.loc[one].to_dict() for one in table.index}


def area_ft2(row: dict[str, object]) -> float:
    (flat,) = gpd.GeoSeries([row["geometry"]], crs=4326).to_crs("EPSG:32614").area
    return float(flat) * FT2_PER_M2


def test_a_building_is_a_parcel_with_what_is_mapped_of_it(maker: MapMaker, tmp_path: Path) -> None:
    way = maker.square(
        *(0, 30, 12), building="house", addr__housenumber="7", addr__street="Mill Road",
    )  # fmt: skip
    (row,) = parcels(drafted(maker, tmp_path)).items()
    assert row[0] == f"w{way}"
    assert row[1]["address"] == "7 Mill Road"
    assert area_ft2(row[1]) == pytest.approx(144 * FT2_PER_M2, rel=0.005)


def test_a_building_of_a_relation_keeps_its_courtyard(maker: MapMaker, tmp_path: Path) -> None:
    outer, inner = maker.square(0, 30, 40), maker.square(10, 40, 10)
    maker.relation({outer: "outer", inner: "inner"}, type="multipolygon", building="yes")
    ((name, row),) = parcels(drafted(maker, tmp_path)).items()
    assert name == "r1"
    assert area_ft2(row) == pytest.approx((1600 - 100) * FT2_PER_M2, rel=0.005)


@pytest.mark.parametrize("value", ["garage", "shed", "roof", "no", "entrance"])
def test_what_is_no_property_is_no_parcel(maker: MapMaker, tmp_path: Path, value: str) -> None:
    maker.square(0, 30, 12, building=value)
    assert parcels(drafted(maker, tmp_path)) == {}


def test_a_footprint_under_100_ft2_is_left_out_and_counted(maker: MapMaker, tmp_path: Path) -> None:
    """100 ft² is 9.3 m²."""
    maker.square(0, 30, 3.0, building="yes")
    kept = maker.square(20, 30, 3.1, building="yes")
    draft = drafted(maker, tmp_path)
    assert list(parcels(draft)) == [f"w{kept}"]
    assert draft.lots is not None
    assert draft.lots.outbuildings == 1


def test_an_address_is_a_parcel_where_no_building_is_near(maker: MapMaker, tmp_path: Path) -> None:
    """100 ft is 30.5 m from the building's edge; shops of one address are one parcel."""
    maker.square(0, 30, 12, building="yes")
    maker.point(40, 36, addr__housenumber="1", addr__street="Mill Road")
    far = maker.point(44, 36, addr__housenumber="2", addr__street="Mill Road")
    maker.point(46, 36, addr__housenumber="2", addr__street="Mill Road")
    rows = parcels(drafted(maker, tmp_path))
    assert list(rows) == ["w2", f"n{far}"]
    assert isinstance(rows[f"n{far}"]["geometry"], Point)


def test_a_broken_building_does_not_become_a_parcel(maker: MapMaker, tmp_path: Path) -> None:
    maker.line((0, 30), (10, 30), (10, 40), building="yes")
    maker.way([9001, 9002, 9003, 9001], building="yes")
    assert parcels(drafted(maker, tmp_path)) == {}


def test_the_smallest_area_that_holds_most_buildings_is_the_outline(
    maker: MapMaker, tmp_path: Path
) -> None:
    for n in range(10):
        maker.square(100 * n, 30, 12, building="yes")
    for name, side, level in (("Wide", 9000, "6"), ("Larkmoor", 3000, "8"), ("Bit", 100, "9")):
        maker.square(-60, -60, side, boundary="administrative", name=name, admin_level=level)
    draft = drafted(maker, tmp_path)
    assert draft.name == "Larkmoor"
    assert isinstance(draft.outline.shape, Polygon | MultiPolygon)
    asked = drafted(maker, tmp_path, "bit")
    assert asked.lots is not None
    assert asked.lots.outside == 9
    assert asked.outline.name == "Bit"


def test_without_an_area_the_outline_is_the_box_of_the_extract_or_of_the_roads(
    maker: MapMaker, tmp_path: Path
) -> None:
    """The road ends 2,000 m from the middle; a parcel may lie 2,640 ft, 805 m, off it."""
    box = '<bounds minlat="44.99" minlon="-100.01" maxlat="45.01" maxlon="-99.99"/>'
    assert drafted(maker, tmp_path, box=box).outline.shape.bounds == (-100.01, 44.99, -99.99, 45.01)
    west, _, east, _ = drafted(maker, tmp_path).outline.shape.bounds
    assert (west, east) == pytest.approx((-100 - 2805 / 78_847, -100 + 2805 / 78_847), abs=3e-4)


def test_a_station_beyond_the_outline_is_mutual_aid(maker: MapMaker, tmp_path: Path) -> None:
    box = '<bounds minlat="44.99" minlon="-100.01" maxlat="45.01" maxlon="-99.99"/>'
    own = maker.point(0, 10, amenity="fire_station", name="Mill")
    far = maker.square(1500, 20, 30, amenity="fire_station", building="yes")
    draft = drafted(maker, tmp_path, box=box)
    table = draft.stations.set_index("station_id")
    assert table["aid"].to_dict() == {f"n{own}": "own", f"w{far}": "mutual"}
    assert table.loc[f"w{far}", "lat"] == pytest.approx(45 + 20 / 111_132, abs=1e-5)  # by the road
    assert draft.apparatus["unit_id"].tolist() == [
        *(f"E-n{own}", f"T-n{own}", f"E-w{far}", f"T-w{far}"),
    ]
    assert set(draft.apparatus["unit_source"]) == {"default"}


def test_without_a_station_nothing_is_made_up(maker: MapMaker, tmp_path: Path) -> None:
    draft = drafted(maker, tmp_path)
    assert len(draft.stations) == len(draft.apparatus) == len(draft.waters.fill_sites) == 0
    assert any("nothing is made up" in note for note in draft.notes)


def test_a_suction_point_draws_from_the_water_beside_it(maker: MapMaker, tmp_path: Path) -> None:
    """By hand: 50 × 50 m are 26,910 ft²; 2 ft of that are 402,598 gal (7.48052 gal/ft³)."""
    pond = maker.square(0, 20, 50, natural="water")
    maker.point(10, 15, emergency="suction_point")
    maker.point(900, 5, emergency="suction_point")
    waters = drafted(maker, tmp_path).waters
    assert waters.fill_sites["source_id"].tolist() == [f"w{pond}", None]
    assert waters.fill_sites["usable_gal"].tolist() == [pytest.approx(402_598, rel=0.01), 30_000]
    assert set(waters.fill_sites["volume_source"]) == {"default"}
    assert len(waters.candidates) == 0


def test_water_beside_a_road_is_a_candidate_and_no_fill_site(
    maker: MapMaker, tmp_path: Path
) -> None:
    """200 ft are 61 m; 30,000 gal at a draw of 2 ft take 2,005 ft², 186 m²."""
    near = maker.square(0, 60, 20, natural="water", name="Mere", intermittent="yes")
    maker.square(100, 62, 20, natural="water")  # too far
    maker.square(200, 20, 13.5, natural="water")  # too small: 182 m²
    maker.square(300, 20, 50, natural="water", water="wastewater")
    river = maker.square(400, 10, 50, natural="water", water="river")
    waters = drafted(maker, tmp_path).waters
    table = waters.candidates.set_index("site_id")
    assert set(table.index) == {f"w{near}", f"w{river}"}
    assert table.loc[f"w{near}", "road_ft"] == pytest.approx(60 / M_PER_FT, abs=1.5)
    assert table.loc[f"w{near}", "area_ft2"] == pytest.approx(400 * FT2_PER_M2, rel=0.01)
    assert table.loc[f"w{near}", "road_name"] == "Mill Road"
    assert table["kind"].to_dict() == {f"w{near}": "pond", f"w{river}": "stream"}
    assert table["seasonal"].to_dict() == {f"w{near}": "yes", f"w{river}": "no"}
    assert len(waters.fill_sites) == 0
    assert waters.small_or_far == 3


def test_a_fire_water_pond_is_put_where_the_road_comes_nearest(
    maker: MapMaker, tmp_path: Path
) -> None:
    maker.square(0, 20, 50, emergency="fire_water_pond", natural="water")
    waters = drafted(maker, tmp_path).waters
    (site,) = waters.fill_sites.to_dict("records")
    assert (site["kind"], site["site_id"]) == ("pond", "w2")
    assert site["lat"] == pytest.approx(45 + 20 / 111_132, abs=1e-5)
    assert len(waters.candidates) == 0


@pytest.mark.parametrize("order", ["wnr", "rwn", "nrw"])
def test_the_order_of_a_files_objects_does_not_matter(
    maker: MapMaker, tmp_path: Path, order: str
) -> None:
    outer, inner = maker.square(0, 30, 40), maker.square(10, 40, 10)
    maker.relation({outer: "outer", inner: "inner"}, type="multipolygon", building="yes")
    maker.square(100, 30, 12, building="house")
    sorted_rows = parcels(drafted(maker, tmp_path))
    assert len(sorted_rows) == 2
    assert parcels(drafted(maker, tmp_path, order=order)).keys() == sorted_rows.keys()


def test_a_cut_off_hydrant_area_is_named(maker: MapMaker, tmp_path: Path) -> None:
    way = maker.way([9001, 9002, 9003, 9001], emergency="water_tank")
    assert any(f"w{way}" in note and "cut off" in note for note in drafted(maker, tmp_path).notes)
