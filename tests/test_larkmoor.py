"""The demo district: made by its script byte for byte, and as much a place as a map can be."""

import csv
import tomllib
from collections import Counter
from dataclasses import replace
from importlib import import_module
from pathlib import Path

import geopandas as gpd
import networkx as nx
import osmium
import pytest
import shapely
from pyproj import Geod
from shapely import LineString, Polygon, STRtree

from haulshed.assess.model import assess
from haulshed.inputs.district import read_district

SAMPLES = Path(__file__).parents[1] / "data_samples"
LARKMOOR = SAMPLES / "larkmoor"
#: UTM zone 10 south, in which the whole district lies [EPSG].
UTM = 32710
M2_PER_MI2 = 1609.344**2
M_PER_FT = 0.3048
#: The box of open ocean around the oceanic pole of inaccessibility (48.9° S 123.4° W).
OCEAN = (-123.4, -49.1, -122.6, -48.6)
#: The lands nearest to that pole: Ducie, Motu Nui and Maher Island (values from memory).
NEAREST_LANDS = ((-124.79, -24.68), (-109.45, -27.20), (-126.28, -72.98))


def rows(name: str) -> list[dict[str, str]]:
    with (LARKMOOR / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def ways() -> gpd.GeoDataFrame:
    found = []
    for item in osmium.FileProcessor(str(LARKMOOR / "roads.osm")).with_locations():
        if item.is_way():
            refs = [node.ref for node in item.nodes]
            line = LineString([(node.lon, node.lat) for node in item.nodes])
            found.append({**dict(item.tags), "refs": refs, "geometry": line})
    return gpd.GeoDataFrame(found, crs=4326).to_crs(UTM)


@pytest.fixture(scope="module")
def roads(ways: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    return ways[ways.highway.notna()].reset_index(drop=True)


@pytest.fixture(scope="module")
def public(roads: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    return roads[~roads.highway.isin(["service", "track"])].reset_index(drop=True)


@pytest.fixture(scope="module")
def parcels() -> gpd.GeoDataFrame:
    return gpd.read_file(LARKMOOR / "parcels.geojson").to_crs(UTM)


@pytest.fixture(scope="module")
def structures(parcels: gpd.GeoDataFrame) -> gpd.GeoSeries:
    points = gpd.points_from_xy(parcels.structure_lon, parcels.structure_lat, crs=4326)
    return gpd.GeoSeries(points, crs=4326).to_crs(UTM)


def test_script_makes_the_committed_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(SAMPLES)
    import_module("make_larkmoor").make(tmp_path)
    made = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    committed = {path.name: path.read_bytes() for path in LARKMOOR.iterdir()}
    assert made.keys() == committed.keys()
    assert [name for name in made if made[name] != committed[name]] == []


def test_folder_is_small() -> None:
    assert sum(path.stat().st_size for path in LARKMOOR.iterdir()) < 3_000_000


def test_lies_in_open_ocean(ways: gpd.GeoDataFrame) -> None:
    west, south, east, north = ways.to_crs(4326).total_bounds
    assert OCEAN[0] < west < east < OCEAN[2]
    assert OCEAN[1] < south < north < OCEAN[3]
    for lon, lat in NEAREST_LANDS:
        for x, y in ((west, south), (west, north), (east, south), (east, north)):
            _, _, away_m = Geod(ellps="WGS84").inv(lon, lat, x, y)
            assert away_m > 2_600_000


def test_area_is_about_350_square_miles() -> None:
    outline = gpd.read_file(LARKMOOR / "boundary.geojson").to_crs(UTM).geometry
    assert len(outline) == 1
    assert 330 < outline.area.sum() / M2_PER_MI2 < 370


def test_counts(parcels: gpd.GeoDataFrame, roads: gpd.GeoDataFrame) -> None:
    uses = Counter(ref for refs in roads.refs for ref in set(refs))
    ends = {ref for refs in roads.refs for ref in (refs[0], refs[-1])}
    nodes = ends | {ref for ref, count in uses.items() if count > 1}
    assert 1000 <= len(nodes) <= 2000
    assert len(parcels) == parcels.parcel_id.nunique() == 3000
    assert 20 <= len(rows("fill_sites.csv")) <= 25
    aid = Counter(row["aid"] for row in rows("stations.csv"))
    assert (aid["own"], aid.total() - aid["own"]) == (5, 3)
    assert 14 <= len(rows("apparatus.csv")) <= 18


def test_fill_sites_of_all_kinds_and_troubles() -> None:
    sites = rows("fill_sites.csv")
    assert {row["kind"] for row in sites} == {
        "hydrant",
        "dry_hydrant",
        "pond",
        "stream",
        "cistern",
    }
    assert any(row["kind"] == "stream" and row["open_months"] for row in sites)
    ponds = [float(row["usable_gal"]) for row in sites if row["kind"] == "pond"]
    assert min(ponds) < 50_000
    weak = [row for row in sites if row["source_id"] == "MAIN-S"]
    assert len(weak) == 2
    assert all(float(row["test_flow_gpm"]) < 400 for row in weak)


def test_one_tanker_has_no_working_dump_valve() -> None:
    tankers = [row for row in rows("apparatus.csv") if row["kind"] == "tanker"]
    assert sum(row["dump_gpm"] == "" for row in tankers) == 1


def test_names_exercise_escaping(roads: gpd.GeoDataFrame) -> None:
    names = " ".join([*roads.name.dropna(), *(row["name"] for row in rows("fill_sites.csv"))])
    for hard in ("é", "É", "&", "'"):
        assert hard in names


def test_roads_are_of_many_kinds(roads: gpd.GeoDataFrame) -> None:
    assert {"primary", "secondary", "tertiary", "unclassified", "residential"} <= {*roads.highway}
    assert (roads.highway == "track").any()
    assert (roads.service == "driveway").sum() > 200
    assert {"yes", "-1"} <= {*roads.oneway.dropna()}
    assert (roads.junction == "roundabout").any()
    assert (roads.access == "private").any()
    unpaved = roads.surface.isin(["gravel", "compacted", "dirt"])
    assert unpaved.mean() > 0.2


def test_roads_hang_together_but_for_the_islet(public: gpd.GeoDataFrame) -> None:
    graph = nx.Graph()
    for refs in public.refs:
        nx.add_path(graph, refs)
    parts = sorted(nx.connected_components(graph), key=len)
    assert len(parts) == 2
    cut_off = {name for name, refs in zip(public.name, public.refs, strict=True)
               if set(refs) <= parts[0]}  # fmt: skip
    assert cut_off == {"Islet Lane"}


def test_dead_ends_run_for_miles(public: gpd.GeoDataFrame) -> None:
    graph = nx.Graph()
    for refs, line in zip(public.refs, public.geometry, strict=True):
        xy = list(line.coords)
        for one, other, a, b in zip(refs, refs[1:], xy, xy[1:], strict=False):
            graph.add_edge(one, other, miles=LineString([a, b]).length / 1609.344)
    bridges = graph.edge_subgraph(nx.bridges(graph))
    ends = [node for node in bridges if graph.degree(node) == 1]
    far = [max(nx.single_source_dijkstra_path_length(bridges, end, weight="miles").values())
           for end in ends]  # fmt: skip
    assert sum(miles > 2 for miles in far) >= 10


def test_only_bridges_cross_the_river(ways: gpd.GeoDataFrame, roads: gpd.GeoDataFrame) -> None:
    river = ways[(ways.waterway == "river")].geometry.union_all()
    wet = shapely.union_all(
        [
            river,
            *[Polygon(line.coords) for line in ways[ways.water == "river"].geometry],
        ]
    )
    crossing = roads[roads.intersects(wet)]
    assert (crossing.bridge == "yes").all()
    over = roads[roads.intersects(river)]
    assert 3 <= len(over) <= 4


def test_creeks_pass_under_roads_in_culverts(
    ways: gpd.GeoDataFrame, roads: gpd.GeoDataFrame
) -> None:
    open_creeks = ways[(ways.waterway == "stream") & ways.tunnel.isna()].geometry.union_all()
    assert not roads.intersects(open_creeks).any()


def test_parcels_are_sound_and_lie_apart(parcels: gpd.GeoDataFrame) -> None:
    shapes = parcels.geometry.to_numpy()
    assert shapely.is_valid(shapes).all()
    assert set(parcels.geom_type) == {"Polygon"}
    one, other = STRtree(shapes).query(shapes, predicate="intersects")
    one, other = one[one < other], other[one < other]
    shared = shapely.area(shapely.intersection(shapes[one], shapes[other]))
    smaller = shapely.area(shapes)[[one, other]].min(axis=0)
    assert (shared / smaller).max() < 0.005


def test_parcels_keep_off_roads_and_river(
    parcels: gpd.GeoDataFrame, public: gpd.GeoDataFrame, ways: gpd.GeoDataFrame
) -> None:
    shapes = parcels.geometry.to_numpy()
    for lines in (public.geometry, ways[ways.waterway == "river"].geometry):
        line, parcel = STRtree(shapes).query(lines.to_numpy(), predicate="intersects")
        inside = shapely.length(shapely.intersection(lines.to_numpy()[line], shapes[parcel]))
        assert inside.sum() < 1


def test_structures_stand_in_their_parcels(
    parcels: gpd.GeoDataFrame, structures: gpd.GeoSeries, ways: gpd.GeoDataFrame
) -> None:
    assert parcels.geometry.contains(structures).all()
    water = [Polygon(line.coords) for line in ways[ways.natural == "water"].geometry]
    assert not structures.intersects(shapely.union_all(water)).any()


def test_village_stands_near_the_street_and_farms_far(
    parcels: gpd.GeoDataFrame, structures: gpd.GeoSeries, public: gpd.GeoDataFrame
) -> None:
    setback_ft = structures.distance(public.geometry.union_all()) / M_PER_FT
    acres = parcels.area / 4046.856
    assert 50 <= setback_ft[acres < 1].median() <= 80
    farms = setback_ft[(acres > 20) & (setback_ft < 5280 / 2)]
    assert 300 < farms.median() < 600
    assert farms.quantile(0.99) > 1500


def test_some_attributes_are_not_known(parcels: gpd.GeoDataFrame) -> None:
    known = parcels[["floor_area_ft2", "stories", "occupancy_hazard", "people", "value"]]
    assert 200 < known.isna().any(axis=1).sum() < 600


def answers(scenario: str | None, cache_dir: Path) -> gpd.GeoDataFrame:
    def quiet(*_: object) -> None: ...

    district = read_district(LARKMOOR, scenario=scenario, cache_dir=cache_dir, progress=quiet)
    return assess(district.inputs, progress=quiet).parcels


def test_every_verdict_and_many_reasons_occur(tmp_path: Path) -> None:
    parcels = answers(None, tmp_path)
    shares = parcels.verdict.value_counts(normalize=True)
    assert {*shares.index} == {"hose line", "nurse", "dump site", "short", "none"}
    assert shares.min() >= 0.03
    reasons = parcels.limited_by.value_counts()
    assert (reasons >= 10).sum() >= 6
    assert {*parcels.lay_source.dropna()} >= {"straight", "driveway"}
    assert parcels.demand_source.nunique() == 3


def test_two_bridges_are_posted(roads: gpd.GeoDataFrame) -> None:
    posted = roads[roads.maxweight.notna()]
    assert (posted.bridge == "yes").all()
    assert dict(zip(posted.name, posted.maxweight, strict=True)) == {
        "Cold Spring Road": "22 st",
        "Upper Ford Lane": "12 st",
    }


def test_posted_bridges_and_a_closed_one_hurt(tmp_path: Path) -> None:
    def quiet(*_: object) -> None: ...

    def flow(scenario: str | None, **rules: object) -> gpd.GeoSeries:
        inputs = read_district(
            LARKMOOR, scenario=scenario, cache_dir=tmp_path, progress=quiet
        ).inputs
        roads = inputs.scenario.roads.model_copy(update=rules)
        changed = inputs.scenario.model_copy(update={"roads": roads})
        return assess(replace(inputs, scenario=changed), progress=quiet).parcels.sustained_gpm

    posted, closed = flow(None), flow("bridge_closed")
    free = flow(None, posted_weights="none")
    assert (posted <= free + 0.01).all()
    assert 50 < (posted < free - 1).sum() < 300
    assert (closed <= posted + 0.01).all()
    assert (closed < posted - 1).mean() > 0.2


def test_the_closed_way_is_moor_roads_bridge() -> None:
    settings = tomllib.loads((LARKMOOR / "district.toml").read_text(encoding="utf-8"))
    (way,) = settings["scenario"]["bridge_closed"]["roads"]["closed_ways"]
    tags = {
        item.id: dict(item.tags)
        for item in osmium.FileProcessor(str(LARKMOOR / "roads.osm"))
        if item.is_way()
    }
    assert (tags[way]["name"], tags[way]["bridge"]) == ("Moor Road", "yes")


def test_aid_helps_and_winter_and_drought_hurt(tmp_path: Path) -> None:
    flow = {
        name: answers(name, tmp_path).sustained_gpm
        for name in ("base", "all_aid", "winter", "drought")
    }
    assert (flow["all_aid"] >= flow["base"] - 0.01).all()
    assert (flow["drought"] <= flow["base"] + 0.01).all()
    for name in ("all_aid", "winter", "drought"):
        assert (abs(flow[name] - flow["base"]) > 1).mean() > 0.05
