import base64
import gzip
import json
import re
import struct
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from haulshed.case import BASE_SCENARIO, CAUTION, Result
from haulshed.outputs import map_legend, map_page
from haulshed.outputs.map_pack import parted
from haulshed.outputs.map_page import map_html
from haulshed.tables.answers import Verdict
from haulshed.units import System

#: Attributes by which a page asks for another file.
LINKS = {"src", "href", "srcset", "data", "action", "poster"}
MOST_BYTES = 6_000_000


class Page(HTMLParser):
    """The page's elements, its scripts by id, and its text outside scripts and styles."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.data: dict[str, Any] = {}
        self.text = ""
        self._inside: dict[str, str | None] | None = None
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag in {"script", "style"}:
            self._inside = dict(attrs)

    def handle_endtag(self, tag: str) -> None:
        if tag in {"script", "style"}:
            self._inside = None

    def handle_data(self, data: str) -> None:
        if self._inside is None:
            self.text += data
        elif self._inside.get("type") == "application/json":
            self.data[str(self._inside["id"]).removeprefix("haulshed-")] = json.loads(data)

    def popups(self, table: str) -> list[str]:
        """Return the popups as the page's script puts them together."""
        said, page = self.data[table]["popup"], self.data["page"]
        columns = [iter(list(zip(*kind, strict=True))) for kind in said["columns"]]
        found = []
        for kind in said["of"]:
            shape = said["shapes"][kind]
            codes = iter(next(columns[kind]) if said["columns"][kind] else ())
            gaps = [[words[next(codes)] for words in page["words"][number]] for number in shape]
            texts = zip(shape, gaps, strict=True)
            found.append("".join(page["templates"][n].format(*values) for n, values in texts))
        return found

    def outlines(self, table: str) -> list[list[NDArray[np.float64]]]:
        """Return the lines of each row [degrees], as the page's script unfolds them."""
        shape = self.data[table]["shape"]
        places = np.cumsum(np.array(shape["moves"]).reshape(-1, 2), axis=0) / 1e6
        lines = iter(np.split(places, np.cumsum(shape["points"])[:-1]))
        return [[next(lines) for _ in range(count)] for count in shape["lines"]]

    def places(self, table: str, column: str) -> NDArray[np.float64]:
        """Return a place a row [degrees], NaN where there is none."""
        first = np.array([lines[0][0] for lines in self.outlines(table)])
        away = self.data[table][column]
        columns = np.array([away["east"], away["north"]], dtype=np.float64)
        return np.asarray(first + columns.T / 1e6)


def unpacked(content: bytes) -> Any:
    """Return a column as the page's script puts it together."""
    (length,) = struct.unpack_from("<I", content)

    def whole(read: dict[str, Any]) -> Any:
        if "ints" not in read:
            return read
        size, place, count = read["ints"]
        start = 4 + length + place
        assert start % size == 0, "a browser takes numbers from such places only"
        return list(struct.unpack_from(f"<{count}{' bh i'[size]}", content, start))

    return json.loads(content[4 : 4 + length], object_hook=whole)


def rows_in(column: Any) -> int:
    """Return how many rows a column of the page has."""
    if isinstance(column, dict):
        column = next(column[name] for name in ("of", "lines", "east") if name in column)
    return len(column)


def drawn(result: Result, **options: Any) -> str:
    settings = {"scenario_name": "winter", "system": System.US} | options
    return map_html(result, **settings)


@pytest.fixture(scope="session")
def html(result: Result) -> str:
    return drawn(result)


@pytest.fixture(scope="session")
def page(html: str) -> Page:
    return Page(html)


