"""The map of several states: its switch, its counts, the gain; in a browser where there is one."""

import json
import re
import shutil
import subprocess
from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from haulshed.case import Result
from haulshed.outputs.map_page import map_html
from haulshed.outputs.map_states import State, gain_classes
from haulshed.units import System

BROWSER = shutil.which("chromium") or shutil.which("google-chrome")


def states(result: Result) -> tuple[State, State]:
    """Return the district as it is, and with every other parcel lifted by 300 gpm."""
    count = len(result.parcels)
    lifted = np.arange(count) % 2 == 0
    before = State(
        title="As it is",
        result=result,
        gain=gain_classes(np.zeros(count)),
        lifted=(False,) * count,
    )
    after = State(
        title="<b>A pond</b>",
        result=result,
        gain=gain_classes(np.where(lifted, 300.0, 0.0)),
        lifted=tuple(lifted.tolist()),
    )
    return before, after


@pytest.fixture(scope="module")
def html(result: Result) -> str:
    both = states(result)
    return map_html(result, scenario_name="", system=System.US, states=both)


def test_each_state_has_its_own_counts_and_escaped_title(html: str) -> None:
    assert '<input type="radio" name="view" value="0" checked><span>As it is</span>' in html
    assert "<span>&lt;b&gt;A pond&lt;/b&gt;</span>" in html
    assert "<b>A pond</b>" not in html
    for number, count in ((0, "0"), (1, "15")):
        assert f'<span data-for="view:{number}">{count}</span>' in html


def test_a_map_of_one_state_has_no_switch(result: Result) -> None:
    html = map_html(result, scenario_name="", system=System.US)
    assert 'name="view"' not in html
    assert '"views"' not in html


PROBE = """
<script>
window.addEventListener("load", () => {
  const found = {};
  const canvas = document.querySelector("canvas");
  const colours = () => {
    const pixels = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
    const seen = {};
    for (let i = 0; i < pixels.length; i += 4) {
      const name = [...pixels.slice(i, i + 3)].map((p) => p.toString(16).padStart(2, "0")).join("");
      seen[name] = (seen[name] || 0) + 1;
    }
    return Object.keys(seen).filter((name) => seen[name] > 200);
  };
  /* A change of scale draws at once; a click alone draws with the next frame. */
  const map = window[Object.keys(window).find((name) => /^map_\\d+$/.test(name))];
  document.querySelector("input[value=gain]").click();
  map.setZoom(15, { animate: false });
  found.before = colours();
  document.querySelector("input[name=view][value='1']").click();
  map.setZoom(15.5, { animate: false });
  found.after = colours();
  const shown = [...document.querySelectorAll("[data-for='view:1']")];
  found.shown = shown.every((one) => !one.hidden);
  document.title = JSON.stringify(found);
});
</script>
"""


@pytest.mark.slow  # starts a browser
@pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")
def test_the_switch_repaints_the_gain(html: str, tmp_path: Path) -> None:
    page = tmp_path / "map.html"
    open_ = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", html)
    page.write_text(open_.replace("</body>", PROBE + "</body>"), encoding="utf-8")
    command = [
        *(str(BROWSER), "--headless", "--no-sandbox", "--disable-gpu", "--dump-dom"),
        *("--virtual-time-budget=20000", "--window-size=1200,900", page.as_uri()),
    ]
    done = subprocess.run(command, capture_output=True, check=True, timeout=120)  # noqa: S603 — ours
    title = re.search(r"<title>(.*?)</title>", done.stdout.decode(), re.DOTALL)
    assert title is not None
    found: dict[str, Any] = json.loads(unescape(title[1]))
    assert found["shown"]
    assert "46523a" not in found["before"]
    assert "46523a" in found["after"]
