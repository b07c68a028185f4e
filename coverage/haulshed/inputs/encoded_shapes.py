"""
Geometry as well-known binary and text, with nothing nested so deep that it ends the program.

GEOS reads a collection within a collection by calling itself: a million of them, 9 bytes each, run
over the stack, and no error can be caught. No geometry of ours needs more than one level.
"""

import re
import struct
from collections.abc import Iterable, Sequence

import numpy as np
import shapely

from haulshed.inputs.raw_table import Geometries

#: A collection within a multipart within a collection is as deep as we read.
_DEEPEST = 3
_POINT, _LINE, _POLYGON = 1, 2, 3
_HAS_Z, _HAS_M, _HAS_SRID = 0x80000000, 0x40000000, 0x20000000
_HEADER_BYTES = 5
_DOUBLE_BYTES = 8
#: Words of a text geometry: POINT, MULTIPOLYGON, EMPTY. The E of a number is too short.
_WORDS = re.compile(r"[A-Za-z]{3,}")
#: A kind and EMPTY; more are parts of a collection.
_MOST_WORDS = 2


def shapes_from_wkb(encoded: Sequence[bytes | None]) -> Geometries:
    """Return the geometries; None where there is none or it cannot be read."""
    sound = [None if one is None or _too_deep(one) else one for one in encoded]
    shapes: Geometries = shapely.from_wkb(np.array(sound, dtype=object), on_invalid="ignore")
    return shapes


def shapes_from_wkt(texts: Iterable[str]) -> Geometries:
    """
    Return the geometries of texts such as ``POINT (3 4)``; None where one cannot be read.

    Examples
    --------
    >>> shapes_from_wkt(["POINT Z (1e3 2 3)", "", "a field"]).tolist()
    [<POINT Z (1000 2 3)>, None, None]
    """
    sound = [None if len(_WORDS.findall(text)) > _MOST_WORDS else text or None for text in texts]
    shapes: Geometries = shapely.from_wkt(np.array(sound, dtype=object), on_invalid="ignore")
    return shapes


def _too_deep(wkb: bytes) -> bool:
    """Return whether collections are nested too deep in a geometry, or it ends too soon."""
    left = [1]  # geometries still to come, by depth
    at = 0
    try:
        while left:
            if not left[-1]:
                left.pop()
                continue
            left[-1] -= 1
            at, parts = _passed(wkb, at)
            if parts:
                left.append(parts)
            if len(left) > _DEEPEST:
                return True
    except (struct.error, IndexError):
        return True
    return False


def _passed(wkb: bytes, at: int) -> tuple[int, int]:
    """Return where the geometry that begins at `at` goes on, and how many parts it has there."""
    order = "<" if wkb[at] else ">"
    code: int = struct.unpack_from(f"{order}I", wkb, at + 1)[0]
    at += _HEADER_BYTES + (4 if code & _HAS_SRID else 0)
    kind, dimensions = code & 0xFFFF, 2 + bool(code & _HAS_Z) + bool(code & _HAS_M)
    iso, kind = divmod(kind, 1000)  # ISO adds 1000 for Z, 2000 for M, 3000 for both
    size = _DOUBLE_BYTES * (dimensions + (0, 1, 1, 2)[iso])
    if kind == _POINT:
        return at + size, 0
    count: int = struct.unpack_from(f"{order}I", wkb, at)[0]
    at += 4
    if kind == _LINE:
        return at + count * size, 0
    if kind != _POLYGON:
        return at, count
    for _ in range(count):
        (corners,) = struct.unpack_from(f"{order}I", wkb, at)
        at += 4 + corners * size
    return at, 0
