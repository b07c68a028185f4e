"""One file, written whole or not at all, and never over somebody else's."""

import os
import tempfile
from pathlib import Path

from haulshed.errors import OutputError

#: Every file that a command writes by itself says this near its beginning, a PDF near its end.
MADE_BY = "Made by haulshed"
#: Bytes at either end of a file in which that is looked for.
_LOOKED_AT = 8192
#: Files of a district by the names that they must have.
_INPUTS = ("district.toml", "options.toml")


def write_whole(path: Path, content: str | bytes) -> None:
    """
    Write bytes, or a text as UTF-8; a file that is there stays as it was unless all went well.

    `content` says :data:`MADE_BY`, so that a later command may replace it.

    Raises
    ------
    OutputError
        If the file cannot be written, or is there and not ours.
    """
    refuse_file(path)
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", text=False)
        fresh = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content.encode() if isinstance(content, str) else content)
            fresh.chmod(0o644)  # as other outputs are; a temporary file is the owner's alone
            fresh.replace(path)
        finally:
            fresh.unlink(missing_ok=True)
    except OSError as error:
        msg = f"{path} cannot be written: {error.strerror}. Give another place."
        raise OutputError(msg) from error


def refuse_file(path: Path) -> None:
    """
    Raise unless `path` is free, or a file that an earlier command wrote.

    Raises
    ------
    OutputError
        If it is a file of somebody else's, a folder, or has the name of a district's input.
    """
    if path.name.lower() in _INPUTS:
        msg = (
            f"{path} is the name of a district's own file, which no output takes. Give another"
            " name, and paste from there."
        )
        raise OutputError(msg)
    if path.exists() and not is_ours(path):
        msg = (
            f"{path} is there and does not say '{MADE_BY}' at its beginning or end: it may be"
            " somebody else's, and is not replaced. Give another name, or move it away."
        )
        raise OutputError(msg)


def is_ours(path: Path) -> bool:
    """Say whether a command of ours wrote this file by itself."""
    try:
        with path.open("rb") as file:
            head = file.read(_LOOKED_AT)
            file.seek(max(path.stat().st_size - _LOOKED_AT, 0))
            return MADE_BY.encode() in head + file.read(_LOOKED_AT)
    except OSError:  # a folder, or not to be read: not ours in any case
        return False
