"""The map of doubtful places: what is drawn, that nothing asks for the net, text stays text."""

import json
import re
import shutil
import subprocess
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from haulshed.assess.findings import Finding, Findings, Weight
from haulshed.case import CAUTION, Result
from haulshed.outputs.doubts_map import doubts_html

BROWSER = shutil.which("chromium") or shutil.which("google-chrome")
HOSTILE = "<img src=x onerror=alert(1)></script>"


def found(table: str, what: str, *ids: str, weight: Weight = Weight.DOUBTFUL) -> Finding:
    return Finding(weight=weight, table=table, what=what, ids=ids, of=9, cure="Look there.")


FINDINGS = Findings(
    district="Tiny",
    tables={},
    findings=(
        found("fill_sites", "sites off the road", "H-1", "D-1"),
        found("apparatus", "units that stand in", "T-1", "E-1"),
        found("", "tables without a row", "stations"),
        found("fill_sites", HOSTILE, "H-1"),
        found("parcels", "assumed lays", "P-1", weight=Weight.ASSUMED),
    ),
    notes=(),
)


@pytest.fixture(scope="module")
def page(result: Result) -> str:
    return doubts_html(FINDINGS, result.inputs)


def drawn(page: str) -> dict[str, Any]:
    text = re.search(r'id="haulshed-doubts">(.*?)</script>', page)
    assert text
    told: dict[str, Any] = json.loads(text[1])
    return told


def test_each_doubtful_place_is_drawn_once_with_all_its_findings(page: str) -> None:
    places = {one["name"]: one["findings"] for one in drawn(page)["places"]}
    assert places == {"Fill site H-1": [0, 3], "Fill site D-1": [0], "Station A": [1]}
    assert all(len(one["at"]) == 2 for one in drawn(page)["places"])


def test_each_finding_has_its_letter_count_and_cure(page: str) -> None:
    text = unescape(re.sub(r"<[^>]+>", " ", page.partition('id="panel"')[2]))
    for words in ("A 2 of 9", "sites off the road. Look there.", "D 1 of 9"):
        assert words in " ".join(text.split())
    assert "assumed lays" not in page
    assert CAUTION in unescape(page)


def test_the_page_asks_for_nothing_and_runs_no_text(page: str) -> None:
    assert "default-src 'none'" in page
    assert "<img src=x" not in page
    assert not re.search(r'<(?:script|link|img)[^>]+(?:src|href)="https?:', page)


def test_nothing_doubtful_is_said(result: Result) -> None:
    nothing = Findings(district="Tiny", tables={}, findings=(), notes=())
    html = doubts_html(nothing, result.inputs)
    assert "Nothing doubtful was found." in html
    assert drawn(html)["places"] == []


def test_the_same_findings_give_the_same_bytes(page: str, result: Result) -> None:
    assert doubts_html(FINDINGS, result.inputs) == page


PROBE = """
<script>
window.addEventListener("load", () => setTimeout(() => {
  const signs = () => [...document.querySelectorAll(".doubt b")].map((one) => one.textContent);
  const told = { errors: window.faults, all: signs() };
  document.querySelector("input[name='0']").click();
  told.without_a = signs();
  document.querySelector(".doubt").click();
  told.popup = document.querySelector(".leaflet-popup-content").innerText;
  told.pictures = document.querySelectorAll(".leaflet-popup-content img").length;
  document.title = JSON.stringify(told);
}, 50));
</script>
"""
WATCH = "<script>window.faults=[];addEventListener('error',(e)=>faults.push(e.message));</script>"


@pytest.mark.slow  # starts a browser
@pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")
def test_the_switches_and_popups_work_in_a_browser(page: str, tmp_path: Path) -> None:
    file = tmp_path / "doubts.html"
    probed = page.replace("<head>", f"<head>{WATCH}", 1).replace("</html>", f"{PROBE}</html>")
    file.write_text(probed, encoding="utf-8")
    options = ("--headless", "--no-sandbox", "--disable-gpu", "--virtual-time-budget=4000")
    done = subprocess.run(  # noqa: S603 — the browser with a file of ours
        [str(BROWSER), *options, "--window-size=1440,987", "--dump-dom", file.as_uri()],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    title = re.search(r"<title>(.*?)</title>", done.stdout, re.DOTALL)
    assert title
    told = json.loads(unescape(title[1]))
    assert told["errors"] == []
    assert sorted(told["all"]) == ["A", "AD", "B"]
    assert sorted(told["without_a"]) == ["B", "D"]
    assert told["pictures"] == 0
    assert told["popup"]
