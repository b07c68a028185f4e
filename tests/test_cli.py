"""The commands as a user meets them: exit codes, what is printed where, what is written."""

import json
from collections.abc import Callable
from pathlib import Path
from shutil import copytree

import pandas as pd
import pytest
from click.testing import CliRunner, Result

from haulshed.case import CAUTION
from haulshed.cli import main
from haulshed.tables.answers import ANSWERS

FILES = {
    *("district.gpkg", "map.html", "parcels.csv", "run.json", "summary.json"),
    *(f"geoparquet/{name}.parquet" for name in ("parcels", "roads", "fill_sites", "stations")),
}


def files(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


def haulshed(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def tiny(tiny_district: Callable[..., Path]) -> Path:
    """Return the tiny district's folder."""
    return tiny_district()


@pytest.fixture(scope="session")
def larkmoor(tmp_path_factory: pytest.TempPathFactory) -> tuple[Result, Path]:
    """Run the demo once for all."""
    out = tmp_path_factory.mktemp("demo") / "larkmoor-out"
    return haulshed("demo", "--out", out), out


def test_the_demo_prints_the_answers_and_where_the_map_is(larkmoor: tuple[Result, Path]) -> None:
    done, out = larkmoor
    assert done.exit_code == 0, done.output
    for words in ("Larkmoor: 3,000 parcels", "dump site", "short", f"Map: {out / 'map.html'}"):
        assert words in done.stdout
    assert CAUTION[:60] in done.stdout
    assert done.stderr == ""


def test_the_demo_writes_every_output(larkmoor: tuple[Result, Path]) -> None:
    _, out = larkmoor
    assert files(out) == FILES
    assert (out / "map.html").stat().st_size < 6_000_000


def test_parcels_csv_has_the_declared_columns_and_every_parcel(
    larkmoor: tuple[Result, Path],
) -> None:
    table = pd.read_csv(larkmoor[1] / "parcels.csv")
    assert list(table.columns) == [column.name for column in ANSWERS.columns]
    assert len(table) == 3000


def test_larkmoor_shows_every_answer(larkmoor: tuple[Result, Path]) -> None:
    table = pd.read_csv(larkmoor[1] / "parcels.csv")
    shares = table["verdict"].value_counts(normalize=True)
    assert {"hose line", "nurse", "dump site", "short", "none"} <= set(shares.index)
    assert shares.min() >= 0.03
    assert table["limited_by"].nunique() >= 6
    assert table["tight"].any()


def test_the_same_inputs_give_the_same_bytes(larkmoor: tuple[Result, Path], tmp_path: Path) -> None:
    again = haulshed("demo", "--out", tmp_path / "again", "--cache", tmp_path / "cache")
    assert again.exit_code == 0, again.output
    for name in FILES - {"run.json"}:
        assert (tmp_path / "again" / name).read_bytes() == (larkmoor[1] / name).read_bytes(), name


LARKMOOR = Path(__file__).parents[1] / "data_samples" / "larkmoor"


def test_a_drill_is_explained_and_its_scenario_runs(tmp_path: Path) -> None:
    district, log, fragment = tmp_path / "larkmoor", LARKMOOR / "drill.csv", tmp_path / "drill.toml"
    copytree(LARKMOOR, district)
    done = haulshed("drill", log, "--district", district, "--parcel", "1609-006", "--out", fragment)
    assert done.exit_code == 0, done.output
    for words in ("5 tankers", "handling at the fill site", "held", CAUTION[:60], str(fragment)):
        assert words in done.stdout
    settings = district / "district.toml"
    settings.write_text(settings.read_text() + fragment.read_text())
    checked = haulshed("check", district, "--scenario", "drill")
    assert checked.exit_code == 0, checked.output


def test_a_drill_for_machines_without_a_district() -> None:
    done = haulshed("drill", LARKMOOR / "drill.csv", "--json")
    answer = json.loads(done.stdout, parse_constant=pytest.fail)["answer"]
    assert answer["flow"]["held_gpm"] > 0
    assert answer["speed_factor"] is None


def test_a_drill_at_a_parcel_needs_the_district() -> None:
    done = haulshed("drill", LARKMOOR / "drill.csv", "--parcel", "P-1")
    assert done.exit_code == 1
    assert "--district" in done.stderr


def test_a_fragment_that_cannot_be_written(tmp_path: Path) -> None:
    done = haulshed("drill", LARKMOOR / "drill.csv", "--out", tmp_path / "no" / "drill.toml")
    assert done.exit_code == 1
    assert "cannot be written" in done.stderr


def test_check_says_what_is_doubtful(tiny: Path) -> None:
    done = haulshed("check", tiny)
    assert done.exit_code == 0, done.output
    assert "DOUBTFUL" in done.stdout
    assert "ASSUMED" in done.stdout
    assert not (tiny / "out").exists()


def test_check_prints_for_machines(tiny: Path) -> None:
    told = json.loads(haulshed("check", tiny, "--json").stdout)
    assert told["caution"] == CAUTION
    assert told["answer"]["tables"]["parcels"] == 3


def test_run_writes_into_the_districts_folder(tiny: Path) -> None:
    done = haulshed("run", tiny)
    assert done.exit_code == 0, done.output
    assert files(tiny / "out") == FILES
    run = json.loads((tiny / "out" / "run.json").read_text(encoding="utf-8"))
    assert run["version"]
    assert "parcels.csv" in run["input_sha256"]


def test_a_run_by_a_named_scenario_says_so(tiny: Path) -> None:
    done = haulshed("run", tiny, "--scenario", "winter")
    assert done.exit_code == 0
    assert "Tiny, scenario winter: 3 parcels" in done.stdout
    run = json.loads((tiny / "out" / "run.json").read_text(encoding="utf-8"))
    assert run["scenario_name"] == "winter"
    assert run["scenario"]["operation"]["month"] == 1


def test_a_fault_leaves_the_last_good_outputs(tiny: Path) -> None:
    assert haulshed("run", tiny).exit_code == 0
    before = {name: (tiny / "out" / name).read_bytes() for name in files(tiny / "out")}
    (tiny / "parcels.csv").write_text("parcel_id\nP1\n", encoding="utf-8")
    assert haulshed("run", tiny).exit_code == 1
    assert {name: (tiny / "out" / name).read_bytes() for name in files(tiny / "out")} == before


def test_set_aside_goes_on_and_writes_what_it_left_out(tiny: Path) -> None:
    parcels = (tiny / "parcels.csv").read_text(encoding="utf-8")
    first_row = parcels.splitlines()[1]
    (tiny / "parcels.csv").write_text(f"{parcels}{first_row}\n", encoding="utf-8")
    stopped = haulshed("run", tiny)
    assert stopped.exit_code == 1
    assert "parcel_id" in stopped.stderr
    done = haulshed("run", tiny, "--set-aside")
    assert done.exit_code == 0, done.output
    assert "Set aside" in done.stdout
    rejected = pd.read_csv(tiny / "out" / "rejected.csv")
    assert len(rejected) == 2  # both rows of that id: nobody can say which one is right


@pytest.mark.parametrize("command", ["run", "check"])
def test_a_missing_district_is_the_inputs_fault(command: str, tmp_path: Path) -> None:
    done = haulshed(command, tmp_path / "nowhere")
    assert done.exit_code == 1
    assert done.stderr.startswith("haulshed: ")
    assert "Traceback" not in done.output
    assert done.stdout == ""


@pytest.mark.parametrize("words", [["run"], ["fly"], ["run", "x", "--units", "imperial"]])
def test_usage_errors_exit_2(words: list[str]) -> None:
    assert haulshed(*words).exit_code == 2


def test_explain_prints_the_arithmetic(tiny: Path) -> None:
    done = haulshed("explain", tiny, "P-1")
    assert done.exit_code == 0, done.output
    assert "P-1" in done.stdout
    assert CAUTION[:60] in done.stdout


def test_explain_an_unknown_parcel_names_a_near_one(tiny: Path) -> None:
    done = haulshed("explain", tiny, "P-11")
    assert done.exit_code == 1
    assert "P-1" in done.stderr


@pytest.mark.parametrize("format_", [[], ["--markdown"], ["--json"]])
def test_columns_prints_every_answer_column(format_: list[str]) -> None:
    done = haulshed("columns", *format_)
    assert done.exit_code == 0
    for column in ANSWERS.columns:
        assert column.name in done.stdout


def test_help_carries_the_caution() -> None:
    assert "authority having" in haulshed("--help").stdout


def test_open_says_where_the_map_is_when_there_is_no_browser(
    tiny: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[str] = []
    refuse: Callable[[str], bool] = lambda url: bool(opened.append(url))  # noqa: E731 — a stand-in
    monkeypatch.setattr("webbrowser.open", refuse)
    done = haulshed("run", tiny, "--open")
    assert done.exit_code == 0
    assert opened[0].startswith("file://")
    assert "map.html" in done.stderr


def test_check_shows_what_is_wrong_and_what_it_can_of_the_rest(tiny: Path) -> None:
    parcels = (tiny / "parcels.csv").read_text(encoding="utf-8").replace("2400,2,1", "2400,-2,1")
    (tiny / "parcels.csv").write_text(parcels, encoding="utf-8")
    done = haulshed("check", tiny)
    assert done.exit_code == 1
    assert "WRONG, must be mended: 1; the rest of the tables" in done.stdout
    assert "parcels: P-2: stories = -2 must be greater than 0" in done.stdout
    assert "Tiny: 4 road segments, 2 parcels" in done.stdout
    assert "ASSUMED" in done.stdout
    told = json.loads(haulshed("check", tiny, "--json").stdout)["answer"]
    assert [fault["row"] for fault in told["wrong"]] == ["P-2"]
    assert told["findings"]


def test_check_of_a_table_that_is_wrong_as_a_whole_says_so(tiny: Path) -> None:
    (tiny / "parcels.csv").write_text("parcel_id\nP1\n", encoding="utf-8")
    done = haulshed("check", tiny)
    assert done.exit_code == 1
    assert done.stdout.startswith("WRONG, must be mended")
    told = json.loads(haulshed("check", tiny, "--json").stdout)["answer"]
    assert told["wrong"][0]["table"] == "parcels"


@pytest.mark.parametrize("words", [["run"], ["explain"]])
def test_faults_are_printed_for_machines(words: list[str], tiny: Path) -> None:
    (tiny / "stations.csv").write_text("station_id,lat,lon\nS-1,95,0\n", encoding="utf-8")
    done = haulshed(*words, tiny, *(["P-1"] if words == ["explain"] else []), "--json")
    assert done.exit_code == 1
    told = json.loads(done.stdout)
    assert told["caution"] == CAUTION
    assert told["faults"][0]["table"] == "stations"
    assert told["faults"][0]["cure"]
    assert done.stderr.startswith("haulshed: ")


def test_an_error_without_rows_is_printed_for_machines(tmp_path: Path) -> None:
    done = haulshed("run", tmp_path / "nowhere", "--json")
    assert done.exit_code == 1
    assert json.loads(done.stdout)["faults"][0]["rule"].startswith("There is no ")


def test_check_draws_what_is_doubtful(tiny: Path, tmp_path: Path) -> None:
    page = tmp_path / "doubts.html"
    done = haulshed("check", tiny, "--map", page)
    assert done.exit_code == 0, done.output
    assert done.stdout.endswith(f"Map: {page}\n")
    assert "doubtful places" in page.read_text(encoding="utf-8")


def test_the_map_of_doubts_does_not_take_the_place_of_a_table(tiny: Path) -> None:
    before = (tiny / "parcels.csv").read_bytes()
    done = haulshed("check", tiny, "--map", tiny / "parcels.csv")
    assert done.exit_code == 1
    assert ".html" in done.stderr
    assert (tiny / "parcels.csv").read_bytes() == before
