"""Several districts in one go: what is kept, what fails, and the same bytes whoever works."""

import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from haulshed.case import CAUTION
from haulshed.cli import main
from haulshed.region.one import is_current
from haulshed.region.outcome import Asked, Task
from haulshed.units import System

ROOT = Path(__file__).parents[2]


def haulshed(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def contents(out: Path) -> dict[str, bytes]:
    files = (file for file in out.rglob("*") if file.is_file() and file.name != "run.json")
    return {file.relative_to(out).as_posix(): file.read_bytes() for file in files}


@pytest.fixture
def region(tmp_path: Path, tiny_district: Callable[..., Path]) -> Path:
    """Return a region file of two districts and one at fault."""
    tiny = tiny_district()
    for name in ("north", "south", "west"):
        (tmp_path / name).mkdir()
        for file in tiny.iterdir():
            if file.is_file():
                (tmp_path / name / file.name).write_bytes(file.read_bytes())
    sites = tmp_path / "west" / "fill_sites.csv"
    sites.write_text(sites.read_text().replace("hydrant", "well"))
    file = tmp_path / "region.toml"
    file.write_text('districts = ["north", "west", "south/district.toml"]\n')
    return file


def states(done: Result) -> list[str]:
    return re.findall(r"^(done|kept|failed): (\w+)", done.stdout, re.MULTILINE)


def test_a_district_that_fails_is_reported_and_the_others_finish(region: Path) -> None:
    done = haulshed("run", region)
    assert done.exit_code == 1
    assert states(done) == [("done", "north"), ("failed", "west"), ("done", "south")]
    assert "fill_sites: H-1: kind = well" in done.stdout
    assert re.search(r"Tiny: 3 parcels: .*no demand 1\.", done.stdout)
    assert "3 districts: 2 done, 0 kept, 1 failed." in done.stdout
    assert CAUTION in done.stdout
    assert done.stderr == "haulshed: 1 of 3 districts failed.\n"
    assert (region.parent / "north" / "out" / "map.html").is_file()
    assert not (region.parent / "west" / "out").exists()


def test_a_region_run_again_works_out_only_what_has_changed(region: Path) -> None:
    haulshed("run", region)
    parcels = region.parent / "south" / "parcels.csv"
    parcels.write_text(parcels.read_text().replace("P-3", "P-9"))
    sites = region.parent / "west" / "fill_sites.csv"
    sites.write_text(sites.read_text().replace("well", "hydrant"))
    done = haulshed("run", region)
    assert done.exit_code == 0
    assert states(done) == [("kept", "north"), ("done", "west"), ("done", "south")]


def test_only_outputs_that_are_whole_and_as_asked_are_current(
    tiny_district: Callable[..., Path],
) -> None:
    folder = tiny_district()
    out = folder / "out"

    def current(**asked: Any) -> bool:
        return is_current(Task(district=folder, out=out, asked=Asked(**asked)))

    assert not current()
    haulshed("run", folder)
    assert current()
    assert not current(scenario="winter")
    assert not current(units=System.SI)
    assert not current(base_map=True)
    assert not current(set_aside=True)
    assert not current(workbook=True)
    whole = (out / "map.html").read_bytes()
    (out / "map.html").write_bytes(whole[:-1])
    assert not current()
    (out / "map.html").unlink()
    assert not current()
    (out / "map.html").write_bytes(whole)
    assert current()
    sites = folder / "fill_sites.csv"
    sites.write_text(sites.read_text().replace("900", "901"))
    assert not current()


def test_what_other_code_wrote_is_not_current(tiny_district: Callable[..., Path]) -> None:
    folder = tiny_district()
    haulshed("run", folder)
    task = Task(district=folder, out=folder / "out", asked=Asked())
    record = json.loads((folder / "out" / "run.json").read_bytes())
    assert is_current(task)
    without = {key: value for key, value in record.items() if key != "code_sha256"}
    for older in (without, {**without, "code_sha256": "00"}):
        (folder / "out" / "run.json").write_text(json.dumps(older), encoding="utf-8")
        assert not is_current(task)
    assert states(haulshed("run", folder, folder.parent / "nowhere"))[0] == ("done", "tiny")


def test_several_districts_into_one_folder(region: Path, tmp_path: Path) -> None:
    place = region.parent
    done = haulshed("run", place / "north", place / "west", "--out", tmp_path / "all", "--json")
    told = json.loads(done.stdout)
    assert [one["state"] for one in told["answer"]] == ["done", "failed"]
    assert [entry.name for entry in (tmp_path / "all").iterdir() if entry.is_dir()] == ["north"]


def test_two_of_one_name_do_not_share_a_folder(tmp_path: Path) -> None:
    here, there = tmp_path / "north", tmp_path / "elsewhere" / "north"
    done = haulshed("run", here, there, "--out", tmp_path / "all")
    assert done.exit_code == 1
    assert f"{here} and {there} would both write to {tmp_path / 'all' / 'north'}." in done.stderr


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("districts = []", "region.toml: districts is empty. List folders:"),
        ('districts = ["a", "a"]', "region.toml: districts = a is listed twice. Leave one."),
        ('districts = "a"', "must be a list"),
        ('districts = ["a"]\ncolour = "red"', "colour"),
        ("districts = [", "region.toml is not TOML"),
    ],
)
def test_a_region_file_at_fault(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "region.toml").write_text(text)
    done = haulshed("run", tmp_path / "region.toml")
    assert done.exit_code == 1
    assert said in done.stderr