def words(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def test_nothing_asks_for_the_network(html: str, page: Page) -> None:
    asked = [
        (tag, name, value)
        for tag, attributes in page.elements
        for name, value in attributes.items()
        if name in LINKS and not str(value).startswith(("data:", "#"))
    ]
    assert asked == []
    styles = " ".join(re.findall(r"<style>(.*?)</style>", html, re.DOTALL))
    assert not re.search(r"url\(\s*['\"]?(?!data:|#)", styles)
    assert "@import" not in html
    policy = [a["content"] for tag, a in page.elements if a.get("http-equiv", "").startswith("Con")]
    assert policy[0] is not None
    assert policy[0].startswith("default-src 'none'")


def test_an_online_base_map_comes_only_when_asked_for(result: Result, html: str) -> None:
    assert "tile.openstreetmap.org" not in html
    online = drawn(result, base_map=True)
    assert "tile.openstreetmap.org" in online
    assert "default-src 'none'" not in online


def test_folium_s_other_libraries_are_left_out(html: str) -> None:
    assert not re.search(r"jquery|bootstrap|fontawesome|awesome-markers", html, re.IGNORECASE)


def test_every_layer_and_switch_is_there(page: Page, result: Result) -> None:
    sizes = {name: rows_in(table["popup"]) for name, table in page.data.items() if name != "page"}
    assert sizes == {
        "parcels": len(result.parcels),
        "roads": len(result.roads),
        "fill_sites": len(result.fill_sites),
        "stations": len(result.stations),
    }
    for table in ("parcels", "roads", "fill_sites", "stations"):
        assert {rows_in(column) for column in page.data[table].values()} == {sizes[table]}
    inputs = [a for tag, a in page.elements if tag == "input" and "name" in a]
    assert {a["name"] for a in inputs} == {
        "parcels",
        "roads",
        "sites",
        "stations",
        "cross",
        "tight",
    }
    assert [a["value"] for a in inputs if a["name"] == "parcels"] == ["verdict", "flow", ""]


def test_the_legend_counts_what_the_table_holds(html: str, result: Result) -> None:
    legend = words(html[html.index('<aside id="panel"') : html.index("</aside>")])
    total = len(result.parcels)
    for verdict in Verdict:
        count = int((result.parcels["verdict"] == verdict).sum())
        assert f"{verdict.capitalize()} {count} ({100 * count / total:.0f} %)" in legend
    flow = result.parcels["sustained_gpm"]
    classes = {
        "None": (flow == 0).sum(),
        "Under 250 gpm": ((flow > 0) & (flow < 250)).sum(),
        "250 to 500 gpm": ((flow >= 250) & (flow < 499.9999)).sum(),
        "500 to 1,000 gpm": ((flow >= 499.9999) & (flow < 1000)).sum(),
        "1,000 gpm and more": (flow >= 1000).sum(),
    }
    for label, count in classes.items():
        assert f"{label} {count} (" in legend
    crosses = result.parcels["verdict"].isin(["short", "none"]).sum()
    assert f"A dump site cannot be supplied {crosses} " in legend
    assert f"Tight: little to spare {result.parcels['tight'].sum()} " in legend
    for label in ("1,500 gpm and more", "1,000 to 1,500 gpm", "500 to 1,000 gpm", "under 500 gpm"):
        assert re.search(rf"\w+ Hydrant, {label} 1\b", legend)
    assert "Of no use now 1" in legend
    assert "Stations 2" in legend


def test_the_legend_says_what_is_drawn_as_one_only_where_it_can_be(
    html: str, result: Result, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "are drawn as one" not in html
    monkeypatch.setattr(map_legend, "CROWDED", len(result.parcels))
    assert "fall on one pixel are drawn as one" in words(drawn(result))


def test_the_popups_of_a_large_map_are_packed_a_column_a_script(
    result: Result, page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(map_page, "MOST_OPEN", 0)
    html = drawn(result)
    for table, columns in page.data.items():
        for name, column in columns.items():
            found = re.search(rf'"haulshed-{table}\.{name}">([^<]*)<', html)
            assert found is not None
            assert unpacked(gzip.decompress(base64.b64decode(found[1]))) == column


@pytest.mark.parametrize("most", [0, 127, 128, 32_767, 32_768, 180_000_000])
def test_numbers_come_out_of_their_bytes_as_they_went_in(most: int) -> None:
    arrays = [np.array([most, 0, -most]), np.array([], np.int64), np.array([-most - 1, 7])]
    content = parted({"shapes": [[1, 2], []], "columns": [[], arrays], "none": None})
    assert unpacked(content) == {
        "shapes": [[1, 2], []],
        "columns": [[], [[most, 0, -most], [], [-most - 1, 7]]],
        "none": None,
    }


def test_each_parcel_says_first_what_it_gets_and_when(page: Page, result: Result) -> None:
    first = [popup.partition("</h2>")[0].removeprefix("<h2>") for popup in page.popups("parcels")]
    expected = {
        # rounded down to 25 gpm, minutes up
        Verdict.HOSE_LINE: "775 gpm, not before minute 10 by hose line",
        Verdict.NURSE: "475 gpm, not before minute 20",
        Verdict.DUMP_SITE: "1,025 gpm, not before minute 20",
        Verdict.SHORT: "0 gpm, not before minute 20",
        Verdict.NONE: "0 gpm, no hauled water",
        Verdict.NO_DEMAND: "250 gpm, not before minute 20",
    }
    assert first == [expected[Verdict(word)] for word in result.parcels["verdict"]]


def test_the_marks_are_on_the_right_parcels(page: Page, result: Result) -> None:
    table, parcels = page.data["parcels"], result.parcels
    assert table["cross"] == parcels["verdict"].isin(["short", "none"]).astype(int).tolist()
    assert table["tight"] == parcels["tight"].astype(int).tolist()
    assert [list(Verdict)[number] for number in table["verdict"]] == parcels["verdict"].tolist()


def test_no_text_of_the_data_becomes_markup(html: str, page: Page) -> None:
    assert 'alert("x")</script>' not in html
    assert "<them>" not in html
    assert "<One>" not in html
    assert "<East>" not in html
    for table in ("parcels", "roads", "fill_sites", "stations"):
        popups = page.popups(table)
        assert not [popup for popup in popups if "<script" in popup or "<One>" in popup]
    assert "&lt;script&gt;" in page.popups("parcels")[7]
    assert "<p>מגרש-10: <strong>" in page.popups("parcels")[10]
    assert page.data["parcels"]["id"][7] == '<script>alert("x")</script>'
    assert page.data["parcels"]["id"][11] == "{{ 7 * 7 }}{% lot %}"
    assert page.data["page"]["credit"] == "Roads © &lt;them&gt;"


def test_places_come_back_to_where_they_are(page: Page, polygons: Result) -> None:
    outlines = polygons.parcels.to_crs(4326).geometry
    drawn_lines = Page(drawn(polygons)).outlines("parcels")
    for lines, outline in zip(drawn_lines, outlines, strict=True):
        assert len(lines) == 1
        np.testing.assert_allclose(lines[0], np.array(outline.exterior.coords), atol=1e-6)
    places = page.places("parcels", "at")
    np.testing.assert_allclose(places, polygons.parcels[["lon", "lat"]], atol=1e-6)
    without = np.isnan(page.places("parcels", "access")).all(axis=1)
    assert without.sum() == polygons.parcels["access_lon"].isna().sum() > 0


def test_a_district_across_180_degrees_stays_in_one_piece(polygons: Result) -> None:
    # Zone 1 south begins at 180° W: 166,021 m east of its false origin on the equator.
    moved = polygons.parcels.set_crs(32701, allow_override=True)
    moved["geometry"] = moved.geometry.translate(166_021 - 500_700, 8_000_000 - 4_983_000)
    moved[["lon", "access_lon"]] = 179.999
    empty = {
        name: getattr(polygons, name).iloc[:0].set_crs(32701, allow_override=True)
        for name in ("roads", "fill_sites", "stations")
    }
    page = Page(drawn(_with(polygons, moved, empty)))
    lon = [line[:, 0] for lines in page.outlines("parcels") for line in lines]
    assert np.ptp(np.concatenate([*lon, page.places("parcels", "at")[:, 0]])) < 1


def _with(result: Result, parcels: Any, layers: dict[str, Any]) -> Result:
    inputs = replace(result.inputs, segments=layers["roads"], boundary=None)
    return replace(result, inputs=inputs, parcels=parcels, **layers)


def test_layers_may_be_empty(bare: Result) -> None:
    page = Page(drawn(bare))
    assert page.popups("parcels") == page.popups("stations") == []
    assert "Hose line" in page.text


def test_title_scenario_caution_and_credit(html: str, page: Page, result: Result) -> None:
    assert html.startswith("<!DOCTYPE html>")
    assert "Larkmoor <East>: hauled water, scenario winter" in " ".join(page.text.split())
    assert CAUTION in " ".join(page.text.split())
    plain = Page(drawn(result, scenario_name=BASE_SCENARIO))
    assert "scenario" not in plain.text.split("Parcel")[0]


def test_the_same_twice(html: str, result: Result) -> None:
    assert drawn(result) == html


def test_si_shows_no_us_unit(result: Result) -> None:
    page = Page(drawn(result, system=System.SI))
    texts = [*page.popups("parcels"), *page.popups("fill_sites"), *page.popups("roads"), page.text]
    assert not re.search(r"\d (gpm|gal|ft|mi|mph)\b", " ".join(texts))
    assert page.popups("parcels")[1].startswith("<h2>1,800 L/min, not before minute 20</h2>")
    assert page.data["page"]["imperial"] is False


def test_stations_name_their_apparatus(page: Page) -> None:
    with_units, without = page.popups("stations")
    assert "T-1" in with_units
    assert "tank 3,000 gal" in with_units
    assert "pump 1,250 gpm" in with_units
    assert "no apparatus" in without


def test_labels_of_fill_sites_give_rate_and_volume(page: Page) -> None:
    labels = page.data["fill_sites"]["label"]
    assert labels[0] == ["Corner", "475 gpm"]
    assert labels[5] == ["Pool & Co", "600 gpm, 80,000 gal"]
    assert page.data["fill_sites"]["letter"] == ["C", "B", "A", "AA", "D", "P", "S", "T"]


@pytest.mark.slow
def test_a_real_size_stays_small(html: str, result: Result) -> None:
    """Measured by the row: what 3,000 parcels and 2,000 segments add to the page itself."""
    data = {table: len(json.dumps(Page(html).data[table])) for table in ("parcels", "roads")}
    scaled = data["parcels"] / len(result.parcels) * 3000 + data["roads"] / len(result.roads) * 2000
    assert len(html.encode()) + scaled < MOST_BYTES


def test_where_incidents_were_drawn_the_parcels_can_be_shown_by_them(
    page: Page, result: Result
) -> None:
    values = [
        a["value"] for tag, a in page.elements if tag == "input" and a.get("name") == "parcels"
    ]
    assert "held90" not in values  # none were drawn here
    flow_gpm = np.resize([0.0, 240.0, 510.0, 1200.0], len(result.parcels))
    parcels = result.parcels.assign(
        held_90_gpm=flow_gpm, held_share=0.84, first_water_min=12.2, held_from_min=20.4
    )
    html = drawn(replace(result, parcels=parcels))
    shown = Page(html)
    values = [
        a["value"] for tag, a in shown.elements if tag == "input" and a.get("name") == "parcels"
    ]
    assert values == ["verdict", "flow", "held90", ""]
    assert shown.data["parcels"]["held90"][:4] == [0, 1, 3, 4]
    assert "nine incidents of ten" in shown.text
    popup = words(shown.popups("parcels")[2])
    assert "first water at minute 13, need held from minute 21" in popup
    assert "; 500 gpm in 9 incidents of 10, need held 84 times in 100" in popup
