import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from filelock import FileLock

from haulshed.case import Provenance, Result
from haulshed.errors import HaulshedError, OutputError
from haulshed.outputs import folder
from haulshed.outputs.folder import Wanted, write_outputs
from haulshed.units import System

SAME_EVERY_TIME = (
    *("parcels.csv", "district.gpkg", "map.html", "summary.json", "tables.xlsx"),
    *(f"geoparquet/{name}.parquet" for name in ("parcels", "roads", "fill_sites", "stations")),
)
Write = Callable[..., None]


@pytest.fixture
def write(result: Result, provenance: Provenance) -> Write:
    def write(out: Path, rejected: pd.DataFrame | None = None) -> None:
        write_outputs(
            result,
            provenance,
            out,
            wanted=Wanted(units=System.US, workbook=True),
            rejected=pd.DataFrame() if rejected is None else rejected,
            record={},
            progress=lambda step, done=0, of=0: None,  # noqa: ARG005 — Progress by its names
        )

    return write


def seen(place: Path) -> list[str]:
    """Return what a user sees there: the lock beside the outputs stays, empty and hidden."""
    return [entry.name for entry in place.iterdir() if entry.suffix != ".lock"]


def contents(out: Path) -> dict[str, bytes]:
    files = (file for file in out.rglob("*") if file.is_file())
    return {file.relative_to(out).as_posix(): file.read_bytes() for file in files}


def test_every_file_is_there(write: Write, tmp_path: Path) -> None:
    write(tmp_path / "deep" / "out")
    assert set(contents(tmp_path / "deep" / "out")) == {*SAME_EVERY_TIME, "run.json"}
    assert seen(tmp_path / "deep") == ["out"]


def test_the_same_inputs_give_the_same_bytes(write: Write, tmp_path: Path) -> None:
    write(tmp_path / "one")
    write(tmp_path / "two")
    one, two = contents(tmp_path / "one"), contents(tmp_path / "two")
    assert [name for name in SAME_EVERY_TIME if one[name] != two[name]] == []


def test_the_date_stands_in_the_record_only(
    write: Write, provenance: Provenance, tmp_path: Path
) -> None:
    write(tmp_path / "out")
    dated = [name for name, data in contents(tmp_path / "out").items() if b"2026-01-02" in data]
    assert dated == ["run.json"]
    record = json.loads((tmp_path / "out" / "run.json").read_text())
    assert record["scenario"] == provenance.scenario.model_dump(mode="json")
    assert record["input_sha256"] == {"parcels.csv": "00"}


def test_rows_set_aside_come_and_go(write: Write, tmp_path: Path) -> None:
    write(tmp_path / "out", pd.DataFrame({"row": ["H-1"], "rule": ["=no flow"]}))
    assert (tmp_path / "out" / "rejected.csv").read_text() == "row,rule\nH-1,'=no flow\n"
    write(tmp_path / "out")
    assert not (tmp_path / "out" / "rejected.csv").exists()


@pytest.mark.parametrize("step", ["write_csv", "write_geopackage", "map_html", "write_records"])
def test_a_run_that_fails_leaves_the_last_good_outputs(
    write: Write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    write(tmp_path / "out")
    before = contents(tmp_path / "out")

    def full(*_args: object, **_options: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(folder, step, full)
    with pytest.raises(OutputError, match=r"No space left on device.*last good outputs"):
        write(tmp_path / "out")
    assert contents(tmp_path / "out") == before
    assert seen(tmp_path) == ["out"]


def test_a_swap_that_fails_halfway_is_undone(
    write: Write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path / "out")
    before = contents(tmp_path / "out")
    move = Path.replace

    def stuck(self: Path, target: Path) -> Path:
        if self.name.endswith(".unfinished"):
            raise PermissionError(13, "busy")
        return move(self, target)

    monkeypatch.setattr(Path, "replace", stuck)
    with pytest.raises(HaulshedError, match="busy"):
        write(tmp_path / "out")
    assert contents(tmp_path / "out") == before


def test_a_run_killed_between_the_two_moves_is_mended(write: Write, tmp_path: Path) -> None:
    write(tmp_path / "out")
    (tmp_path / "out" / "notes.txt").write_text("mine")
    (tmp_path / "out").rename(tmp_path / ".out.before")
    (tmp_path / ".out.unfinished").mkdir()
    write(tmp_path / "out")
    assert (tmp_path / "out" / "notes.txt").read_text() == "mine"
    assert seen(tmp_path) == ["out"]


def test_two_runs_at_once_do_not_share_a_folder(write: Write, tmp_path: Path) -> None:
    write(tmp_path / "out")
    before = contents(tmp_path / "out")
    with (
        FileLock(tmp_path / ".out.lock"),  # as the other run holds it
        pytest.raises(OutputError, match=r"Another run is writing to .*out just now"),
    ):
        write(tmp_path / "out")
    assert contents(tmp_path / "out") == before
    write(tmp_path / "out")


def test_another_place_s_unfinished_work_is_let_alone(write: Write, tmp_path: Path) -> None:
    (tmp_path / ".other.unfinished").mkdir()
    write(tmp_path / "out")
    assert (tmp_path / ".other.unfinished").is_dir()


def test_the_user_s_own_files_stay(write: Write, tmp_path: Path) -> None:
    write(tmp_path / "out")
    (tmp_path / "out" / "notes.txt").write_text("mine")
    (tmp_path / "out" / "sheets").mkdir()
    (tmp_path / "out" / "sheets" / "P-1.html").write_text("sheet")
    write(tmp_path / "out")
    assert (tmp_path / "out" / "notes.txt").read_text() == "mine"
    assert (tmp_path / "out" / "sheets" / "P-1.html").read_text() == "sheet"


@pytest.mark.parametrize("record", [None, "not json", "[]", '{"version": "3"}'])
def test_a_folder_that_is_not_ours_is_refused(
    write: Write, tmp_path: Path, record: str | None
) -> None:
    out = tmp_path / "holiday"
    out.mkdir()
    (out / "picture.png").write_bytes(b"x")
    if record is not None:
        (out / "run.json").write_text(record)
    before = contents(out)
    with pytest.raises(OutputError, match="somebody else's"):
        write(out)
    assert contents(out) == before


def test_an_empty_folder_is_taken(write: Write, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    write(tmp_path / "out")
    assert (tmp_path / "out" / "map.html").is_file()


def test_a_file_in_the_place_of_the_folder_is_refused(write: Write, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("x")
    with pytest.raises(OutputError, match="is a file"):
        write(tmp_path / "out")


def test_a_link_keeps_pointing_where_it_did(write: Write, tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "out").symlink_to(tmp_path / "real", target_is_directory=True)
    write(tmp_path / "out")
    assert (tmp_path / "out").is_symlink()
    assert (tmp_path / "real" / "map.html").is_file()
    shutil.rmtree(tmp_path / "real")
