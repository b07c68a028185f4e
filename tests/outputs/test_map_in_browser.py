"""The map's script in a real browser, with no network: skipped where there is no Chromium."""

import json
import re
import shutil
import subprocess
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from haulshed.case import Result
from haulshed.outputs import map_page
from haulshed.units import System

BROWSER = shutil.which("chromium") or shutil.which("google-chrome")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine"),
]

#: Asks the page as a person would and leaves what it found in the title.
PROBE = """
<script>
window.addEventListener("load", function probe() {
  if (!document.querySelector("canvas")) { setTimeout(probe, 50); return; } // still unpacking
  const found = { errors: window.faults };
  const ask = (text) => {
    document.getElementById("wanted").value = text;
    document.querySelector("#search button").click();
    const popups = [...document.querySelectorAll(".leaflet-popup")];
    const open = popups.filter((one) => one.style.opacity !== "0");
    const popup = open.length ? open[0].querySelector(".leaflet-popup-content") : null;
    return [document.getElementById("found").textContent, popup ? popup.innerText : ""];
  };
  found.listed = document.querySelectorAll("#ids option").length;
  found.known = ask(" p-2 ");
  found.hostile = ask('<script>alert("x")<\\/script>');
  found.scripts = document.querySelectorAll(".leaflet-popup-content script").length;
  found.unknown = ask("<b>nowhere</b>");
  found.bold = document.querySelectorAll("#found b").length;
  const canvas = document.querySelector("canvas");
  const colours = () => {
    const pixels = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
    const seen = {};
    for (let i = 0; i < pixels.length; i += 4) {
      if (pixels[i + 3] === 255) {
        const parts = [...pixels.slice(i, i + 3)];
        const name = parts.map((part) => part.toString(16).padStart(2, "0")).join("");
        seen[name] = (seen[name] || 0) + 1;
      }
    }
    return Object.keys(seen).filter((name) => seen[name] > 200);
  };
  const map = window[Object.keys(window).find((name) => /^map_\\d+$/.test(name))];
  map.setZoom(15, { animate: false });
  /* Goes on when the page has drawn something else than before and says that it is done. */
  const whenDrawn = (before, then) => {
    const busy = document.querySelector("[aria-busy=true]"), seen = colours();
    if (busy || seen.join() === before.join()) { setTimeout(whenDrawn, 20, before, then); return; }
    then(seen);
  };
  whenDrawn([], (byAnswer) => {
    found.byAnswer = byAnswer;
    document.querySelector("input[value=flow]").click();
    whenDrawn(byAnswer, (byFlow) => {
      found.byFlow = byFlow;
      found.legend = [...document.querySelectorAll("#panel table")].map((table) => !table.hidden);
      document.title = JSON.stringify(found);
    });
  });
});
</script>
"""
WATCH = "<script>window.faults=[];addEventListener('error',(e)=>faults.push(e.message));</script>"


@pytest.fixture(scope="module", params=["open", "packed"])
def found(
    request: pytest.FixtureRequest, result: Result, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, Any]:
    folder = tmp_path_factory.mktemp("browser")
    with pytest.MonkeyPatch.context() as patch:
        if request.param == "packed":
            patch.setattr(map_page, "MOST_OPEN", 0)
        html = map_page.map_html(result, scenario_name="", system=System.US)
    assert ("application/gzip" in html.partition("<body>")[2]) == (request.param == "packed")
    file = folder / "map.html"
    file.write_text(html.replace("<head>", "<head>" + WATCH, 1) + PROBE, encoding="utf-8")
    assert BROWSER is not None
    command = [
        BROWSER,
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-background-networking",
        "--host-resolver-rules=MAP * ~NOTFOUND",
        f"--user-data-dir={folder / 'profile'}",
        "--window-size=1200,900",
        "--virtual-time-budget=20000",
        "--dump-dom",
        file.as_uri(),
    ]
    done = subprocess.run(command, capture_output=True, check=True, timeout=120)  # noqa: S603 — ours
    title = re.search(r"<title>(\{.*?\})</title>", done.stdout.decode(), re.DOTALL)
    assert title is not None, Path(file)
    return dict(json.loads(unescape(title[1])))


def test_the_script_runs_without_a_fault(found: dict[str, Any]) -> None:
    assert found["errors"] == []


def test_the_search_finds_a_parcel_in_any_case_and_opens_it(
    found: dict[str, Any], result: Result
) -> None:
    assert found["listed"] == len(result.parcels)
    message, popup = found["known"]
    assert message == ""
    assert popup.startswith("1,025 gpm, not before minute 20")
    assert "P-2: Dump site" in popup


def test_a_hostile_name_is_found_and_shown_as_text(found: dict[str, Any]) -> None:
    message, popup = found["hostile"]
    assert message == ""
    assert '<script>alert("x")</script>: Nurse' in popup
    assert found["scripts"] == 0


def test_what_is_not_there_is_said_as_text(found: dict[str, Any]) -> None:
    message, popup = found["unknown"]
    assert message.startswith("There is no parcel “<b>nowhere</b>” on this map.")
    assert popup == ""
    assert found["bold"] == 0


def test_the_parcels_are_painted_by_answer_then_by_flow(found: dict[str, Any]) -> None:
    assert {"f0e096", "d6aed1", "ab76ad", "71346c"} <= set(found["byAnswer"])
    assert {"f0e096", "d6aed1", "ab76ad", "71346c"}.isdisjoint(found["byFlow"])
    assert {"e9ddc3", "c4ab7c", "43341d"} <= set(found["byFlow"])
    assert found["legend"][:2] == [False, True]
