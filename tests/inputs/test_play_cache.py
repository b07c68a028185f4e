"""The cache of plays gives back what was kept, or nothing."""

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from haulshed.inputs import play_cache
from haulshed.inputs.cache_store import keep, prune
from haulshed.inputs.play_cache import PlayCache

KIND = "drawing incidents"
WORDS = 6


def quiet(_step: str) -> None:
    """Report nothing."""


def rows_of(number: int, *, many: int = 20) -> np.ndarray:
    return np.random.default_rng(number).integers(0, 2**63, (many, WORDS)).astype(np.uint64)


def opened(folder: Path, owner: str = "a district") -> PlayCache:
    return PlayCache(folder / "cache", folder / owner, quiet)


def written(folder: Path, rows: np.ndarray, owner: str = "a district") -> None:
    plays = opened(folder, owner)
    plays.recall(KIND, WORDS)
    plays.keep(KIND, rows, made=len(rows))
    plays.write()


def kept(folder: Path, owner: str = "a district") -> np.ndarray:
    return opened(folder, owner).recall(KIND, WORDS)


def test_what_was_kept_is_recalled_by_its_kind_and_district(tmp_path: Path) -> None:
    assert kept(tmp_path).shape == (0, WORDS)
    written(tmp_path, rows_of(1))
    assert np.array_equal(kept(tmp_path), rows_of(1))
    assert not len(kept(tmp_path, "another"))
    assert not len(opened(tmp_path).recall("playing", WORDS))
    assert not len(opened(tmp_path).recall(KIND, WORDS + 1))


def test_those_of_this_run_stand_first_and_each_once(tmp_path: Path) -> None:
    written(tmp_path, rows_of(1))
    used, made = rows_of(1)[[7, 3]], rows_of(2)
    plays = opened(tmp_path)
    plays.recall(KIND, WORDS)
    plays.keep(KIND, used, made=0)
    plays.keep(KIND, made, made=len(made))
    plays.write()
    rest = np.delete(rows_of(1), [7, 3], axis=0)
    assert np.array_equal(kept(tmp_path), np.concatenate((used, made, rest)))


def test_a_run_that_made_nothing_writes_nothing(tmp_path: Path) -> None:
    written(tmp_path, rows_of(1))
    (file,) = (tmp_path / "cache").glob("*.rows")
    os.utime(file, (0, 0))
    plays = opened(tmp_path)
    plays.keep(KIND, plays.recall(KIND, WORDS), made=0)
    plays.write()
    assert file.stat().st_mtime == 0


def test_other_code_has_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written(tmp_path, rows_of(1))
    monkeypatch.setattr(play_cache, "_made_by", lambda: ("code of tomorrow",))
    assert not len(kept(tmp_path))


@pytest.mark.parametrize("which", [".rows", ".json"])
@pytest.mark.parametrize(
    "damage",
    [
        lambda content: content[: len(content) // 2],
        lambda _: b"",
        lambda content: content[:60] + bytes([content[60] ^ 1]) + content[61:],
        lambda content: content + b"\0" * 8,
        lambda _: b"[]",
        lambda _: b'{"sha256": 1, "notes": {"words": 6}}',
    ],
)
def test_what_is_damaged_is_nothing_and_is_made_anew(
    tmp_path: Path, which: str, damage: Callable[[bytes], bytes]
) -> None:
    written(tmp_path, rows_of(1))
    (file,) = (path for path in (tmp_path / "cache").iterdir() if path.suffix == which)
    file.write_bytes(damage(file.read_bytes()))
    assert not len(kept(tmp_path))
    written(tmp_path, rows_of(2))
    assert np.array_equal(kept(tmp_path), rows_of(2))


def test_no_file_grows_beyond_its_size(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(play_cache, "_FILE_BYTES", 25 * WORDS * 8)
    written(tmp_path, rows_of(1))
    written(tmp_path, rows_of(2))
    assert np.array_equal(kept(tmp_path), np.concatenate((rows_of(2), rows_of(1)[:5])))


def test_the_oldest_files_go_first_and_nobody_else_s(tmp_path: Path) -> None:
    folder = tmp_path / "cache"
    names = ("plays-1.rows", "plays-2.rows", "plays-3.rows", "roads-1.feather", "letter.txt")
    for age, name in enumerate(names):
        keep(folder / name, bytes(100), {})
        os.utime(folder / name, (1_000_000 + age, 1_000_000 + age))
    for name, seconds in ((".haulshed-new-old", 0.0), (".haulshed-new-now", time.time())):
        (folder / name).write_bytes(b"half")
        os.utime(folder / name, (seconds, seconds))
    prune(folder, "plays-*.rows", most_bytes=200)
    left = {path.name for path in folder.iterdir() if not path.name.endswith(".json")}
    assert left == {*names[1:], ".haulshed-new-now"}
    assert not (folder / "plays-1.rows.json").exists()


def test_two_runs_at_once_leave_one_of_both(tmp_path: Path) -> None:
    one, other = opened(tmp_path), opened(tmp_path)
    for plays, number in ((one, 1), (other, 2)):
        plays.recall(KIND, WORDS)
        plays.keep(KIND, rows_of(number), made=20)
    one.write()
    other.write()
    assert np.array_equal(kept(tmp_path), rows_of(2))


def test_a_folder_that_cannot_be_written_stops_nothing(tmp_path: Path) -> None:
    (tmp_path / "cache").write_text("a file where the folder should be")
    said: list[str] = []
    plays = PlayCache(tmp_path / "cache", tmp_path, said.append)
    assert not len(plays.recall(KIND, WORDS))
    plays.keep(KIND, rows_of(1), made=20)
    plays.write()
    assert len(said) == 1
    assert "not kept for the next run" in said[0]


#: Writes one generation of rows after the other: all of a generation hold its number.
_WRITER = """
import sys
from pathlib import Path
import numpy as np
from haulshed.inputs.cache_store import keep
print("begun", flush=True)
for number in range(1, 1_000_000):
    keep(Path(sys.argv[1]), np.full(400_000, number, np.uint64).tobytes(), {"words": 6})
"""


@pytest.mark.slow  # a process for each kill, and its imports
def test_a_killed_writer_leaves_a_whole_generation_or_none(tmp_path: Path) -> None:
    draw = random.Random(7)  # noqa: S311 — moments, no secrets
    file = tmp_path / "cache" / "plays-1.rows"
    wholes = 0
    for _ in range(6):
        process = subprocess.Popen(  # noqa: S603 — our own words
            (sys.executable, "-c", _WRITER, str(file)), stdout=subprocess.PIPE, env=dict(os.environ)
        )
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(draw.uniform(0.01, 0.2))
        process.send_signal(signal.SIGKILL)
        process.communicate()
        got = play_cache.fetch(file)
        if got is not None:
            rows = np.frombuffer(got[0], np.uint64)
            assert rows.size == 400_000
            assert (rows == rows[0]).all()
            wholes += 1
    assert wholes
