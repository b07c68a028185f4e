"""Work that the cores share: compiled kernels and large arrays leave Python free meanwhile."""

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from numba import config

_Item = TypeVar("_Item")
_Done = TypeVar("_Done")


def shared_out(work: Callable[[_Item], _Done], items: Iterable[_Item]) -> Iterator[_Done]:
    """
    Yield what `work` returns for each item, in their order, several being worked on at once.

    When the caller stops, or a piece of work fails, what has not been begun is dropped.
    """
    allowed = config.NUMBA_NUM_THREADS  # type: ignore[attr-defined]  # set when numba is imported
    cores = ThreadPoolExecutor(allowed)
    try:
        yield from cores.map(work, items)
    finally:
        cores.shutdown(cancel_futures=True)
