"""One file, written whole or not at all."""

import os
import tempfile
from pathlib import Path

from haulshed.errors import OutputError


def write_whole(path: Path, content: str | bytes) -> None:
    """
    Write bytes, or a text as UTF-8; a file that is there stays as it was unless all went well.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
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
