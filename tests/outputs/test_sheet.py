"""The sheet's pages: their text, read back from the PDF, against the tables of the same run."""

import json
import math
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from haulshed.assess.sheets import Sheet
from haulshed.case import CAUTION
from haulshed.cli import main
from haulshed.pipeline import Properties, SheetsWritten, sheet
from haulshed.tables.answers import Verdict
from haulshed.units import System

_READER = shutil.which("pdftotext") or ""

pytestmark = pytest.mark.skipif(not _READER, reason="poppler's pdftotext reads the pages back")

#: A road without a name, a name from right to left, one with accents, and one longer than a line.
LONG = "Old Upper Thistleford and Lower Bramblecombe Turnpike Road by the Seven Wells"
ROADS = f"""\
<?xml version="1.0" encoding="UTF-8"?>
<osm version="0.6">
  <node id="1" lat="45.00" lon="-100.05"/>
  <node id="2" lat="45.00" lon="-100.00"/>
  <node id="3" lat="45.00" lon="-99.95"/>
  <node id="4" lat="44.96" lon="-100.00"/>
  <node id="5" lat="45.04" lon="-100.00"/>
  <node id="6" lat="45.04" lon="-99.95"/>
  <way id="10"><nd ref="1"/><nd ref="2"/>
    <tag k="highway" v="tertiary"/><tag k="name" v="{LONG}"/></way>
  <way id="11"><nd ref="2"/><nd ref="3"/>
    <tag k="highway" v="tertiary"/><tag k="name" v="דרך המעיין"/></way>
  <way id="12"><nd ref="4"/><nd ref="2"/><nd ref="5"/><tag k="highway" v="residential"/></way>
  <way id="13"><nd ref="5"/><nd ref="6"/><nd ref="3"/>
    <tag k="highway" v="residential"/><tag k="name" v="Straße am Brünnlein"/></way>
</osm>
"""
#: Reached by a road with a name, by one without, hose line, far from any road, nothing known there.
PARCELS = """\
parcel_id,lat,lon,floor_area_ft2,stories,structures
P-1,45.001,-100.03,1500,1,1
#let P-2 = [*],45.02,-99.999,2400,2,1
מגרש-3,45.001,-99.9705,2400,2,1
P-4,45.3,-100.3,1500,1,1
P-5,44.97,-100.001,,,0
"""

Write = Callable[..., Path]


def pages(file: Path) -> list[str]:
    """Return the text of each page, its lines joined."""
    done = subprocess.run(  # noqa: S603 — our own file, a fixed program
        [_READER, "-raw", str(file), "-"],
        check=True,
        capture_output=True,
        text=True,
    )
    return [" ".join(page.split()) for page in done.stdout.split("\f")[:-1]]


@pytest.fixture
def odd(tiny_district: Write) -> Path:
    return tiny_district(roads_osm=ROADS, parcels_csv=PARCELS)


def ask(*words: str) -> Result:
    return CliRunner().invoke(main, ["sheet", *words])


def made(folder: Path, *ids: str, units: System = System.US, phone: bool = False) -> SheetsWritten:
    return sheet(folder, chosen=Properties(parcels=ids), units=units, phone=phone)


ALL = ("P-1", "#let P-2 = [*]", "מגרש-3", "P-4", "P-5")


def check_names(text: list[str]) -> None:
    first, second, third, *_ = text
    assert "#let P-2 = [*]" in second
    assert "unnamed road" in second
    assert LONG in first
    # Of a name from right to left and the distance after it neither moves the other.
    assert re.search(r"onto \S*[\u0590-\u05ff ]+\S*, 1\.5 mi", first)
    # pdftotext gives letters from right to left in either order.
    assert "מגרש" in third or "שרגמ" in third


def check_what_is_said_where_there_is_nothing(text: list[str]) -> None:
    far, empty = text[3:]
    for words in ("No public road is near enough", "No tanker comes", "No lay is known", "NONE"):
        assert words in far
    assert "No structure known, nothing needed" in empty
    assert "NO DEMAND" in empty


