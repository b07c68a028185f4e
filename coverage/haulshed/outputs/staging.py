"""A folder that is written beside its place and moved whole, so never half there."""

import json
import shutil
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from haulshed.errors import OutputError
from haulshed.outputs.whole_file import is_ours

RUN_FILE = "run.json"

#: How files end in which a user says what a run is to be of.
_SETTINGS = ".toml"

#: How the records of runs end.
_RECORD = ".json"

#: Entries of a folder that a message names.
_NAMED = 5

#: Keys by which the record of a run is known to be ours.
_OUR_KEYS = {"version", "scenario", "input_sha256"}


@contextmanager
def replaced_whole(out: Path, names: frozenset[str]) -> Iterator[Path]:
    """
    Give an empty folder beside `out`; once the block ends well it stands in the place of `out`.

    `names` are the files that a run writes. Anything else in `out` is the user's and is carried
    over. If the block fails, `out` is as it was. What a killed run left is cleared first, and its
    last good outputs are put back should they have been on the way out. One run at a time has a
    folder: a lock beside it, which the system takes off a run that is killed, sees to that.

    Raises
    ------
    OutputError
        If :func:`refuse_folder` has it so, or another run is writing it.
    OSError
        If a folder cannot be made or moved.
    """
    with _alone(out):
        yield from _replaced_whole(out, names)


def _replaced_whole(out: Path, names: frozenset[str]) -> Iterator[Path]:
    fresh, before = out.with_name(f".{out.name}.unfinished"), out.with_name(f".{out.name}.before")
    _mend(out, fresh, before)
    refuse_folder(out)
    _refuse_foreign(out, names)
    fresh.mkdir(parents=True)
    try:
        yield fresh
        _carry_over(out, fresh, names)
        _swap(fresh, out, before)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


@contextmanager
def _alone(out: Path) -> Iterator[None]:
    """
    Keep other runs out of a folder.

    The lock's file stays behind, empty: to remove it would let a third run in while a second one
    still waits for the file of the first.
    """
    out.parent.mkdir(parents=True, exist_ok=True)
    file = out.with_name(f".{out.name}.lock")
    lock = FileLock(file)
    try:
        lock.acquire(blocking=False)
    except Timeout as taken:
        msg = (
            f"Another run is writing to {out} just now. Let it end, or give another place with"
            " --out."
        )
        if not file.exists():  # then no other run has it: nothing can be made there
            msg = f"Nothing can be written in {out.parent}. Give another place with --out."
        raise OutputError(msg) from taken
    try:
        yield
    finally:
        lock.release()


def _mend(out: Path, fresh: Path, before: Path) -> None:
    if before.is_dir() and not out.exists():
        before.replace(out)
    for left in (fresh, before):
        if left.is_dir():
            shutil.rmtree(left)


def refuse_folder(out: Path, *, inputs: Iterable[Path] = ()) -> None:
    """
    Raise unless outputs may stand in `out`: it is free, or a folder of outputs of ours.

    Parameters
    ----------
    out
        The folder.
    inputs
        Files that the run reads.

    Raises
    ------
    OutputError
        If it is a file, holds what no run of ours wrote, or inputs: a TOML file, which a user
        writes, or one of `inputs`, however deep.
    """
    if out.exists() and not out.is_dir():
        msg = f"{out} is a file. Give another place with --out."
        raise OutputError(msg)
    there = sorted(out.iterdir()) if out.is_dir() else []
    written = [one for one in there if one.suffix.lower() == _SETTINGS and not is_ours(one)]
    read = [one for one in inputs if out.resolve() in one.resolve().parents]
    if written or read:
        msg = (
            f"{out} holds {(written + read)[0].name}: it is a folder of inputs, and no output"
            " ever goes among them. Give another place with --out."
        )
        raise OutputError(msg)
    if there and not any(map(_is_record, out.glob(f"*{_RECORD}"))):
        msg = (
            f"{out} holds files, and no record of haulshed, such as {RUN_FILE}, is among them: it"
            " may be somebody else's. Give another place with --out, or empty it."
        )
        raise OutputError(msg)


def _refuse_foreign(out: Path, names: frozenset[str]) -> None:
    """Raise if a file that is to be replaced has no record of ours beside it that goes with it."""
    there = sorted(name for name in names if (out / name).exists())
    records = sorted(name for name in names if name.endswith(_RECORD))
    if there and not any(_is_record(out / name) for name in records if name in there):
        msg = (
            f"{out} holds {there[0]}, and no {' or '.join(records)} of the command that would have"
            " written it: it may be somebody else's. Give another place with --out, or move it"
            " away."
        )
        raise OutputError(msg)


def _is_record(run_file: Path) -> bool:
    try:
        record = json.loads(run_file.read_text(encoding="utf-8"))
    except (IsADirectoryError, ValueError):
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


@contextmanager
def made_whole(folder: Path) -> Iterator[Path]:
    """
    Give an empty folder beside `folder`; once the block ends well it stands there as `folder`.

    Raises
    ------
    OutputError
        If there is anything in the way; nothing of it is touched.
    OSError
        If a folder cannot be made or moved.
    """
    _refuse_anything_in_the_way(folder)
    fresh = folder.with_name(f".{folder.name}.unfinished")
    if fresh.is_dir():
        shutil.rmtree(fresh)
    fresh.mkdir(parents=True)
    try:
        yield fresh
        _refuse_anything_in_the_way(folder)
        if folder.is_dir():
            folder.rmdir()
        fresh.replace(folder)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _refuse_anything_in_the_way(folder: Path) -> None:
    there = sorted(one.name for one in folder.iterdir()) if folder.is_dir() else []
    if there:
        listed = ", ".join(there[:_NAMED]) + (" …" if len(there) > _NAMED else "")
        msg = f"{folder} holds {listed}. Nothing is overwritten: name a folder that is not there."
        raise OutputError(msg)
    if not folder.is_dir() and (folder.exists() or folder.is_symlink()):
        msg = f"{folder} is a file. Name a folder that is not there."
        raise OutputError(msg)
