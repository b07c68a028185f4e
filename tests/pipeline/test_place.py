"""Outputs go among no inputs, over no file of somebody else's, and not into haulshed itself."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from haulshed.cli import main
from haulshed.inputs import samples
from haulshed.outputs.whole_file import MADE_BY

OPTIONS = """\
[option.tank]
[[option.tank.change]]
do = "set_unit"
unit_id = "T-1"
set = { tank_gal = 3000 }
"""


def haulshed(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def ran(tiny_district: Callable[..., Path]) -> Path:
    folder = tiny_district()
    assert haulshed("run", folder).exit_code == 0
    return folder


def contents(folder: Path) -> dict[str, bytes]:
    files = (file for file in folder.rglob("*") if file.is_file())
    return {file.relative_to(folder).as_posix(): file.read_bytes() for file in files}


@pytest.mark.parametrize("command", ["run", "evidence", "report", "compare", "choose", "sheet"])
def test_the_district_s_own_folder_is_refused_before_the_work(ran: Path, command: str) -> None:
    (ran / "options.toml").write_text(OPTIONS, encoding="utf-8")
    (ran / "run.json").write_bytes((ran / "out" / "run.json").read_bytes())
    before = contents(ran.parent)
    words = {"choose": ["--count", "1"], "sheet": ["P-1"]}.get(command, [])
    done = haulshed(command, ran, *words, "--out", ran)
    assert done.exit_code == 1
    assert f"{ran} holds district.toml: it is a folder of inputs" in done.stderr
    assert "--out" in done.stderr
    assert contents(ran.parent) == before  # and no lock either


def test_a_folder_with_a_file_that_is_read_is_refused(ran: Path) -> None:
    data = ran.parent / "data"
    (data / "deep").mkdir(parents=True)
    (ran / "parcels.csv").rename(data / "deep" / "parcels.csv")
    (data / "run.json").write_bytes((ran / "out" / "run.json").read_bytes())
    toml = (ran / "district.toml").read_text(encoding="utf-8")
    (ran / "district.toml").write_text(toml.replace("parcels.csv", "../data/deep/parcels.csv"))
    before = contents(ran.parent)
    done = haulshed("run", ran, "--out", data)
    assert done.exit_code == 1
    assert f"{data} holds parcels.csv: it is a folder of inputs" in done.stderr
    assert contents(ran.parent) == before


@pytest.mark.parametrize("name", ["region.toml", "options.toml", "north.TOML"])
def test_a_folder_with_a_toml_file_of_the_user_s_is_refused(ran: Path, name: str) -> None:
    (ran / "out" / name).write_text('districts = ["north"]\n', encoding="utf-8")
    done = haulshed("run", ran)
    assert done.exit_code == 1
    assert f"holds {name}: it is a folder of inputs" in done.stderr
    assert (ran / "out" / name).is_file()


def test_a_fragment_of_ours_is_no_input(ran: Path) -> None:
    (ran / "out" / "drill.toml").write_text(f"# {MADE_BY} from a drill\n", encoding="utf-8")
    assert haulshed("run", ran).exit_code == 0
    assert (ran / "out" / "drill.toml").is_file()


def test_a_file_that_another_command_did_not_write_is_not_replaced(ran: Path) -> None:
    mine = ran / "out" / "evidence.csv"
    mine.write_text("mine", encoding="utf-8")
    done = haulshed("evidence", ran)
    assert done.exit_code == 1
    assert "holds evidence.csv, and no evidence.json of the command" in done.stderr
    assert mine.read_text(encoding="utf-8") == "mine"
    mine.unlink()
    for _ in range(2):
        assert haulshed("evidence", ran).exit_code == 0


def test_haulshed_s_own_folder_is_never_written_to(
    ran: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(samples, "_PACKAGE", ran.parent)
    before = contents(ran.parent)
    done = haulshed("run", ran)
    assert done.exit_code == 1
    assert "is within haulshed itself. Give another place with --out." in done.stderr
    assert contents(ran.parent) == before


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="only Linux has a folder like that")
def test_a_place_where_nothing_can_be_made(ran: Path) -> None:
    done = haulshed("run", ran, "--out", "/proc/haulshed")
    assert done.exit_code == 1
    assert "Another run" not in done.stderr
    assert "Nothing can be written in /proc" in done.stderr


def test_a_run_is_repeated_where_its_record_lies(ran: Path) -> None:
    winter = ran.parent / "winter"
    assert haulshed("run", ran, "--scenario", "winter", "--out", winter).exit_code == 0
    base, before = contents(ran / "out"), contents(winter)
    done = haulshed("run", "--again", winter / "run.json")
    assert done.exit_code == 0, done.output
    assert str(winter / "map.html") in done.stdout
    assert contents(ran / "out") == base
    record = json.loads((winter / "run.json").read_bytes())
    assert record["scenario_name"] == "winter"
    after = contents(winter)
    assert {n: b for n, b in after.items() if n != "run.json"} == {
        n: b for n, b in before.items() if n != "run.json"
    }
