"""What incidents came to, in the user's cache folder, for the next run."""

import platform
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path

import numpy as np
import pandas as pd

from haulshed.case import Words
from haulshed.inputs.cache_store import fetch, keep, prune
from haulshed.inputs.code_digest import code_digest

#: What figures depend on besides our own code.
_LIBRARIES = ("haulshed", "llvmlite", "numba", "numpy", "scipy")
_NAMES = "plays-*.rows"
#: No file is larger; what was used longest ago is left out [bytes].
_FILE_BYTES = 64 * 2**20
#: Nor are all together; the files written longest ago are removed [bytes].
_FOLDER_BYTES = 512 * 2**20
#: Between two writings of one file, as a killed run's work should not all be lost [s].
_WRITE_EVERY_S = 30.0


class PlayCache:
    """
    Rows of 64-bit words by kind, a file each.

    Whose rows they are decides only in which file they are looked for: each is found by hashes of
    all that it rests on.

    Parameters
    ----------
    folder
        The cache folder.
    owner
        The district.
    said
        Is told if nothing can be kept.
    """

    def __init__(self, folder: Path, owner: Path, said: Callable[[str], None]) -> None:
        self._folder, self._said = folder, said
        self._owner = (*_made_by(), str(owner.resolve()))
        self._before: dict[str, Words] = {}
        self._rows: dict[str, list[Words]] = {}
        self._made: dict[str, int] = {}
        self._written_s: dict[str, float] = {}

    def recall(self, kind: str, words: int) -> Words:
        """Return the rows of a kind that are kept whole; none where anything is amiss."""
        kept = fetch(self._file(kind))
        content = kept[0] if kept and kept[1] == {"words": words} else b""
        whole = len(content) - len(content) % (8 * words)
        self._before[kind] = np.frombuffer(content[:whole], np.uint64).reshape(-1, words)
        return self._before[kind]

    def keep(self, kind: str, rows: Words, *, made: int) -> None:
        """Keep rows of a kind; they are written now and then, and by :meth:`write`."""
        self._rows.setdefault(kind, []).append(rows)
        self._made[kind] = self._made.get(kind, 0) + made
        if time.monotonic() - self._written_s.setdefault(kind, time.monotonic()) > _WRITE_EVERY_S:
            self._write(kind)

    def write(self) -> None:
        """Write what has not been written."""
        for kind in self._rows:
            self._write(kind)

    def _write(self, kind: str) -> None:
        """Write a kind's rows, those of this run first, if any of them is new."""
        self._written_s[kind] = time.monotonic()
        if not self._made.get(kind):
            return
        rows = _each_once(np.concatenate((*self._rows[kind], self._before[kind])))
        most, words = _FILE_BYTES // (8 * rows.shape[1]), rows.shape[1]
        try:
            keep(self._file(kind), rows[:most].tobytes(), {"words": words})
            prune(self._folder, _NAMES, most_bytes=_FOLDER_BYTES)
        except OSError as error:
            self._said(f"The incidents are not kept for the next run: {error}.")
        self._made[kind] = 0

    def _file(self, kind: str) -> Path:
        key = sha256("\n".join((*self._owner, kind)).encode()).hexdigest()[:32]
        return self._folder / _NAMES.replace("*", key)


@contextmanager
def play_cache(folder: Path, owner: Path, said: Callable[[str], None]) -> Iterator[PlayCache]:
    """Give the cache of a district's plays; what was made is written, whatever happens."""
    plays = PlayCache(folder, owner, said)
    try:
        yield plays
    finally:
        plays.write()


def _each_once(rows: Words) -> Words:
    """Return the rows without those that stand there before, in their order."""
    stood_before = pd.DataFrame(rows).duplicated().to_numpy()
    return np.asarray(rows[~stood_before])


@cache
def _made_by() -> tuple[str, ...]:
    """Return what figures depend on: this code to the letter, the libraries, the machine's kind."""
    libraries = (f"{name}={version(name)}" for name in _LIBRARIES)
    return (code_digest(), *libraries, platform.machine(), platform.python_version())
