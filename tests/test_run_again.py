"""A run repeated from its record: the same figures, or a sentence about what is not the same."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from haulshed import pipeline
from haulshed.cli import main


def haulshed(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def ran(tiny_district: Callable[..., Path]) -> Path:
    """Return the tiny district, run in winter and in SI."""
    folder = tiny_district()
    done = haulshed("run", folder, "--scenario", "winter", "--units", "si", "--workbook")
    assert done.exit_code == 0, done.output
    return folder


def outputs(folder: Path) -> dict[str, bytes]:
    files = (file for file in folder.rglob("*") if file.is_file() and file.name != "run.json")
    return {file.relative_to(folder).as_posix(): file.read_bytes() for file in files}


def test_the_same_bytes_with_the_scenario_and_options_of_the_record(
    ran: Path, tmp_path: Path
) -> None:
    done = haulshed("run", "--again", ran / "out" / "run.json", "--out", tmp_path / "again")
    assert done.exit_code == 0, done.output
    assert "every file, byte for byte" in " ".join(done.stdout.split())
    assert outputs(tmp_path / "again") == outputs(ran / "out")
    assert "tables.xlsx" in outputs(tmp_path / "again")


def test_a_repeat_takes_no_incident_from_the_cache(
    ran: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def opened(*_given: object) -> None:
        pytest.fail("the cache of plays was opened")

    monkeypatch.setattr(pipeline, "play_cache", opened)
    assert haulshed("run", "--again", ran / "out" / "run.json").exit_code == 0


def test_the_record_itself_may_be_replaced(ran: Path) -> None:
    before = outputs(ran / "out")
    assert haulshed("run", "--again", ran / "out" / "run.json").exit_code == 0
    assert outputs(ran / "out") == before


@pytest.mark.parametrize("name", ["stations.csv", "roads.osm", "district.toml"])
def test_a_changed_input_is_named_and_nothing_is_written(ran: Path, name: str) -> None:
    with (ran / name).open("a", encoding="utf-8") as file:
        file.write("\n" if name != "district.toml" else "# a remark\n")
    before = outputs(ran / "out")
    done = haulshed("run", "--again", ran / "out" / "run.json")
    assert done.exit_code == 1
    assert f"{name} has changed" in done.stderr
    assert outputs(ran / "out") == before


def test_an_input_that_is_new_or_gone_is_named(ran: Path) -> None:
    toml = (ran / "district.toml").read_text(encoding="utf-8")
    (ran / "district.toml").write_text(toml.replace("stations.csv", "posts.csv"), encoding="utf-8")
    (ran / "stations.csv").rename(ran / "posts.csv")
    done = haulshed("run", "--again", ran / "out" / "run.json")
    for words in ("stations.csv is gone", "posts.csv is new", "district.toml has changed"):
        assert words in done.stderr


def test_figures_that_differ_are_told_with_the_versions(ran: Path) -> None:
    record = json.loads((ran / "out" / "run.json").read_text(encoding="utf-8"))
    record["output_sha256"]["parcels.csv"] = "00"
    record["libraries"]["numpy"] = "0.1"
    record["code_sha256"] = "0" * 64
    (ran / "out" / "run.json").write_text(json.dumps(record), encoding="utf-8")
    done = haulshed("run", "--again", ran / "out" / "run.json")
    told = " ".join(done.stdout.split())
    assert done.exit_code == 0
    assert "parcels.csv differ (its code 00000000, now" in told
    assert "numpy 0.1, now" in told


def test_a_district_that_moved_can_be_named(ran: Path) -> None:
    moved = ran.rename(ran.with_name("moved"))
    (moved / "out").rename(moved.with_name("record"))
    record = moved.with_name("record") / "run.json"
    assert haulshed("run", "--again", record).exit_code == 1
    done = haulshed("run", moved, "--again", record)
    assert done.exit_code == 0, done.output


def test_the_demo_can_be_repeated_wherever_haulshed_is_installed(tmp_path: Path) -> None:
    assert haulshed("demo", "--out", tmp_path / "demo").exit_code == 0
    text = (tmp_path / "demo" / "run.json").read_text(encoding="utf-8")
    assert json.loads(text)["district"] == "the demo district"
    assert "/" not in json.loads(text)["district"]


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"version": "1"}', "not json"])
def test_what_is_no_record_is_refused(ran: Path, text: str) -> None:
    (ran / "other.json").write_text(text, encoding="utf-8")
    done = haulshed("run", ran, "--again", ran / "other.json")
    assert done.exit_code == 1
    assert "is no record" in done.stderr


@pytest.mark.parametrize("option", [("--scenario", "winter"), ("--units", "us"), ("--set-aside",)])
def test_what_the_record_decides_cannot_be_asked_for(ran: Path, option: tuple[str, ...]) -> None:
    done = haulshed("run", ran, "--again", ran / "out" / "run.json", *option)
    assert done.exit_code == 2
    assert "from the record" in done.stderr


def test_a_run_needs_a_district_or_a_record() -> None:
    assert haulshed("run").exit_code == 2
