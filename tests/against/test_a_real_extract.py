"""A whole run on a real extract: buildings as parcels, hydrants and ponds as fill sites.

Data: OpenStreetMap (© OpenStreetMap contributors, ODbL), north of Bayreuth, Germany. What OSM does
not say (flows, volumes, apparatus) is made up here and says nothing of the real place.
"""

import csv
from pathlib import Path

import networkx as nx
import osmium
import pandas as pd
import pytest

from haulshed import pipeline
from haulshed.inputs.roads import read_roads
from haulshed.scenario import RoadRules

EXTRACT = Path(__file__).parents[3] / "shared" / "osm" / "north_bayreuth_de.osm.pbf"

pytestmark = pytest.mark.skipif(
    not EXTRACT.is_file(), reason="real extracts (../shared/osm) are not part of the project"
)

TOML = """
[district]
name = "North"
[roads]
file = "{roads}"
[parcels]
file = "parcels.csv"
[fill_sites]
file = "fill_sites.csv"
[stations]
file = "stations.csv"
[apparatus]
file = "apparatus.csv"
"""

UNITS = [
    {"unit_id": "E1", "kind": "engine", "pump_gpm": 1250, "supply_hose_ft": 1000},
    {"unit_id": "E2", "kind": "engine", "pump_gpm": 1250, "supply_hose_ft": 1000},
    {"unit_id": "E3", "kind": "engine", "pump_gpm": 1250, "supply_hose_ft": 1000},
    {"unit_id": "T1", "kind": "tanker", "tank_gal": 2000, "dump_gpm": 1000, "pump_gpm": 500},
    {"unit_id": "T2", "kind": "tanker", "tank_gal": 2000, "dump_gpm": 1000, "pump_gpm": 500},
    {"unit_id": "T3", "kind": "tanker", "tank_gal": 3000, "dump_gpm": 1500, "pump_gpm": 500},
]


class Places(osmium.SimpleHandler):
    """Collects the middles of buildings, ponds, hydrants and stations [degrees]."""

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, list[tuple[str, float, float]]] = {
            "building": [],
            "water": [],
            "hydrant": [],
            "station": [],
        }

    def node(self, node: osmium.osm.Node) -> None:
        if node.tags.get("emergency") == "fire_hydrant":
            self.found["hydrant"].append((f"n{node.id}", node.location.lon, node.location.lat))
        if node.tags.get("amenity") == "fire_station":
            self.found["station"].append((f"n{node.id}", node.location.lon, node.location.lat))

    def way(self, way: osmium.osm.Way) -> None:
        kind = self._kind(way.tags)
        at = [(n.lon, n.lat) for n in way.nodes if n.location.valid()]
        if kind and at:
            lon, lat = (sum(axis) / len(at) for axis in zip(*at, strict=True))
            self.found[kind].append((f"w{way.id}", lon, lat))

    def _kind(self, tags: osmium.osm.TagList) -> str | None:
        if tags.get("amenity") == "fire_station":
            return "station"
        if "building" in tags:
            return "building"
        return "water" if tags.get("natural") == "water" else None


def _write(file: Path, rows: list[dict[str, object]]) -> None:
    with file.open("w", newline="", encoding="utf-8") as out:
        writer = csv.DictWriter(out, fieldnames=sorted({name for row in rows for name in row}))
        writer.writeheader()
        writer.writerows(rows)


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> tuple[pipeline.Run, Places]:
    folder = tmp_path_factory.mktemp("north")
    places = Places()
    places.apply_file(str(EXTRACT), locations=True)
    found = places.found

    def rows(of: str, id_: str, **more: object) -> list[dict[str, object]]:
        return [{id_: one, "lon": lon, "lat": lat, **more} for one, lon, lat in found[of]]

    _write(folder / "parcels.csv", rows("building", "parcel_id"))
    pond = {"kind": "pond", "flow_gpm": 500, "usable_gal": 60_000}
    hydrant = {"kind": "hydrant", "flow_gpm": 700}
    _write(
        folder / "fill_sites.csv",
        [*rows("hydrant", "site_id", **hydrant), *rows("water", "site_id", **pond)],
    )
    _write(folder / "stations.csv", rows("station", "station_id"))
    home = found["station"][0][0]
    extra = {"station_id": home, "portable_tank_gal": 2500, "supply_hose_in": 5}
    _write(folder / "apparatus.csv", [unit | extra for unit in UNITS])
    (folder / "district.toml").write_text(
        TOML.format(roads=EXTRACT.resolve().as_posix()), encoding="utf-8"
    )
    return pipeline.run(folder, cache=folder / "cache"), places


def test_every_building_has_an_answer(run: tuple[pipeline.Run, Places]) -> None:
    done, places = run
    table = pd.read_csv(done.out / "parcels.csv", dtype={"parcel_id": str})
    assert table["parcel_id"].tolist() == [one for one, _, _ in places.found["building"]]
    assert table["verdict"].notna().all()
    assert table["limited_by"].notna().all()


def test_every_site_is_there_and_those_of_no_use_say_why(
    run: tuple[pipeline.Run, Places],
) -> None:
    done, places = run
    sites = done.result.fill_sites
    assert len(sites) == len(places.found["hydrant"]) + len(places.found["water"])
    useless = sites[sites["parcels_reached"] == 0]
    assert useless["why_not"].notna().all()
    assert sites.loc[sites["parcels_reached"] > 0, "why_not"].isna().all()


def test_hydrants_on_roads_cut_off_reach_only_their_own_piece(
    run: tuple[pipeline.Run, Places],
) -> None:
    """By networkx's components of the public roads: a hydrant serves no parcel of another one."""
    done, _ = run
    segments, _ = read_roads(EXTRACT, RoadRules(), cache_dir=None, progress=lambda _step: None)
    public = segments[segments["public"]]
    graph = nx.Graph(zip(public["from_node"], public["to_node"], strict=True))
    piece = {n: k for k, nodes in enumerate(nx.connected_components(graph)) for n in nodes}
    on = public.assign(piece=public["from_node"].map(piece))[["piece", "geometry"]]
    sites = done.result.fill_sites
    near = sites[sites["on_road"]].sjoin_nearest(on, how="left").groupby("site_id")["piece"].min()
    sizes = on.groupby("piece").size()
    cut_off = near[near != sizes.idxmax()].index
    hydrants = sites[sites["kind"] == "hydrant"].set_index("site_id")
    alone = hydrants.loc[hydrants.index.intersection(cut_off)]
    assert len(alone) >= 5  # of 20 in the extract
    main = hydrants.loc[hydrants.index.intersection(near[near == sizes.idxmax()].index)]
    assert alone["parcels_reached"].max() < main["parcels_reached"].min()


def test_parcels_that_nothing_reaches_say_so(run: tuple[pipeline.Run, Places]) -> None:
    table = run[0].result.parcels
    none = table[table["verdict"] == "none"]
    assert none["limited_by"].isin(["no road", "no tanker", "no engine", "one tanker"]).any()
    assert (none["sustained_gpm"] == 0).all()
    assert none["last_tanker_min"].isna().all()
