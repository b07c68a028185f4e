"""An invented place as OpenStreetMap would have it: a road, houses, waters, a station."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from xml.sax.saxutils import quoteattr

from haulshed.inputs.osm_places import read_places
from haulshed.inputs.roads import read_roads
from haulshed.scenario import RoadRules
from haulshed.survey.place import MapExtract
from haulshed.tables.segments import Segments

Tags = Mapping[str, str]
#: On a plane good enough here: metres to degrees at 45° north.
LAT_PER_M, LON_PER_M = 1 / 111_132, 1 / 78_847
LAT, LON = 45.0, -100.0


class MapMaker:
    """Writes objects by metres east and north of the origin."""

    def __init__(self) -> None:
        self.nodes: list[str] = []
        self.ways: list[str] = []
        self.relations: list[str] = []

    def point(self, east_m: float, north_m: float, **tags: str) -> int:
        number = len(self.nodes) + 1
        lat, lon = LAT + north_m * LAT_PER_M, LON + east_m * LON_PER_M
        place = f'<node id="{number}" version="1" lat="{lat:.7f}" lon="{lon:.7f}">'
        self.nodes.append(f"{place}{_tags(tags)}</node>")
        return number

    def line(self, *corners: tuple[float, float], closed: bool = False, **tags: str) -> int:
        refs = [self.point(*corner) for corner in corners]
        return self.way(refs + refs[:1] * closed, **tags)

    def way(self, refs: Sequence[int], **tags: str) -> int:
        number = len(self.ways) + 1
        members = "".join(f'<nd ref="{ref}"/>' for ref in refs)
        self.ways.append(f'<way id="{number}" version="1">{members}{_tags(tags)}</way>')
        return number

    def square(self, east_m: float, north_m: float, side_m: float, **tags: str) -> int:
        """Draw a square by its south-west corner."""
        ends = [(east_m + x * side_m, north_m + y * side_m) for x, y in _SQUARE]
        return self.line(*ends, closed=True, **tags)

    def relation(self, members: Mapping[int, str], **tags: str) -> int:
        number = len(self.relations) + 1
        listed = "".join(
            f'<member type="way" ref="{ref}" role="{role}"/>' for ref, role in members.items()
        )
        self.relations.append(
            f'<relation id="{number}" version="1">{listed}{_tags(tags)}</relation>'
        )
        return number

    def write(self, file: Path, order: str = "nwr", box: str = "") -> Path:
        parts = {"n": self.nodes, "w": self.ways, "r": self.relations}
        content = "\n".join(text for kind in order for text in parts[kind])
        file.write_text(f'<osm version="0.6">{box}\n{content}\n</osm>\n', encoding="utf-8")
        return file


_SQUARE = ((0, 0), (1, 0), (1, 1), (0, 1))


def _tags(tags: Tags) -> str:
    """Return tags as XML; in a key two underscores stand for a colon."""
    return "".join(
        f"<tag k={quoteattr(key.replace('__', ':'))} v={quoteattr(value)}/>"
        for key, value in tags.items()
    )


def read(file: Path) -> tuple[MapExtract, Segments]:
    segments, _ = read_roads(file, RoadRules(), cache_dir=None, progress=lambda _step: None)
    return read_places(file, "osm"), segments
