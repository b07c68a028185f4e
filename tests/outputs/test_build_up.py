"""The played incident as a picture and in words: readable, whole, escaped."""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from click.testing import CliRunner, Result

from haulshed.assess.build_up import BuildUp, build_up
from haulshed.case import CAUTION
from haulshed.cli import main
from haulshed.inputs.district import read_district
from haulshed.inputs.samples import larkmoor
from haulshed.outputs.build_up_chart import build_up_svg
from haulshed.outputs.build_up_words import build_up_text
from haulshed.units import System

#: Parcels of Larkmoor: a dump site with gaps, nursing, a pond that runs down, no hauled water.
PARCELS = ("0509-002", "1107-011", "0310-002", "0115-002")
SVG = "{http://www.w3.org/2000/svg}"
#: Widths of letters as a share of their height: no usual sans serif is wider on average.
LETTER = 0.56
_SHARE_LEFT = {"start": 0.0, "middle": 0.5, "end": 1.0}


def quiet(*_: object) -> None: ...


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> dict[str, BuildUp]:
    """Play the incident at four parcels of the demo district."""
    cache = tmp_path_factory.mktemp("cache")
    inputs = read_district(larkmoor(), cache_dir=cache, progress=quiet).inputs
    return {parcel: build_up(inputs, parcel, progress=quiet) for parcel in PARCELS}


def _boxes(svg: str) -> list[tuple[str, float, float, float, float]]:
    """Return each text with the box that it fills."""
    found = []
    for text in ET.fromstring(svg).iter(f"{SVG}text"):  # noqa: S314 — our own picture
        words, size = text.text or "", float(text.get("font-size", "0"))
        width = len(words) * size * LETTER
        x, y = float(text.get("x", "0")), float(text.get("y", "0"))
        left = (
            x - {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor", "start")] * width
        )
        found.append((words, left, y - 0.8 * size, left + width, y + 0.2 * size))
    return found


@pytest.mark.parametrize("system", list(System))
@pytest.mark.parametrize("parcel", PARCELS)
def test_no_text_lies_on_another_or_outside(
    played: dict[str, BuildUp], parcel: str, system: System
) -> None:
    svg = build_up_svg(played[parcel], system=system)
    _, _, width, height = map(float, ET.fromstring(svg).get("viewBox", "").split())  # noqa: S314
    boxes = _boxes(svg)
    for at, (words, left, top, right, bottom) in enumerate(boxes):
        assert left >= 0, words
        assert right <= width, words
        assert bottom <= height, words
        for other, left2, top2, right2, bottom2 in boxes[at + 1 :]:
            apart = right <= left2 or right2 <= left or bottom <= top2 or bottom2 <= top
            assert apart, f"{words!r} lies on {other!r}"


@pytest.mark.parametrize("parcel", PARCELS)
def test_the_picture_shows_every_gap_and_carries_the_caution(
    played: dict[str, BuildUp], parcel: str
) -> None:
    svg = build_up_svg(played[parcel], system=System.US)
    assert svg.count('fill="url(#gap)"') == len(played[parcel].story.gaps)
    texts = [words for words, *_ in _boxes(svg)]
    assert " ".join(CAUTION.split()) in " ".join(texts)
    assert ("left in the source" in texts) == bool(played[parcel].sources)
    assert not re.search(r"(?:href|src|url\((?!#))", svg)  # nothing is fetched


def test_what_the_line_delivers_is_where_it_ends(played: dict[str, BuildUp]) -> None:
    one = played["0310-002"]
    lines = ET.fromstring(build_up_svg(one, system=System.US)).iter(f"{SVG}polyline")  # noqa: S314
    asked, delivered, _ = (line.get("points", "").split() for line in lines)
    height = [float(points[-1].split(",")[1]) for points in (asked, delivered)]
    floor = float(delivered[0].split(",")[1])
    # Heights are in step with gallons, and rounded to a tenth of a pixel.
    levels = one.story.levels
    share = levels.delivered_gal[-1] / levels.asked_gal[-1]
    assert (floor - height[1]) / (floor - height[0]) == pytest.approx(share, abs=0.005)


def test_names_are_escaped(played: dict[str, BuildUp]) -> None:
    hostile = replace(played["0310-002"], parcel_id='<a & "b">')
    svg = build_up_svg(hostile, system=System.US)
    assert "<a &" not in svg
    assert '<a & "b">' in (ET.fromstring(svg).findtext(f"{SVG}title") or "")  # noqa: S314


def test_words_say_where_the_water_is(played: dict[str, BuildUp]) -> None:
    text = build_up_text(played["0310-002"])
    found = re.search(
        r"came along ([\d,]+) \+ taken at fill sites ([\d,]+) = on the fire ([\d,]+) \+ left"
        r" ([\d,]+)",
        text,
    )
    assert found is not None
    brought, taken, fire, left = (int(part.replace(",", "")) for part in found.groups())
    assert abs(brought + taken - fire - left) <= 2  # each is rounded
    assert "THORN-POND: 60,000 at dispatch" in text
    assert all(len(line) <= 98 for line in text.splitlines())
    assert CAUTION[:60] in " ".join(text.split())


def test_words_of_trips_are_those_of_the_story(played: dict[str, BuildUp]) -> None:
    one = played["0509-002"]
    rows = re.findall(r"^   (T-\d+) +[\d.]+ +(\d+) +([\d,]+) ", build_up_text(one), re.MULTILINE)
    trips = one.story.trips
    for unit, loads, gallons in rows:
        own = (trips.tanker == one.tankers.index(unit)) & ~np.isnan(trips.empty_min)
        assert int(loads) == own.sum()
        assert int(gallons.replace(",", "")) == pytest.approx(trips.load_gal[own].sum(), abs=1)
    assert len(rows) == len(set(trips.tanker[~np.isnan(trips.back_min)]))


def _explain(*words: str | Path) -> Result:
    return CliRunner().invoke(main, ["explain", *map(str, words)])


def test_explain_writes_the_picture(tiny_district: Callable[..., Path], tmp_path: Path) -> None:
    picture = tmp_path / "P-1.svg"
    done = _explain(tiny_district(), "P-1", "--out", picture)
    assert done.exit_code == 0, done.output
    assert f"Picture: {picture}" in done.stdout
    assert picture.read_text(encoding="utf-8").startswith("<svg")


def test_explain_for_machines(tiny_district: Callable[..., Path]) -> None:
    done = _explain(tiny_district(), "P-2", "--clock", "--json")
    assert done.exit_code == 0, done.output
    answer = json.loads(done.stdout, parse_constant=pytest.fail)["answer"]
    assert answer["story"]["first_water_min"] > 0
    assert len(answer["story"]["levels"]["time_min"]) > 2


def test_nobody_comes(tiny_district: Callable[..., Path], tmp_path: Path) -> None:
    folder = tiny_district()
    settings = folder / "district.toml"
    settings.write_text(settings.read_text() + "\n[operation]\nassembly_min = 0.1\n")
    picture = tmp_path / "nobody.svg"
    done = _explain(folder, "P-1", "--clock", "--out", picture)
    assert done.exit_code == 0, done.output
    assert "no engine comes in time; no water" in done.stdout
    assert "No engine comes: no water." in picture.read_text(encoding="utf-8")


def test_a_picture_of_another_kind(tiny_district: Callable[..., Path], tmp_path: Path) -> None:
    done = _explain(tiny_district(), "P-1", "--out", tmp_path / "P-1.png")
    assert done.exit_code == 1
    assert "ends in .svg" in done.stderr
