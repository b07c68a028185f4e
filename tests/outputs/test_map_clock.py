"""The incidents that the map carries: small, whole, in the units shown."""

import json
import re
import shutil
import subprocess
from dataclasses import replace
from html import unescape
from pathlib import Path

import numpy as np
import pytest

from haulshed.case import BuildUps, Result
from haulshed.outputs.map_clock import clock_column, clock_page, not_played
from haulshed.outputs.map_page import map_html
from haulshed.outputs.wording import Wording
from haulshed.units import L_PER_GAL, System

BROWSER = shutil.which("chromium") or shutil.which("google-chrome")
#: Opens a parcel and leaves the picture's texts, and which of them lie on another, in the title.
PROBE = """
<script>
window.addEventListener("load", function probe() {
  if (!document.querySelector("canvas")) { setTimeout(probe, 50); return; }
  document.getElementById("wanted").value = "P-1";
  document.querySelector("#search button").click();
  const texts = [...document.querySelectorAll("svg.build-up text")];
  const boxes = texts.map((text) => text.getBoundingClientRect());
  const over = [];
  boxes.forEach((a, i) => boxes.slice(i + 1).forEach((b, j) => {
    const beside = a.right <= b.left || b.right <= a.left;
    const apart = beside || a.bottom - 3 <= b.top || b.bottom - 3 <= a.top;
    if (!apart) { over.push([texts[i].textContent, texts[i + 1 + j].textContent]); }
  }));
  const picture = document.querySelector("svg.build-up").getBoundingClientRect();
  const inside = (box) => picture.left <= box.left && box.right <= picture.right;
  const out = texts.filter((_, i) => !inside(boxes[i]));
  document.title = JSON.stringify({
    texts: texts.map((text) => text.textContent), over, out: out.map((text) => text.textContent),
    bold: document.querySelectorAll("svg.build-up b").length,
  });
});
</script>
"""
US, SI = Wording(system=System.US), Wording(system=System.SI)
HOSTILE = '</script><b>"pond"'


@pytest.fixture
def played(result: Result) -> Result:
    """Return the made-up result with an incident at every parcel but the first."""
    count = len(result.parcels)
    minutes = np.minimum(np.arange(36) * 5.0, 172.5)
    delivered_gal = np.where(minutes < 12.5, 0.0, (minutes - 12.5) * 500.0)
    end_min = np.full(count, 172.5)
    end_min[0] = np.nan
    of = BuildUps(
        step_min=5.0,
        asked_gpm=np.full(count, 500.0),
        first_water_min=end_min - 160.0,
        end_min=end_min,
        delivered_gal=np.tile(delivered_gal, (count, 1)),
        stages=np.tile([[12.5, 0.0], [14.5, 1.0], [np.nan, np.nan]], (count, 1, 1)),
        gaps=np.tile([[50.59, 55.72], [np.nan, np.nan]], (count, 1, 1)),
        source=np.where(np.arange(count) % 2, 0, -1),
        level=np.tile(np.linspace(1, 0.5, 36), (count, 1)),
        source_names=(HOSTILE,),
    )
    return replace(result, build_ups=of)


def test_a_packed_incident_adds_up(played: Result) -> None:
    column = clock_column(played, US)["clock"]
    assert column[0] == 0
    first, asked, end, flows, stages, gaps, source, level = column[1]  # type: ignore[misc]
    assert (first, asked, end, source) == (12.5, 500, 172.5, 0)
    assert len(flows) == 35  # 34 steps of 5 min and one of 2.5
    gallons = sum(flow * 5 for flow in flows[:-1]) + flows[-1] * 2.5
    assert gallons == pytest.approx(160 * 500, abs=0.5 * 172.5)
    assert stages == [[12.5, 0], [14.5, 1]]
    assert gaps == [[50.6, 55.7]]
    assert (level[0], level[-1]) == (100, 50)
    assert column[2][6:] == [-1, []]  # type: ignore[index]


def test_si_flows_are_litres(played: Result) -> None:
    assert clock_column(played, SI)["clock"][1][1] == round(500 * L_PER_GAL)  # type: ignore[index]
    assert clock_page(played, SI)["unit"] == "L"


def test_without_incidents_the_map_has_none(result: Result) -> None:
    assert clock_column(result, US) == {}
    assert clock_page(result, US) == {}


def test_without_incidents_the_map_says_so_and_where_they_are(
    result: Result, played: Result
) -> None:
    def panel_of(shown: Result) -> str:
        return map_html(shown, scenario_name="", system=System.US).partition("<aside")[2]

    told = "haulshed explain DISTRICT PARCEL --clock"
    assert told in panel_of(result)
    assert told not in panel_of(played)
    assert told in not_played(result)
    assert "as it is" in not_played(played)  # of the other states of a map with several


def test_names_of_sources_end_no_script(played: Result) -> None:
    html = map_html(played, scenario_name="", system=System.US)
    assert HOSTILE not in html
    assert "haulshedBuildUp" in html


@pytest.mark.slow
@pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")
def test_the_popup_draws_the_incident_with_no_text_on_another(
    played: Result, tmp_path: Path
) -> None:
    page = tmp_path / "map.html"
    html = map_html(played, scenario_name="", system=System.US) + PROBE
    page.write_text(html, encoding="utf-8")
    command = [
        str(BROWSER), "--headless", "--no-sandbox", "--disable-gpu",
        "--host-resolver-rules=MAP * ~NOTFOUND", f"--user-data-dir={tmp_path / 'profile'}",
        "--window-size=1200,900", "--virtual-time-budget=5000", "--dump-dom", page.as_uri(),
    ]  # fmt: skip
    done = subprocess.run(command, capture_output=True, check=True, timeout=120)  # noqa: S603 — ours
    title = re.search(r"<title>(\{.*?\})</title>", done.stdout.decode(), re.DOTALL)
    assert title is not None
    found = json.loads(unescape(title[1]))
    assert found["over"] == []
    assert found["out"] == []
    assert found["bold"] == 0
    for words in ("nurse", "80,000", "0 gal", f"left in {HOSTILE}", "from", "gaps", "150"):
        assert words in found["texts"]
