"""
What is read of a real map against what the command osmium (Debian's osmium-tool) counts in it.

Data: OpenStreetMap (© OpenStreetMap contributors, ODbL). Counts of objects by tag come from
`osmium tags-filter`, counts of areas from `osmium export`; both sort and filter by themselves.
"""

import json
import shutil
import subprocess
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from haulshed.inputs.osm_file import OSM_ENDINGS
from haulshed.inputs.osm_places import read_places
from haulshed.survey.place import MapExtract, Place, is_address, is_station

FOLDER = Path(__file__).parents[3] / "shared" / "osm"
EXTRACTS = (
    "north_bayreuth_de.osm.pbf",
    "lauf_de.osm.pbf",
    "three_rivers_mi.osm",
    "andorra_2021.osm.pbf",
)
OSMIUM = shutil.which("osmium") or "osmium"

pytestmark = pytest.mark.skipif(
    not FOLDER.is_dir(), reason="real extracts (../shared/osm) are not part of the project"
)

Asked = Callable[[Place], bool]
ASKED: dict[str, Asked] = {
    "emergency=fire_hydrant": lambda one: one.tags.get("emergency") == "fire_hydrant",
    "amenity=fire_station": lambda one: is_station(one.tags),
    "building": lambda one: "building" in one.tags,
    "natural=water": lambda one: one.tags.get("natural") == "water",
    "addr:housenumber": lambda one: is_address(one.tags),
    "boundary=administrative": lambda one: one.tags.get("boundary") == "administrative",
}


@cache
def read(name: str) -> MapExtract:
    ending = next(one for one in OSM_ENDINGS if name.endswith(f".{one}"))
    return read_places(FOLDER / name, ending)


def osmium(*words: str | Path) -> str:
    done = subprocess.run(  # noqa: S603 — the command osmium with words of ours
        [OSMIUM, *map(str, words)], capture_output=True, text=True, check=True
    )
    return done.stdout


def counted(name: str, tag: str) -> Counter[str]:
    """Return how many nodes, ways and relations have the tag, as osmium counts them."""
    lines = osmium("tags-filter", "-R", FOLDER / name, f"nwr/{tag}", "-f", "opl").splitlines()
    return Counter(line[0] for line in lines)


@pytest.mark.parametrize("name", EXTRACTS)
@pytest.mark.parametrize("tag", ASKED)
def test_objects_of_each_tag(name: str, tag: str) -> None:
    ours = Counter(one.osm_id[0] for one in read(name).places if ASKED[tag](one))
    assert ours == counted(name, tag)


@pytest.mark.parametrize("name", EXTRACTS)
@pytest.mark.parametrize("tag", ["building", "natural=water"])
def test_areas_of_each_tag(name: str, tag: str, tmp_path: Path) -> None:
    """Areas with their ids: as many, the same ones, each of the same extent."""
    kept = tmp_path / "kept.osm.pbf"
    everything = tmp_path / "sorted.osm.pbf"
    osmium("sort", FOLDER / name, "-o", everything)
    osmium("tags-filter", everything, f"wr/{tag}", "-o", kept)
    told = osmium(
        *("export", kept, "--add-unique-id=type_id", "--geometry-types=polygon"),
        *("-f", "geojsonseq", "-x", "print_record_separator=false"),
    )
    theirs = [json.loads(line) for line in told.splitlines()]
    key, _, value = tag.partition("=")
    boxes = {
        _osm_id(one["id"]): _box(one["geometry"]["coordinates"])
        for one in theirs
        if one["properties"].get(key) and value in {"", one["properties"][key]}
    }
    ours = {
        one.osm_id: one.shape.bounds
        for one in read(name).places
        if ASKED[tag](one) and one.shape is not None and one.osm_id[0] != "n"
    }
    assert ours.keys() == boxes.keys()
    for one, box in boxes.items():
        assert ours[one] == pytest.approx(box, abs=1e-7), one


def _osm_id(area: str) -> str:
    """Return the id of the way or relation that an area is of: twice it, and one for relations."""
    number = int(area.removeprefix("a"))
    return f"{'wr'[number % 2]}{number // 2}"


def _box(coordinates: object) -> tuple[float, float, float, float]:
    flat = json.dumps(coordinates).replace("[", "").replace("]", "").split(",")
    x, y = [float(one) for one in flat[::2]], [float(one) for one in flat[1::2]]
    return min(x), min(y), max(x), max(y)
