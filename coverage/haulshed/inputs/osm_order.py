"""OpenStreetMap files whose objects do not stand in the order of their types and ids."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import osmium
from osmium.osm import NODE, RELATION, WAY

_ORDER = {"n": 0, "w": 1, "r": 2}


@contextmanager
def in_order(path: Path, ending: str) -> Iterator[osmium.io.File]:
    """
    Give the file, or a copy in the order of types and ids, the last version of each object.

    osmium puts areas together from files in that order only: of others it complains, or finds
    none. The copy is made in memory, and is gone when the block ends.

    Raises
    ------
    RuntimeError
        If osmium cannot read the file.
    """
    file = osmium.io.File(str(path), ending)
    if _is_in_order(file):
        yield file
        return
    with TemporaryDirectory() as scratch:
        copy = Path(scratch) / "sorted.osm.pbf"
        content = osmium.MergeInputReader()
        content.add_file(str(path))
        with osmium.SimpleWriter(str(copy)) as writer:
            content.apply(writer, simplify=True)
        yield osmium.io.File(str(copy), "osm.pbf")


def _is_in_order(file: osmium.io.File) -> bool:
    """Return whether each object stands once, nodes, ways and relations by their numbers."""
    with osmium.io.Reader(file, osmium.osm.NOTHING) as reader:
        if reader.header().get("sorting") == "Type_then_ID":
            return True
    last = (0, -1)
    for thing in osmium.FileProcessor(file, NODE | WAY | RELATION):
        here = (_ORDER[thing.type_str()], thing.id)
        if here <= last:
            return False
        last = here
    return True
