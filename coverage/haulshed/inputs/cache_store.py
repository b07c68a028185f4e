"""Keep a file and its notes in a cache folder so that any damage to them is noticed."""

import json
import time
from collections.abc import Mapping
from hashlib import sha256
from pathlib import Path
from tempfile import NamedTemporaryFile

#: How the names of files begin that are being written.
_NEW = ".haulshed-new-"
#: So old they are being written no more [s].
_LITTER_S = 24 * 60 * 60.0


def keep(file: Path, content: bytes, notes: Mapping[str, int]) -> None:
    """
    Write `content` to `file`, and the notes and the hash of both beside it.

    Each of the two is written whole or not at all. A pair that does not match is no pair for
    :func:`fetch`, so neither two writers at once nor a broken-off one can do harm.

    Raises
    ------
    OSError
        If the folder cannot be written.
    """
    file.parent.mkdir(parents=True, exist_ok=True)
    about = {"sha256": _digest(content, notes), "notes": dict(notes)}
    _replace(file, content)
    _replace(_beside(file), json.dumps(about, indent=1).encode())


def fetch(file: Path) -> tuple[bytes, dict[str, int]] | None:
    """Return what :func:`keep` wrote; None if it is not there, not whole or not as written."""
    try:
        content = file.read_bytes()
        about = json.loads(_beside(file).read_bytes())
        notes = {str(key): int(count) for key, count in about["notes"].items()}
        whole = about["sha256"] == _digest(content, notes)
    except (OSError, ValueError, LookupError, TypeError, AttributeError):
        return None
    return (content, notes) if whole else None


def prune(folder: Path, names: str, *, most_bytes: int) -> None:
    """
    Remove the files called so that were written longest ago, until the rest is no larger.

    What a writer that was killed left is removed too, a day later.

    Raises
    ------
    OSError
        If a file cannot be removed that is there.
    """
    old = time.time() - _LITTER_S
    for file in folder.glob(f"{_NEW}*"):
        if file.is_file() and _written(file)[0] < old:
            file.unlink(missing_ok=True)
    total = 0
    for file in sorted(folder.glob(names), key=_written, reverse=True):
        total += _written(file)[1]
        if total > most_bytes:
            file.unlink(missing_ok=True)
            _beside(file).unlink(missing_ok=True)


def _written(file: Path) -> tuple[float, int]:
    """Return when a file was written, and its bytes; of one that another has removed, never."""
    try:
        about = file.stat()
    except FileNotFoundError:
        return 0.0, 0
    return about.st_mtime, about.st_size


def _beside(file: Path) -> Path:
    return file.with_name(f"{file.name}.json")


def _digest(content: bytes, notes: Mapping[str, int]) -> str:
    return sha256(json.dumps(sorted(notes.items())).encode() + content).hexdigest()


def _replace(file: Path, content: bytes) -> None:
    with NamedTemporaryFile(dir=file.parent, prefix=_NEW, delete=False) as new:
        temporary = Path(new.name)
    try:
        temporary.write_bytes(content)
        temporary.replace(file)
    except OSError:
        temporary.unlink(missing_ok=True)
        raise
