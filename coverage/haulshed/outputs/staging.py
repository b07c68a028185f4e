"""A folder that is written beside its place and moved whole, so never half there."""

import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from haulshed.errors import OutputError

RUN_FILE = "run.json"

#: Keys by which the record of a run is known to be ours.
_OUR_KEYS = {"version", "scenario", "input_sha256"}


@contextmanager
def replaced_whole(out: Path, names: frozenset[str]) -> Iterator[Path]:
    """
    Give an empty folder beside `out`; once the block ends well it stands in the place of `out`.

    `names` are the files that a run writes. Anything else in `out` is the user's and is carried
    over. If the block fails, `out` is as it was. What a killed run left is cleared first, and its
    last good outputs are put back should they have been on the way out.

    Raises
    ------
    OutputError
        If `out` holds what no run of ours wrote.
    OSError
        If a folder cannot be made or moved.
    """
    fresh, before = out.with_name(f".{out.name}.unfinished"), out.with_name(f".{out.name}.before")
    _mend(out, fresh, before)
    _refuse_what_is_not_ours(out)
    fresh.mkdir(parents=True)
    try:
        yield fresh
        _carry_over(out, fresh, names)
        _swap(fresh, out, before)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _mend(out: Path, fresh: Path, before: Path) -> None:
    if before.is_dir() and not out.exists():
        before.replace(out)
    for left in (fresh, before):
        if left.is_dir():
            shutil.rmtree(left)


def _refuse_what_is_not_ours(out: Path) -> None:
    if out.exists() and not out.is_dir():
        msg = f"{out} is a file. Give another place with --out."
        raise OutputError(msg)
    if out.is_dir() and any(out.iterdir()) and not _is_ours(out / RUN_FILE):
        msg = (
            f"{out} holds files, and no {RUN_FILE} of haulshed is among them: it may be somebody"
            " else's. Give another place with --out, or empty it."
        )
        raise OutputError(msg)


def _is_ours(run_file: Path) -> bool:
    try:
        record = json.loads(run_file.read_text(encoding="utf-8"))
    except (FileNotFoundError, IsADirectoryError, ValueError):
        return False
    return isinstance(record, dict) and record.keys() >= _OUR_KEYS


def _carry_over(out: Path, fresh: Path, names: frozenset[str]) -> None:
    kept = [entry for entry in out.iterdir() if entry.name not in names] if out.is_dir() else []
    for entry in kept:
        if entry.is_dir() and not entry.is_symlink():
            shutil.copytree(entry, fresh / entry.name, symlinks=True)
        else:
            shutil.copy2(entry, fresh / entry.name, follow_symlinks=False)


def _swap(fresh: Path, out: Path, before: Path) -> None:
    """Put `fresh` in the place of `out`; what was there goes only when the new one stands."""
    if out.exists():
        out.replace(before)
    try:
        fresh.replace(out)
    except OSError:
        if before.exists():
            before.replace(out)
        raise
    shutil.rmtree(before, ignore_errors=True)
