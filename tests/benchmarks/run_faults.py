"""Break runs in every way that a machine can. From `tests`: ``python -m benchmarks.run_faults``.

Kills them at random moments and while they write the cache, fills the disk, takes memory away, lets
two run at once. After each: are the last good outputs, or the new ones, whole? Does the next run,
from the cache that is left, come out to the byte? Needs root for the small disk (a tmpfs mount).
Prints the table of the README.
"""

import contextlib
import hashlib
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from haulshed.inputs.samples import larkmoor

KILLS, CACHE_KILLS = 40, 10
SEED = 20261125
SMALL_DISK = "12m"
LIMITS_MB = (300, 900, 1200, 1800, 4000)
BYTES_PER_MB = 2**20
#: Written anew in each run, with its date.
DATED = "run.json"


def main() -> None:
    """Print a line a kind of fault and outcome."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        seconds, new = _first_run(place)
        old = _older(place)
        table: Counter[tuple[str, str]] = Counter()
        for fault, outcome in (
            *_told(_two_at_once(place, old, new)),
            *_told(_one_cache(place, new)),
            *_told(_out_of_memory(place, old)),
            *_told(_disk_full(place, old, new)),
            *_told(_killed_at_the_cache(place, old, new)),
            *_told(_killed(place, seconds, old, new)),
        ):
            table[fault, outcome] += 1
        print("| fault | times | outcome |\n|---|---|---|")  # noqa: T201 — a script prints
        for (fault, outcome), times in table.items():
            print(f"| {fault} | {times} | {outcome} |")  # noqa: T201 — a script prints


def _told(found: Iterator[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """Yield the same, each said as soon as it is known."""
    for fault, outcome in found:
        print(f"{fault}: {outcome}", file=sys.stderr, flush=True)  # noqa: T201 — a script prints
        yield fault, outcome


def _command(out: Path, cache: Path, *, scenario: str = "winter") -> list[str]:
    words = ("run", str(larkmoor()), "--out", str(out), "--cache", str(cache))
    return [sys.executable, "-m", "haulshed", *words, "--scenario", scenario]


def _run(out: Path, cache: Path, **options: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(  # noqa: S603 — our own command
        _command(out, cache, **options), capture_output=True, text=True, check=False
    )


def _bytes(out: Path) -> dict[str, str]:
    """Return a hash of every file but the dated one; empty if `out` is not there."""
    if not out.is_dir():
        return {}
    files = [file for file in out.rglob("*") if file.is_file() and file.name != DATED]
    return {
        file.relative_to(out).as_posix(): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in files
    }


def _first_run(place: Path) -> tuple[float, dict[str, str]]:
    _run(place / "compiled", place / "none")  # the kernels, if need be
    start = time.perf_counter()
    done = _run(place / "new", place / "cache")
    if done.returncode:
        sys.exit(done.stderr)
    return time.perf_counter() - start, _bytes(place / "new")


def _older(place: Path) -> dict[str, str]:
    """Make outputs of another scenario, which the runs to come are to replace."""
    _run(place / "old", place / "cache", scenario="drought")
    return _bytes(place / "old")


def _fresh(place: Path) -> Path:
    out = place / "out"
    shutil.rmtree(out, ignore_errors=True)
    shutil.copytree(place / "old", out)
    return out


def _state(out: Path, old: dict[str, str], new: dict[str, str]) -> str:
    found = _bytes(out)
    return "the old" if found == old else "the new" if found == new else "BROKEN"


def _killed(
    place: Path, seconds: float, old: dict[str, str], new: dict[str, str]
) -> Iterator[tuple[str, str]]:
    """Kill runs with an empty cache at random moments."""
    rng = random.Random(SEED)  # noqa: S311 — moments, not secrets
    for number, moment in enumerate(sorted(rng.random() * 1.05 for _ in range(KILLS))):
        out, cache = _fresh(place), place / f"cache{number}"
        with _begun(out, cache) as run, contextlib.suppress(subprocess.TimeoutExpired):
            run.wait(moment * seconds)
        part = int(moment * 5) * 20
        yield f"`kill -9` at {part} to {part + 20} % of its time", _after(out, cache, old, new)
        shutil.rmtree(cache, ignore_errors=True)


def _killed_at_the_cache(
    place: Path, old: dict[str, str], new: dict[str, str]
) -> Iterator[tuple[str, str]]:
    """Kill runs while they write what incidents came to."""
    rng = random.Random(SEED)  # noqa: S311 — moments, not secrets
    for number in range(CACHE_KILLS):
        out, cache = _fresh(place), place / f"roads{number}"
        cache.mkdir()
        for file in (place / "cache").glob("roads-*"):
            shutil.copy(file, cache)
        files = rng.randrange(4)  # written before the kill, of four
        with _begun(out, cache) as run:
            while run.poll() is None:
                whole = len(list(cache.glob("plays-*.rows.json")))
                if whole >= files and list(cache.glob(".haulshed-new-*")):
                    break
        yield "`kill -9` while it writes the cache", _after(out, cache, old, new)
        shutil.rmtree(cache, ignore_errors=True)


@contextlib.contextmanager
def _begun(out: Path, cache: Path) -> Iterator[subprocess.Popen[bytes]]:
    """Begin a run, and kill it at the end of the block."""
    run = subprocess.Popen(  # noqa: S603 — our own command
        _command(out, cache), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        yield run
    finally:
        run.send_signal(signal.SIGKILL)
        run.wait()


def _after(out: Path, cache: Path, old: dict[str, str], new: dict[str, str]) -> str:
    """Return what a kill left, and what the next run makes of it."""
    # Killed between two moves, the old ones wait beside the folder for the next run.
    left = _state(out if out.is_dir() else out.with_name(".out.before"), old, new)
    again = _run(out, cache)
    after = _state(out, old, new)
    byte = "right to the byte" if (again.returncode, after) == (0, "the new") else "WRONG"
    return f"{left} outputs whole; the next run, from the cache left, {byte}"


def _two_at_once(
    place: Path, old: dict[str, str], new: dict[str, str]
) -> Iterator[tuple[str, str]]:
    out = _fresh(place)
    runs = [
        subprocess.Popen(  # noqa: S603 — our own command
            _command(out, place / "cache"), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
        )
        for _ in range(2)
    ]
    told = [run.communicate()[1].decode() for run in runs]
    ends = sorted(run.returncode for run in runs)
    said = "said so" if any("Another run" in text for text in told) else "no need to say so"
    yield "two runs, one folder", f"exits {ends}, {said}; {_state(out, old, new)} outputs whole"


def _one_cache(place: Path, new: dict[str, str]) -> Iterator[tuple[str, str]]:
    """Let two runs into two folders fill one cache at once, and a third read it."""
    cache = place / "shared"
    outs = [place / "one", place / "other"]
    with _begun(outs[0], cache) as one, _begun(outs[1], cache) as other:
        ends = one.wait(), other.wait()
    _run(place / "third", cache)
    right = all(_bytes(out) == new for out in (*outs, place / "third"))
    said = "both and a third from that cache right to the byte" if right else "WRONG"
    yield "two runs, one cache", f"exits {list(ends)}; {said}"


def _out_of_memory(place: Path, old: dict[str, str]) -> Iterator[tuple[str, str]]:
    for limit_mb in LIMITS_MB:
        out = _fresh(place)
        limit = limit_mb * BYTES_PER_MB

        def limited(most: int = limit) -> None:
            resource.setrlimit(resource.RLIMIT_AS, (most, most))

        done = subprocess.run(  # noqa: S603 — our own command
            _command(out, place / "cache"),
            capture_output=True,
            text=True,
            check=False,
            preexec_fn=limited,
        )
        said = "said so" if "not enough memory" in done.stderr else "said nothing of memory"
        kept = "done" if done.returncode == 0 else "the old outputs whole"
        if done.returncode and _bytes(out) != old:
            kept = "BROKEN"
        yield f"memory limit {limit_mb} MB", f"exit {done.returncode}, {said}; {kept}"


def _disk_full(place: Path, old: dict[str, str], new: dict[str, str]) -> Iterator[tuple[str, str]]:
    disk = place / "disk"
    disk.mkdir()
    if os.geteuid() != 0:
        yield "disk full", "not tried: needs root"
        return
    mount = ("mount", "-t", "tmpfs", "-o", f"size={SMALL_DISK}", "tmpfs", str(disk))
    subprocess.run(mount, check=True)  # noqa: S603 — fixed words
    try:
        for what, out, cache in (
            ("disk of the outputs full", disk / "out", place / "cache"),
            ("disk of the cache full", place / "out", disk / "cache"),
        ):
            kept = _fresh(place)
            if out.parent == disk:
                shutil.copytree(kept, out)
            (disk / "filler").write_bytes(bytes(shutil.disk_usage(disk).free - 50_000))
            done = _run(out, cache)
            lines = done.stderr.strip().splitlines()
            said = "a line" if len(lines) == 1 else f"{len(lines)} lines"
            litter = [
                file.name for file in disk.rglob("*") if file.name.startswith((".new", ".out."))
            ]
            litter = [name for name in litter if not name.endswith(".lock")]
            left = f"half-written: {', '.join(litter)}" if litter else "nothing half-written"
            state = f"{_state(out, old, new)} outputs whole"
            yield what, f"exit {done.returncode}, {said} of complaint; {state}; {left}"
            (disk / "filler").unlink()
    finally:
        subprocess.run(("umount", str(disk)), check=True)  # noqa: S603, S607 — fixed words


if __name__ == "__main__":
    main()