def test_a_district_that_is_not_there_is_one_that_fails(region: Path) -> None:
    region.write_text('districts = ["nowhere", "west"]')
    done = haulshed("run", region)
    assert states(done) == [("failed", "nowhere"), ("failed", "west")]


def test_no_scheduler_answers(region: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("haulshed.region.cluster.ANSWER_S", 1)
    done = haulshed("run", region, "--scheduler", "tcp://127.0.0.1:9")
    assert done.exit_code == 1
    assert "No Dask scheduler answers at tcp://127.0.0.1:9." in done.stderr


ENVIRONMENT = os.environ | {"PYTHONPATH": str(ROOT / "coverage")}


@pytest.fixture
def scheduler(tmp_path: Path) -> Iterator[str]:
    """Start a scheduler and two workers by Dask's own commands, on loopback."""
    address = tmp_path / "scheduler.json"
    dask = [sys.executable, "-m", "dask"]
    words = ["--scheduler-file", str(address), "--no-dashboard"]
    started = [
        subprocess.Popen(  # noqa: S603 — fixed words
            [*dask, "scheduler", "--host", "127.0.0.1", "--port", "0", *words],
            env=ENVIRONMENT,
            stderr=subprocess.DEVNULL,
        )
    ]
    while not address.is_file() or not address.read_text():
        time.sleep(0.1)
    started += [
        subprocess.Popen(  # noqa: S603 — fixed words
            [*dask, "worker", "--nthreads", "1", "--no-nanny", *words],
            env=ENVIRONMENT,
            stderr=subprocess.DEVNULL,
            cwd=tmp_path,
        )
        for _ in range(2)
    ]
    yield json.loads(address.read_text())["address"]
    for process in reversed(started):
        process.send_signal(signal.SIGKILL)
        process.wait()


def run_apart(*words: str | Path) -> "subprocess.Popen[str]":
    """Start the command as a user does."""
    command = [sys.executable, "-m", "haulshed", *(str(word) for word in words)]
    return subprocess.Popen(  # noqa: S603 — our own command
        command, env=ENVIRONMENT, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )


@pytest.mark.slow
def test_the_same_bytes_by_one_process_by_workers_and_by_a_cluster(
    region: Path, tmp_path: Path, scheduler: str
) -> None:
    outs = {}
    for way, words in {
        "one": [],
        "workers": ["--workers", "2"],
        "cluster": ["--scheduler", scheduler],
    }.items():
        run = run_apart("run", region, "--out", tmp_path / way, *words)
        said, _ = run.communicate()
        assert "3 districts: 2 done, 0 kept, 1 failed." in said, way
        outs[way] = {name: contents(tmp_path / way / name) for name in ("north", "south")}
    assert outs["one"] == outs["workers"] == outs["cluster"]


@pytest.mark.slow
def test_a_worker_killed_in_the_middle_loses_nothing(
    region: Path, tmp_path: Path, scheduler: str
) -> None:
    assert scheduler
    from distributed import Client  # noqa: PLC0415 — a second to load

    with Client(scheduler) as client:
        client.wait_for_workers(2)
        workers = client.run(os.getpid)
        run = run_apart("run", region, "--out", tmp_path / "all", "--scheduler", scheduler)
        while not any(client.processing().values()):
            time.sleep(0.01)
        busy = next(address for address, tasks in client.processing().items() if tasks)
        os.kill(workers[busy], signal.SIGKILL)
        said, _ = run.communicate()
    assert "3 districts: 2 done, 0 kept, 1 failed." in said
    for name in ("north", "south"):
        assert (tmp_path / "all" / name / "map.html").is_file()