def test_a_page_says_what_the_tables_say(odd: Path) -> None:
    done = made(odd, *ALL)
    assert done.file is not None
    text = pages(done.file)
    assert len(text) == len(ALL)
    check_names(text)
    check_what_is_said_where_there_is_nothing(text)
    for one, page in zip(done.sheets, text, strict=True):
        answer = one.answer
        assert str(answer["verdict"]).upper() in page
        assert CAUTION in page
        assert "Tiny · scenario base" in page
        check_headline(one, page)
        for number, called in enumerate((c for c in one.tankers if c.counts), start=1):
            row = f"{number} {called.unit_id} ({called.station_id}) {called.tank_gal:,.0f} gal"
            assert f"{row} {math.ceil(called.arrival_min)} {told_flow(called.flow_gpm)}" in page
        for site in one.sites:
            assert site.site_id in page
            assert f"There empty: {told_miles(site.empty.way.miles)}, " in page
            assert f"{told_miles(site.loaded.way.miles)}, {math.ceil(site.loaded_min)} min" in page
        for laid in one.hose:
            assert f"{laid.laid_ft:,.0f} ft of {laid.diameter_in:g}-in from {laid.unit_id}" in page


def check_headline(one: Sheet, page: str) -> None:
    """The flow is that of the verdict, and held or not what the clock says."""
    verdict, sustained_gpm = str(one.answer["verdict"]), float(str(one.answer["sustained_gpm"]))
    hauled = verdict in {Verdict.NURSE, Verdict.DUMP_SITE, Verdict.SHORT}
    shown_gpm = one.judged_gpm if hauled else sustained_gpm
    assert (f"{told_flow(shown_gpm)} on paper" if sustained_gpm else "No hauled water") in page
    assert ("NOT held" in page) == (hauled and one.played.held_from_min is None)
    if sustained_gpm:
        assert f"9 incidents in 10 give {told_flow(float(str(one.answer['held_90_gpm'])))}" in page


def told_flow(flow_gpm: float) -> str:
    down = int(flow_gpm // 25) * 25
    return f"{down:,} gpm" if down or not flow_gpm else "under 25 gpm"


def told_miles(miles: float) -> str:
    return f"{miles:,.1f} mi" if miles >= 0.15 else f"{round(miles * 5280 / 50) * 50} ft"


def test_a_narrow_page_has_the_same_words(odd: Path) -> None:
    paper, phone = made(odd, "P-1").file, made(odd, "P-1", phone=True).file
    assert paper is not None
    assert phone is not None
    words = re.findall(r"\w+", pages(phone)[0])
    assert sorted(words) == sorted(re.findall(r"\w+", pages(paper)[0]))


def test_metric_pages(odd: Path) -> None:
    file = made(odd, "P-1", units=System.SI).file
    assert file is not None
    (page,) = pages(file)
    assert "L/min" in page
    assert " gpm" not in page
    assert " mi," not in page


def test_every_bad_id_is_named_at_once(odd: Path) -> None:
    done = ask(str(odd), "P-1", "P-11", "Q")
    assert done.exit_code == 1
    for words in ("no parcel 'P-11'. Near ones: P-1", "no parcel 'Q'"):
        assert words in done.stderr
    assert not (odd / "out").exists()


def test_one_file_a_property_and_a_record(odd: Path) -> None:
    done = ask(str(odd), *ALL[:3], "--each", "--json")
    assert done.exit_code == 0, done.output
    out = odd / "out"
    assert {file.name for file in (out / "sheets").iterdir()} == {
        *("P-1.pdf", "_let_P-2______.pdf", "מגרש-3.pdf")
    }
    record = json.loads((out / "sheets.json").read_text(encoding="utf-8"))
    assert record["parcels"] == list(ALL[:3])
    assert record["caution"] == CAUTION
    assert json.loads(done.stdout)["answer"]["parcels"] == list(ALL[:3])


def test_one_pdf_by_name(odd: Path, tmp_path: Path) -> None:
    file = tmp_path / "binder.pdf"
    assert ask(str(odd), "P-1", "--out", str(file)).exit_code == 0
    assert len(pages(file)) == 1
    refused = ask(str(odd), "P-1", "--each", "--out", str(file))
    assert (refused.exit_code, "needs a folder" in refused.stderr) == (1, True)


def test_all_that_are_short(odd: Path) -> None:
    assert ask(str(odd)).exit_code == 2
    done = ask(str(odd), "--all-short", "--json")
    assert done.exit_code == 0, done.output
    parcels = json.loads(done.stdout)["answer"]["parcels"]
    CliRunner().invoke(main, ["run", str(odd), "--out", str(odd / "run")])
    table = (odd / "run" / "parcels.csv").read_text(encoding="utf-8")
    assert len(parcels) == table.count(",short,")
