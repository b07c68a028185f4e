"""`haulshed new`: from a map to a folder that `check` and `run` take as it stands."""

import json
import shutil
import tomllib
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest
from click.testing import CliRunner, Result

from haulshed.case import CAUTION
from haulshed.cli import main
from haulshed.inputs.district import read_district
from haulshed.tables.fill_sites import FILL_SITES
from haulshed.tables.pond_candidates import POND_CANDIDATES
from haulshed.tables.table import csv_headers
from haulshed.units import M_PER_FT
from map_maker import MapMaker

FILES = {
    *("apparatus.csv", "boundary.geojson", "district.toml", "fill_sites.csv", "parcels.geojson"),
    *("pond_candidates.csv", "roads.osm", "stations.csv"),
}
EXTRACTS = Path(__file__).parents[2] / "shared" / "osm"
HOSTILE = '=1+1"]\n<script>alert(1)</script>'
PLAIN = HOSTILE.replace("\n", " ")


def haulshed(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def mapped(tmp_path: Path) -> Path:
    """Return an invented place's map: hostile names, a house, a hydrant, a pond, a station."""
    made = MapMaker()
    made.line((-2000, 0), (0, 0), (2000, 0), highway="tertiary", name=HOSTILE)
    made.square(0, 30, 12, building="house", addr__housenumber=HOSTILE, building__levels="2")
    made.square(14, 30, 4, building="garage")
    made.square(300, 30, 12, building="yes")
    made.point(500, 5, emergency="fire_hydrant", name=HOSTILE)
    made.point(-500, 5, emergency="suction_point")
    made.square(800, 20, 30, natural="water", name=HOSTILE)
    made.point(100, 10, amenity="fire_station", name=HOSTILE)
    made.square(-60, -60, 3000, boundary="administrative", name=HOSTILE)
    return made.write(tmp_path / "map.osm")


def test_a_new_district_checks_and_runs_as_it_stands(mapped: Path, tmp_path: Path) -> None:
    folder = tmp_path / "new"
    made = haulshed("new", folder, "--roads", mapped)
    assert made.exit_code == 0, made.output
    assert {one.name for one in folder.iterdir()} == FILES
    assert list(tmp_path.glob(".*")) == []
    checked = haulshed("check", folder)
    assert checked.exit_code == 0, checked.output
    assert "WRONG: nothing" in checked.stdout
    assert "headers" not in checked.stdout
    assert "not used: " not in checked.stdout
    ran = haulshed("run", folder)
    assert ran.exit_code == 0, ran.output
    answers = pd.read_csv(folder / "out" / "parcels.csv")
    assert len(answers) == 2
    assert answers["verdict"].notna().all()


def test_what_is_known_of_a_building_is_read_of_its_footprint(mapped: Path, tmp_path: Path) -> None:
    """By hand: 12 × 12 m are 1,550 ft²; the garage is 2 m away, the other house 288 m, 945 ft."""
    folder = tmp_path / "new"
    haulshed("new", folder, "--roads", mapped)
    table = read_district(folder, progress=lambda _step, _done=0, _of=0: None).inputs.parcels
    assert table["floor_area_ft2"].tolist() == pytest.approx([1550, 1550], rel=0.01)
    assert table["stories"].tolist()[0] == 2
    assert table["exposure_ft"].tolist()[0] == pytest.approx(2 / M_PER_FT, abs=0.5)
    assert table["exposure_ft"].tolist()[1] == pytest.approx(282 / M_PER_FT, abs=3)
    assert table["structures"].tolist() == [1, 1]


def test_the_summary_says_what_was_found_and_what_to_measure(mapped: Path, tmp_path: Path) -> None:
    said = haulshed("new", tmp_path / "new", "--roads", mapped).stdout
    text = " ".join(said.split())
    for words in (
        "Parcels: 2 buildings and 0 addresses",
        "Fill sites: 1 hydrant, 1 dry hydrant",
        "Pond candidates: 1",
        "Stations: 1",
        "MEASURE AND CHECK FIRST",
        "2 of 2 fill sites whose flow nobody tested",
        "1 of 2 ponds, dry hydrants and cisterns whose volume nobody measured",
        "2 of 2 units that only stand in for yours",
        "Next: haulshed check",
        CAUTION,
    ):
        assert words in text, words
    assert max(map(len, said.splitlines())) <= 100 or str(tmp_path) in said


def test_the_tables_have_their_columns_and_no_formula(mapped: Path, tmp_path: Path) -> None:
    folder = tmp_path / "new"
    haulshed("new", folder, "--roads", mapped)
    sites = pd.read_csv(folder / "fill_sites.csv")
    ponds = pd.read_csv(folder / "pond_candidates.csv")
    assert list(sites.columns)[: len(csv_headers(FILL_SITES))] == csv_headers(FILL_SITES)
    assert list(ponds.columns) == csv_headers(POND_CANDIDATES) == list(sites.columns)
    assert sites["name"].dropna().str.startswith("'=").all()
    assert ponds["name"].str.startswith("'=").all()
    assert set(sites["flow_source"]) == {"default"}


def test_a_candidate_copied_among_the_fill_sites_is_one(mapped: Path, tmp_path: Path) -> None:
    folder = tmp_path / "new"
    haulshed("new", folder, "--roads", mapped)
    _, row, *_ = (folder / "pond_candidates.csv").read_text(encoding="utf-8").splitlines()
    with (folder / "fill_sites.csv").open("a", encoding="utf-8") as sites:
        sites.write(f"{row}\n")
    told = json.loads(haulshed("check", folder, "--json").stdout)["answer"]
    assert told["wrong"] == []
    assert told["tables"]["fill sites"] == 3


def test_settings_say_the_caution_and_keep_hostile_names_as_names(
    mapped: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "new"
    haulshed("new", folder, "--roads", mapped)
    text = (folder / "district.toml").read_text(encoding="utf-8")
    assert CAUTION in " ".join(text.replace("\n# ", " ").split())
    assert tomllib.loads(text)["district"]["name"] == PLAIN
    assert gpd.read_file(folder / "boundary.geojson").loc[0, "name"] == PLAIN
    read = read_district(folder, progress=lambda _step, _done=0, _of=0: None)
    assert read.inputs.boundary is not None
    assert read.inputs.name == PLAIN


@pytest.mark.parametrize("there", ["district.toml", "notes.txt", ".hidden"])
def test_nothing_is_overwritten(mapped: Path, tmp_path: Path, there: str) -> None:
    folder = tmp_path / "new"
    folder.mkdir()
    (folder / there).write_text("mine", encoding="utf-8")
    done = haulshed("new", folder, "--roads", mapped)
    assert done.exit_code == 1
    assert f"holds {there}" in done.stderr
    assert [one.name for one in folder.iterdir()] == [there]
    assert (folder / there).read_text(encoding="utf-8") == "mine"


def test_a_file_in_the_way_stays(mapped: Path, tmp_path: Path) -> None:
    (tmp_path / "new").write_text("mine", encoding="utf-8")
    done = haulshed("new", tmp_path / "new", "--roads", mapped)
    assert done.exit_code == 1
    assert "is a file" in done.stderr
    assert (tmp_path / "new").read_text(encoding="utf-8") == "mine"


def test_an_empty_folder_is_filled(mapped: Path, tmp_path: Path) -> None:
    (tmp_path / "new").mkdir()
    assert haulshed("new", tmp_path / "new", "--roads", mapped).exit_code == 0


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("gone.osm", None, "There is no file"),
        ("roads.graphml", b"<graphml/>", "is no OpenStreetMap extract"),
        ("map.osm.pbf", b"no such thing", "cannot be read as OpenStreetMap data"),
        ("map.osm", b"<osm version='0.6'></osm>", "road"),
        ("map.osm", b"", "is empty"),
    ],
)
def test_a_map_that_cannot_be_used_leaves_nothing(
    tmp_path: Path, name: str, content: bytes | None, says: str
) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    done = haulshed("new", tmp_path / "new", "--roads", tmp_path / name)
    assert done.exit_code == 1, done.output
    assert says in done.stderr
    assert "Traceback" not in done.output
    assert [one.name for one in tmp_path.iterdir()] == ([name] if content is not None else [])


