"""Posted weights and heights, value by value.

Values and units: the OpenStreetMap wiki, pages *Key:maxweight*, *Key:maxheight* and *Map
features/Units* (from memory); factors: international pound and foot, short ton of 2,000 lb, long
ton of 2,240 lb, both by definition.
"""

import math
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haulshed.inputs.osm_file import read_osm
from haulshed.roads.posted import Posted, posted_height_ft, posted_weight_lb
from haulshed.roads.segments import build_segments
from haulshed.roads.ways import ROAD_CLASSES, TAGS_USED, road
from haulshed.scenario import RoadRules

OSMIUM = shutil.which("osmium")
OSM = Path(__file__).parents[3] / "shared" / "osm"
LB_PER_T = 1000 / 0.45359237
FT_PER_M = 1 / 0.3048


@pytest.mark.parametrize(
    ("value", "weight_lb"),
    [
        ("7.5", 7.5 * LB_PER_T),
        ("3.5 t", 3.5 * LB_PER_T),
        ("3.5t", 3.5 * LB_PER_T),
        ("10 st", 20_000),
        ("8.5 st", 17_000),
        ("2 lt", 4_480),
        ("26000 lbs", 26_000),
        ("26000lbs", 26_000),
        ("15000 lb", 15_000),
        ("1500 kg", 1500 / 0.45359237),
        ("16;7.5", 7.5 * LB_PER_T),
    ],
)
def test_documented_weights(value: str, weight_lb: float) -> None:
    got = posted_weight_lb(value)
    assert got.figure == pytest.approx(weight_lb, rel=1e-12)
    assert got.understood


def test_a_short_ton_is_as_the_wiki_has_it() -> None:
    # 0.9071847 t, as printed there.
    assert posted_weight_lb("1 st").figure == pytest.approx(0.9071847 * LB_PER_T, rel=1e-7)


@pytest.mark.parametrize(
    ("value", "height_ft"),
    [
        ("3.5", 3.5 * FT_PER_M),
        ("3.5 m", 3.5 * FT_PER_M),
        ("3.5m", 3.5 * FT_PER_M),
        ("4", 4 * FT_PER_M),
        ("12'6\"", 12.5),
        ("12' 6\"", 12.5),
        ("12'", 12),
        ("12 ft", 12),
        ("12ft", 12),
        ("12 ft 6 in", 12.5),
        ("150 in", 12.5),
        ("13'6.5\"", 13 + 6.5 / 12),
    ],
)
def test_documented_heights(value: str, height_ft: float) -> None:
    got = posted_height_ft(value)
    assert got.figure == pytest.approx(height_ft, rel=1e-12)
    assert got.understood


@pytest.mark.parametrize("word", ["none", "unsigned", "default", "", "None"])
def test_words_for_no_limit(word: str) -> None:
    for read in (posted_weight_lb, posted_height_ft):
        assert math.isnan(read(word).figure)
        assert read(word).understood


@pytest.mark.parametrize("read", [posted_weight_lb, posted_height_ft])
@pytest.mark.parametrize(
    "value",
    ["7,5", "10 tons", "heavy", "0", "-3", "3.5 t (sign)", "below_default", "12'14\"x", "٣"],
)
def test_what_cannot_be_read_is_never_guessed(read: Callable[[str], Posted], value: str) -> None:
    got = read(value)
    assert math.isnan(got.figure)
    assert not got.understood


def test_a_list_keeps_what_it_can_read_and_says_that_it_could_not_read_all() -> None:
    got = posted_weight_lb("heavy;10")
    assert (round(got.figure), got.understood) == (22046, False)


def test_feet_with_too_many_inches_are_no_height() -> None:
    assert not posted_height_ft("12'13\"").understood


@given(st.text(max_size=20))
def test_any_text_is_an_answer(value: str) -> None:
    for read in (posted_weight_lb, posted_height_ft):
        got = read(value)
        assert math.isnan(got.figure) or got.figure > 0


def test_the_lower_of_the_sign_and_the_room_there_is() -> None:
    tags = {"highway": "tertiary", "maxheight": "3.8", "maxheight:physical": "3.6"}
    assert road(tags, RoadRules()).max_height_ft == pytest.approx(3.6 * FT_PER_M)


def test_keys_that_a_rule_reads_are_kept_by_the_readers() -> None:
    for key in ("maxweight", "maxweightrating", "maxheight", "maxheight:physical", "hgv", "bridge"):
        assert key in TAGS_USED


@pytest.mark.parametrize("name", ["lauf_de", "north_bayreuth_de", "andorra_2021", "porto_pt"])
def test_counts_of_a_real_extract_by_osmium_tool(name: str) -> None:
    """As many ways carry a limit as the command osmium counts on ways of our road classes."""
    file = OSM / f"{name}.osm.pbf"
    if not file.is_file() or OSMIUM is None:
        pytest.skip(f"{file.name} or the command osmium (Debian's osmium-tool) is not here")
    rules = RoadRules(tracks=True, private=True)
    segments, notes = build_segments(read_osm(file, "osm.pbf"), rules)
    for key, column in (("maxweight", "max_weight_lb"), ("maxheight", "max_height_ft")):
        text = osmium_opl(file, f"w/{key}")
        kept = [
            line
            for line in text.splitlines()
            if tag(line, "highway") in ROAD_CLASSES
            and tag(line, "area") != "yes"
            and "no" not in {tag(line, one) for one in ("motor_vehicle", "vehicle", "access")}
        ]
        ours = segments.dropna(subset=[column]).groupby("way_id")[column].first()
        assert len(ours) == len(kept) - notes[f"{key}_not_understood"]
        factor = LB_PER_T if key == "maxweight" else FT_PER_M
        # All that these files say is tonnes or metres, some with the unit.
        said = [float(tag(line, key).split("%")[0]) * factor for line in kept]
        assert sorted(ours) == pytest.approx(sorted(said))


def osmium_opl(file: Path, tags: str) -> str:
    done = subprocess.run(  # noqa: S603 — Debian's osmium-tool on a file of ours
        [str(OSMIUM), "tags-filter", "-R", str(file), tags, "-f", "opl", "-o", "-"],
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout


def tag(line: str, key: str) -> str:
    """Return a tag of an OPL line; empty where it has none."""
    tags = next(part[1:] for part in line.split(" ") if part.startswith("T"))
    return dict(one.split("=", 1) for one in tags.split(",") if "=" in one).get(key, "")
