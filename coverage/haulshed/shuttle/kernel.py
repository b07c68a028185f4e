"""How the shuttle's inner loops are compiled, and the array types that they take.

A compiled function is kept on disk beside its file and made again when that file changes. It holds
a copy of what it calls, so after a change to one kernel remove ``__pycache__/*.nbi`` here: numba
does not see that a callee in another file is new.
"""

from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar, cast

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

#: Numba's options for a function that Python never calls itself.
_INNER: dict[str, Any] = {
    "error_model": "numpy",
    "no_cpython_wrapper": True,
    "no_cfunc_wrapper": True,
}

#: And for one of many small steps; `_nrt` is numba's count of references.
_MERGED: dict[str, Any] = _INNER | {"forceinline": True, "_nrt": False}

_Given = ParamSpec("_Given")
_Got = TypeVar("_Got")


def compiled(function: Callable[_Given, _Got]) -> Callable[_Given, _Got]:
    """Return `function` compiled by numba at its first call, with numpy's rules for 1/0."""
    return cast("Callable[_Given, _Got]", njit(cache=True, error_model="numpy")(function))


def compiled_free(function: Callable[_Given, _Got]) -> Callable[_Given, _Got]:
    """Return `function` compiled as :func:`compiled` does, to run beside other threads."""
    return cast(
        "Callable[_Given, _Got]", njit(cache=True, error_model="numpy", nogil=True)(function)
    )


def inner(function: Callable[_Given, _Got]) -> Callable[_Given, _Got]:
    """Return `function` compiled for calls from other kernels only, which compiles much faster."""
    return cast("Callable[_Given, _Got]", njit(**_INNER)(function))


def merged(function: Callable[_Given, _Got]) -> Callable[_Given, _Got]:
    """
    Return `function` compiled into the kernels that call it, without counting references.

    It must make no array. A play of many small steps over arrays in named tuples runs twelve times
    as fast so: copying the tuples and counting references cost more than the steps.
    """
    return cast("Callable[_Given, _Got]", njit(**_MERGED)(function))