def test_a_place_that_cannot_be_written_is_said(mapped: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    done = haulshed("new", tmp_path / "file" / "new", "--roads", mapped)
    assert done.exit_code == 1
    assert "cannot be made" in done.stderr


def test_files_of_the_users_own_are_taken_instead(mapped: Path, tmp_path: Path) -> None:
    first = tmp_path / "first"
    haulshed("new", first, "--roads", mapped)
    own = tmp_path / "own"
    own.mkdir()
    shapes = gpd.read_file(first / "parcels.geojson").to_crs("EPSG:32614")
    shapes[["parcel_id", "geometry"]].to_file(own / "lots.shp")
    edge = gpd.read_file(first / "boundary.geojson")
    edge.geometry = edge.to_crs("EPSG:32614").buffer(10)
    edge.to_file(own / "edge.gpkg")
    shutil.copy(mapped, own)
    folder = tmp_path / "second"
    done = haulshed(
        *("new", folder, "--roads", own / "map.osm", "--name", "Larkmoor"),
        *("--boundary", own / "edge.gpkg", "--parcels", own / "lots.shp"),
    )
    assert done.exit_code == 0, done.output
    shutil.rmtree(own)
    names = {one.name for one in folder.iterdir()}
    assert {"boundary.gpkg", "parcels.shp", "parcels.dbf", "parcels.prj"} <= names
    assert not names & {"boundary.geojson", "parcels.geojson"}
    assert "Larkmoor" in done.stdout
    assert haulshed("check", folder).exit_code == 0


def test_parcels_whose_columns_are_called_otherwise_are_taken_and_the_mending_is_said(
    mapped: Path, tmp_path: Path
) -> None:
    lots = tmp_path / "lots.csv"
    lots.write_text("PIN,lat,lon\n7,45.0003,-100.0\n", encoding="utf-8")
    folder = tmp_path / "new"
    done = haulshed("new", folder, "--roads", mapped, "--parcels", lots)
    assert done.exit_code == 0, done.output
    assert "MEND BEFORE IT RUNS" in done.stdout
    assert "parcel_id" in done.stdout
    toml = (folder / "district.toml").read_text(encoding="utf-8")
    told = '# columns = { parcel_id = "their header", floor_area_ft2 = "their header" }'
    assert told in toml
    mended = toml.replace(told, 'columns = { parcel_id = "PIN" } #')
    (folder / "district.toml").write_text(mended, encoding="utf-8")
    assert haulshed("check", folder).exit_code == 0


@pytest.mark.parametrize(
    ("option", "name", "says"),
    [
        ("--parcels", "lots.pdf", "--parcels reads .csv"),
        ("--boundary", "edge.txt", "--boundary reads .gpkg"),
        ("--parcels", "gone.gpkg", "There is no file"),
    ],
)
def test_a_file_that_cannot_be_taken_is_named(
    mapped: Path, tmp_path: Path, option: str, name: str, says: str
) -> None:
    if not name.startswith("gone"):
        (tmp_path / name).write_text("x", encoding="utf-8")
    done = haulshed("new", tmp_path / "new", "--roads", mapped, option, tmp_path / name)
    assert done.exit_code == 1
    assert says in done.stderr
    assert not (tmp_path / "new").exists()


def test_new_prints_for_machines(mapped: Path, tmp_path: Path) -> None:
    done = haulshed("new", tmp_path / "new", "--roads", mapped, "--json")
    told = json.loads(done.stdout)
    assert told["caution"] == CAUTION
    assert told["answer"]["look"]["tables"]["parcels"] == 2
    again = haulshed("new", tmp_path / "new", "--roads", mapped, "--json")
    assert again.exit_code == 1
    assert "holds" in json.loads(again.stdout)["faults"][0]["rule"]


@pytest.mark.skipif(
    not EXTRACTS.is_dir(), reason="real extracts (../shared/osm) are not part of the project"
)
@pytest.mark.parametrize(
    "extract",
    [
        "three_rivers_mi.osm",
        "terre_haute_in.osm.pbf",
        # Five thousand parcels each are worked out.
        pytest.param("north_bayreuth_de.osm.pbf", marks=pytest.mark.slow),
        pytest.param("andorra_2021.osm.pbf", marks=pytest.mark.slow),
    ],
)
def test_real_extracts_need_no_edit(extract: str, tmp_path: Path) -> None:
    """Data: OpenStreetMap (© OpenStreetMap contributors, ODbL); terre_haute has no hydrant."""
    folder = tmp_path / "new"
    made = haulshed("new", folder, "--roads", EXTRACTS / extract)
    assert made.exit_code == 0, made.output
    checked = haulshed("check", folder)
    assert checked.exit_code == 0
    lines = checked.stdout.splitlines()
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 100
    ran = haulshed("run", folder)
    assert ran.exit_code == 0, ran.output
    parcels = gpd.read_file(folder / "parcels.geojson")
    answers = pd.read_csv(folder / "out" / "parcels.csv", dtype={"parcel_id": str})
    assert answers["parcel_id"].tolist() == parcels["parcel_id"].tolist()


@pytest.mark.parametrize(
    "words", [(), ("--roads", "map.osm", "--place", "Larkmoor"), ("--bbox", "1", "2", "3")]
)
def test_one_source_of_the_map_is_to_be_named(words: tuple[str, ...], tmp_path: Path) -> None:
    assert haulshed("new", tmp_path / "new", *words).exit_code == 2


def test_a_box_that_is_none_is_refused(tmp_path: Path) -> None:
    done = haulshed("new", tmp_path / "new", "--bbox", "3", "2", "1", "4")
    assert done.exit_code == 1
    assert "is no box" in done.stderr
