"""The board report: its words and figures, read back out of the PDF and the HTML."""

import json
import re
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from haulshed.assess.areas import NOBODY
from haulshed.assess.findings import Finding, Findings, Weight
from haulshed.case import CAUTION, Provenance, Result
from haulshed.cli import main
from haulshed.options.choose import Step
from haulshed.options.limits import Limits
from haulshed.options.objective import Objective
from haulshed.options.robust import Trial
from haulshed.options.told import OptionTold, PlanTold
from haulshed.outputs.report.areas import by_area
from haulshed.outputs.report.blocks import BREAK, Report, Table
from haulshed.outputs.report.content import board_report
from haulshed.outputs.report.page import report_html
from haulshed.outputs.report.pdf import report_pdf
from haulshed.outputs.report.told import Told
from haulshed.tables.answers import Verdict
from haulshed.units import System

RIGHT_TO_LEFT = "מועצה אזורית הרים"
LONG = "Saint-Étienne-de-la-Très-Grande-Montagne-sous-le-Vieux-Château-d'Eau"
NO_SPACE = "X" * 70
HOSTILE = '<script>alert("x")</script> #pagebreak() *bold* $x$'
TROUBLE = Finding(
    weight=Weight.ASSUMED,
    what="parcels whose needed flow rests on the default dwelling",
    table="parcels",
    ids=("P-1", "P-3", "P-5"),
    of=30,
    cure="Give floor_area_ft2.",
)


def told(
    result: Result,
    provenance: Provenance,
    *,
    options: tuple[OptionTold, ...] = (),
    plan: PlanTold | None = None,
    units: System = System.US,
) -> Told:
    findings = Findings(district="Larkmoor", tables={}, findings=(TROUBLE,), notes=())
    return Told(
        result=result,
        provenance=provenance,
        findings=findings,
        options=options,
        plan=plan,
        units=units,
    )


def with_areas(result: Result, names: list[str | None]) -> Result:
    """Return the result with an area for each parcel, the names in turn."""
    count = len(result.parcels)
    areas = [names[number % len(names)] for number in range(count)]
    parcels = result.inputs.parcels.assign(area=pd.Series(areas, dtype=object).to_numpy())
    return replace(result, inputs=replace(result.inputs, parcels=parcels))


def many(result: Result, count: int) -> Result:
    """Return the result with its parcels over and over, `count` of them."""
    rows = np.arange(count) % len(result.parcels)
    parcels = result.parcels.iloc[rows].reset_index(drop=True)
    return replace(result, parcels=parcels, inputs=replace(result.inputs, parcels=parcels))


def pages_of(report: Report) -> list[str]:
    return [page.extract_text() for page in PdfReader(BytesIO(report_pdf(report))).pages]


def squeezed(text: str) -> str:
    """Return text without what a line break or a break in a long word puts into it."""
    return re.sub(r"\s+", "", text.replace(BREAK, ""))


def tables_of(report: Report) -> list[Table]:
    return [block for block in report.blocks if isinstance(block, Table)]


@pytest.fixture(scope="session")
def report(result: Result, provenance: Provenance) -> Report:
    return board_report(told(result, provenance))


@pytest.fixture(scope="session")
def pages(report: Report) -> list[str]:
    return pages_of(report)


def test_the_first_page_is_the_answer(pages: list[str]) -> None:
    """Thirty parcels, five of each answer: 25 with a structure, 15 held, 10 not."""
    first = squeezed(pages[0])
    assert squeezed("15 (60 %) of 25 properties with a structure can be supplied") in first
    assert squeezed("10 (40 %) cannot") in first
    assert (
        squeezed("5 by a hose line from a fill site, 5 by a nurse operation, 5 by a dump") in first
    )
    for words in ("Where not", "What it would take", "No options were compared"):
        assert squeezed(words) in first


def by_chance(result: Result) -> Result:
    """
    Return the result with incidents drawn: what nurse and dump site hold, each fifth of 30 parcels.

    The 5 by nursing: shares 0.92, the clock holds them after gaps. The 5 by a dump site: 2 of 0.9,
    3 of 0.88; the clock does not hold these 3. The 5 short: 1.0, which no verdict rests on.
    """
    parcels, verdict = result.parcels, result.parcels["verdict"]
    nursed, dumped = verdict == Verdict.NURSE, (verdict == Verdict.DUMP_SITE).to_numpy()
    rare = dumped & (np.cumsum(dumped) > 2)
    share = np.select([nursed, rare, dumped, verdict == Verdict.SHORT], [0.92, 0.88, 0.9, 1.0], 0.0)
    drawn = parcels.assign(
        held_90_gpm=100.0,
        held_share=share,
        first_water_min=12.0,
        held_from_min=np.where(rare, np.nan, 30.0),
        longest_gap_min=np.where(nursed, 3.0, 0.0),
    )
    return replace(result, parcels=drawn)


def test_the_first_page_gives_the_figure_to_quote(result: Result, provenance: Provenance) -> None:
    """7 by hauled water and the 5 by hose line are held 9 times in 10, of 25."""
    first = squeezed(pages_of(board_report(told(by_chance(result), provenance)))[0])
    for words in (
        "properties with a structure can be supplied with the flow that they need on paper",
        "units that stay away: 12 (48 %). This is the figure to quote; 50 incidents were drawn",
        "holds 2 without a gap, 5 after gaps, for the last hour at least, and does not hold 3",
        "does not hold 3; 7 are held in 9 incidents of 10. Hose lines are not drawn",
        "Held 9 in 10",
    ):
        assert squeezed(words) in first, words


def test_an_assumption_of_nothing_is_none_and_has_no_brackets(report: Report) -> None:
    (table,) = [one for one in tables_of(report) if one.header[0] == "Assumption"]
    values = {row[0]: row[1] for row in table.rows}
    for meaning, value in values.items():
        assert not set(value) & set("[]{}"), (meaning, value)
    broken = [value for meaning, value in values.items() if meaning.startswith("tankers that br")]
    assert broken == ["none"]


def test_areas_have_the_share_to_quote(result: Result) -> None:
    table = by_area(with_areas(by_chance(result), ["North"]))
    assert table["held_90"].tolist() == [12]


def test_without_draws_no_figure_is_given_to_quote(pages: list[str]) -> None:
    first = squeezed(pages[0])
    assert squeezed("how many are held in 9 incidents of 10 is not known") in first
    assert squeezed("9 in 10") not in squeezed(" ".join(pages))


def test_every_page_carries_caution_and_origin(pages: list[str], provenance: Provenance) -> None:
    for page in pages:
        assert squeezed(CAUTION) in squeezed(page)
        assert squeezed("scenario winter · 2026-01-02 · haulshed 0.0.1") in squeezed(page)
    hashes = squeezed(pages[-1])
    assert all(value in hashes for value in provenance.input_sha256.values())


def test_every_cell_of_every_table_stands_in_the_pdf(report: Report, pages: list[str]) -> None:
    words = squeezed(" ".join(pages))
    for table in tables_of(report):
        for row in table.rows:
            for cell in row:
                assert squeezed(cell) in words, cell


class _Cells(HTMLParser):
    """Every table of a page as rows of cells, and all that is not in a drawing."""

    def __init__(self) -> None:
        super().__init__()
        self.tables: list[list[list[str]]] = []
        self.tags: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:  # noqa: ARG002 — HTMLParser's signature
        self.tags.append(tag)
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in {"td", "th"}:
            self.tables[-1][-1].append("")

    def handle_data(self, data: str) -> None:
        if self.tags and self.tags[-1] in {"td", "th"} and self.tables:
            self.tables[-1][-1][-1] += data

    def handle_endtag(self, tag: str) -> None:
        self.tags.append(f"/{tag}")


def test_the_page_has_the_same_tables(report: Report) -> None:
    reader = _Cells()
    reader.feed(report_html(report))
    ours = [[list(t.header), *map(list, t.rows)] for t in tables_of(report) if t.rows]
    assert reader.tables == ours


def test_the_page_needs_no_network_and_runs_nothing(report: Report) -> None:
    html = report_html(report)
    reader = _Cells()
    reader.feed(html)
    assert "script" not in reader.tags
    assert "link" not in reader.tags
    assert not re.search(r'(src|href)="https?:', html)
    assert CAUTION in html


def test_the_charts_text_is_text(report: Report) -> None:
    html = report_html(report)
    for words in ("Hose line 5", "needed", "flow of at least [gpm]", "Dry hydrant", "PD-1"):
        assert re.search(rf"<text[^>]*>{re.escape(words)}</text>", html), words


def test_areas_are_counted_as_by_hand(result: Result) -> None:
    table = by_area(with_areas(result, ["North", "South", None])).set_index("area")
    verdicts = result.parcels["verdict"].tolist()
    for number, area in enumerate(("North", "South", "no area given")):
        here = [verdict for verdict in verdicts[number::3] if verdict != Verdict.NO_DEMAND]
        row = table.loc[area]
        assert row["properties"] == len(here)
        for verdict in (Verdict.HOSE_LINE, Verdict.NURSE, Verdict.DUMP_SITE, Verdict.SHORT):
            assert row[str(verdict)] == here.count(verdict), (area, verdict)
        assert row["not_held"] == here.count(Verdict.SHORT) + here.count(Verdict.NONE)
    assert table["properties"].sum() == 25


def test_without_areas_it_is_the_station_that_is_there_first(result: Result) -> None:
    table = by_area(result)
    assert set(table["area"]) == {"Station <One>", NOBODY}


def test_options_compared_stand_on_the_first_page_and_in_a_table(
    result: Result, provenance: Provenance
) -> None:
    cheap = OptionTold(
        title="Dry hydrant at the mill", capital=9000, cost_a_year=500, lifted=6, people=20,
        lost=0, notes=("verify the depth",),
    )  # fmt: skip
    large = OptionTold(
        title="A tanker", capital=400_000, cost_a_year=9000, lifted=9, people=40, lost=1, notes=()
    )
    pages = pages_of(board_report(told(result, provenance, options=(large, cheap))))
    first, words = squeezed(pages[0]), squeezed(" ".join(pages))
    assert squeezed("Dry hydrant at the mill costs least for each property lifted (1,500") in first
    assert squeezed("A tanker lifts most (9, 400,000 once)") in first
    assert squeezed("verify the depth") in words


def test_the_best_plan_stands_on_the_first_page_and_with_its_ladder(
    result: Result, provenance: Provenance
) -> None:
    whole = OptionTold(
        title="Best plan", capital=69_000, cost_a_year=7100, lifted=11, people=31, lost=2, notes=()
    )
    hydrant = Step(
        option="mill", title="Dry hydrant at the mill", capital=9000, cost_a_year=1100, gain=7,
        score=17, parcels=7,
    )  # fmt: skip
    cistern = Step(
        option="ridge", title="Cistern on the ridge", capital=69_000, cost_a_year=7100, gain=5,
        score=22, parcels=12,
    )  # fmt: skip
    plan = PlanTold(
        whole=whole, objective=Objective.PARCELS, limits=Limits(budget=70_000, count=2),
        ladder=(hydrant, cistern), most=15, proof="a covering programme",
        trials=(Trial(name="winter", score_before=3, gain=4, best_gain=6, best=()),),
    )  # fmt: skip
    pages = pages_of(board_report(told(result, provenance, plan=plan)))
    first, words = squeezed(pages[0]), squeezed(" ".join(pages))
    assert squeezed("best plan for 70,000 of capital and of 2 options at most: Dry") in first
    assert squeezed("It lifts 11 properties to their needed flow, for 69,000 once") in first
    assert squeezed("No options were compared") not in words
    for said in (
        "2 Cistern on the ridge 69,000 7,100 5 12",
        "11 properties, 31 people known there; 2 are no longer held",
        "at most 15 could be gained, so it is within 20%. Proof: a covering programme",
        "winter 4 6",
    ):
        assert squeezed(said) in words, said


NAMES = [RIGHT_TO_LEFT, LONG, NO_SPACE, HOSTILE, "Ærøskøbing", "A"]


def test_names_of_all_kinds_are_words_in_the_pdf(result: Result, provenance: Provenance) -> None:
    pages = pages_of(board_report(told(with_areas(result, [*NAMES]), provenance)))
    words = squeezed(" ".join(pages))
    for name in (LONG, NO_SPACE, HOSTILE, "Ærøskøbing"):
        assert squeezed(name) in words, name
    # Right to left: the reader gives the letters of a line in its own order.
    letters = set(RIGHT_TO_LEFT.replace(" ", ""))
    assert letters <= set(words)


def poppler(pdf: bytes, folder: Path, *options: str) -> str:
    """Return what poppler reads out of a PDF."""
    tool = shutil.which("pdftotext")
    if tool is None:
        pytest.skip("poppler-utils is not installed")
    (folder / "r.pdf").write_bytes(pdf)
    words = [tool, *options, str(folder / "r.pdf"), str(folder / "r.txt")]
    subprocess.run(words, check=True, timeout=60)  # noqa: S603 — poppler, on a file of ours
    return (folder / "r.txt").read_text(encoding="utf-8")


def poppler_pages(pdf: bytes, folder: Path) -> list[str]:
    return poppler(pdf, folder, "-layout").split("\f")


def boxes(pdf: bytes, folder: Path) -> list[tuple[float, list[tuple[float, ...]]]]:
    """Return each page's width and the box of every word on it."""
    text = poppler(pdf, folder, "-bbox").replace("\x00", "")
    space = "{http://www.w3.org/1999/xhtml}"
    sides = ("xMin", "yMin", "xMax", "yMax")
    return [
        (
            float(page.get("width", "0")),
            [
                tuple(float(word.get(side, "nan")) for side in sides)
                for word in page.iter(f"{space}word")
            ],
        )
        for page in ET.fromstring(text).iter(f"{space}page")  # noqa: S314 — made a line above
    ]


def crossing(one: tuple[float, ...], other: tuple[float, ...], slack_pt: float = 1.2) -> bool:
    """Return whether two boxes lie over each other by more than the slack."""
    return (
        min(one[2], other[2]) - max(one[0], other[0]) > slack_pt
        and min(one[3], other[3]) - max(one[1], other[1]) > slack_pt + 1.5
    )


@pytest.mark.parametrize("areas", [5, 400])
def test_no_word_lies_on_another_or_beyond_the_margin(
    result: Result, provenance: Provenance, tmp_path: Path, areas: int
) -> None:
    names = [*NAMES, *(f"Township {number} of the {LONG}" for number in range(areas))][:areas]
    district = with_areas(many(result, max(30, areas)), [*names])
    pdf = report_pdf(board_report(told(district, provenance)))
    margin = 18 / 25.4 * 72
    for width, words in boxes(pdf, tmp_path):
        assert words
        for word in words:
            assert word[0] >= margin - 1
            assert word[2] <= width - margin + 1
        near = sorted(words, key=lambda box: box[1])
        crossed = [
            (one, other)
            for at, one in enumerate(near)
            for other in near[at + 1 : at + 80]
            if other[1] < one[3] and crossing(one, other)
        ]
        assert crossed == []


@pytest.mark.slow  # five thousand rows take seconds to typeset
def test_five_thousand_areas(result: Result, provenance: Provenance, tmp_path: Path) -> None:
    names = [f"Area {number:04}" for number in range(5000)]
    report = board_report(told(with_areas(many(result, 6000), [*names]), provenance))
    pages = poppler_pages(report_pdf(report), tmp_path)
    words = squeezed(" ".join(pages))
    # Every sixth parcel needs nothing, and so does every area that has no other.
    shown = {row[0] for table in tables_of(report) for row in table.rows}
    assert len(shown & set(names)) > 4000
    assert all(squeezed(name) in words for name in shown & set(names))
    assert squeezed("Where not") in squeezed(pages[0])


def only(result: Result, *verdicts: Verdict) -> Result:
    """Return the result with the parcels of some answers alone."""
    chosen = result.parcels["verdict"].isin([str(verdict) for verdict in verdicts])
    parcels = result.parcels[chosen].reset_index(drop=True)
    return replace(result, parcels=parcels, inputs=replace(result.inputs, parcels=parcels))


@pytest.mark.parametrize(
    ("verdicts", "words"),
    [
        ((), "No property with a structure is known."),
        ((Verdict.NO_DEMAND,), "No property with a structure is known."),
        ((Verdict.NURSE,), "Every property can be supplied."),
        ((Verdict.NONE,), "0 (0 %) of 5 properties"),
        ((Verdict.SHORT, Verdict.HOSE_LINE), "5 (50 %) of 10 properties"),
    ],
)
def test_answers_that_nobody_has(
    result: Result, provenance: Provenance, verdicts: tuple[Verdict, ...], words: str
) -> None:
    pages = pages_of(board_report(told(only(result, *verdicts), provenance)))
    assert squeezed(words) in squeezed(pages[0])


def test_a_district_with_nothing_in_it(bare: Result, provenance: Provenance) -> None:
    report = board_report(told(bare, provenance))
    assert squeezed("No property with a structure is known.") in squeezed(pages_of(report)[0])
    assert "No fill site is known." in report_html(report)


def test_the_same_report_gives_the_same_bytes(report: Report) -> None:
    assert report_pdf(report) == report_pdf(report)
    assert report_html(report) == report_html(report)


def test_in_si_on_a4(result: Result, provenance: Provenance) -> None:
    report = board_report(told(result, provenance, units=System.SI))
    page = PdfReader(BytesIO(report_pdf(report))).pages[0]
    # ISO 216: A4 is 210 by 297 mm.
    assert float(page.mediabox.width) == pytest.approx(210 / 25.4 * 72, abs=0.5)
    words = " ".join(cell for table in tables_of(report) for row in table.rows for cell in row)
    assert "L/min" in words
    assert "gpm" not in " ".join(row[3] for row in tables_of(report)[-8].rows if len(row) > 3)


def test_values_that_the_district_set_are_marked(result: Result, provenance: Provenance) -> None:
    operation = provenance.scenario.operation.model_copy(update={"duration_min": 60.0})
    scenario = provenance.scenario.model_copy(update={"operation": operation})
    report = board_report(told(result, replace(provenance, scenario=scenario)))
    marked = [row for t in tables_of(report) for row in t.rows if row[1:] and row[1].endswith(" *")]
    assert [row[1] for row in marked] == ["60 min *"]


def haulshed(*words: str | Path) -> str:
    done = CliRunner().invoke(main, [str(word) for word in words])
    assert done.exit_code == 0, done.output
    return done.stdout


def test_the_command_writes_both_and_says_where(tiny_district: Callable[..., Path]) -> None:
    folder = tiny_district()
    printed = haulshed("report", folder)
    assert {file.name for file in (folder / "out").iterdir()} == {
        *("report.pdf", "report.html", "report.json")
    }
    for words in ("Board report for Tiny: 3 parcels", "No options were compared", "report.pdf"):
        assert words in printed
    assert CAUTION[:60] in printed


OPTIONS = """\
[option.tanker]
title = "A third tanker"
capital = 300000
yearly = 5000
life_years = 25
[[option.tanker.change]]
do = "add unit"
[option.tanker.change.row]
unit_id = "T-3"
station_id = "S-1"
kind = "tanker"
tank_gal = 3000
dump_gpm = 1200
pump_gpm = 500
"""


def test_a_comparison_is_taken_in_while_it_is_of_the_same_inputs(
    tiny_district: Callable[..., Path],
) -> None:
    folder = tiny_district()
    (folder / "options.toml").write_text(OPTIONS, encoding="utf-8")
    haulshed("compare", folder)
    assert "1 options compared" in " ".join(haulshed("report", folder).split())
    assert "A third tanker" in (folder / "out" / "report.html").read_text(encoding="utf-8")
    with (folder / "stations.csv").open("a", encoding="utf-8") as file:
        file.write("\n")
    assert "is left out. Run haulshed compare again" in " ".join(haulshed("report", folder).split())
    html = (folder / "out" / "report.html").read_text(encoding="utf-8")
    assert "A third tanker" not in html
    assert "is of other inputs or of another scenario" in html


def test_a_plan_is_taken_in_while_it_is_of_the_same_inputs(
    tiny_district: Callable[..., Path],
) -> None:
    folder = tiny_district()
    (folder / "options.toml").write_text(OPTIONS, encoding="utf-8")
    haulshed("choose", folder, "--count", "1", "--objective", "gpm")
    found = json.loads((folder / "choose" / "summary.json").read_text(encoding="utf-8"))
    printed = " ".join(haulshed("report", folder).split())
    lifted = found["plans"][0]["full_model"]["lifted"]["parcels"]
    assert "The best plan of 1 option at most: A third tanker. It lifts" in printed
    assert f"It lifts {lifted:,} properties to their needed flow, for 300,000 once" in printed
    record = json.loads((folder / "out" / "report.json").read_text(encoding="utf-8"))
    assert record["plan"] == ["A third tanker"]
    with (folder / "stations.csv").open("a", encoding="utf-8") as file:
        file.write("\n")
    assert "is left out. Run haulshed choose again" in " ".join(haulshed("report", folder).split())


def test_that_no_plan_helps_is_said(result: Result, provenance: Provenance) -> None:
    plan = PlanTold(
        whole=None, objective=Objective.PEOPLE, limits=Limits(budget=10), ladder=(), most=None,
        proof="", trials=(),
    )  # fmt: skip
    (first, *_) = pages_of(board_report(told(result, provenance, plan=plan)))
    said = "No plan for 10 of capital adds people on parcels lifted to their needed flow."
    assert squeezed(said) in squeezed(first)


def test_a_plan_that_cannot_be_read_says_what_to_run(tiny_district: Callable[..., Path]) -> None:
    folder = tiny_district()
    (folder / "choose").mkdir()
    (folder / "choose" / "run.json").write_text("{}", encoding="utf-8")
    (folder / "choose" / "summary.json").write_text("{}", encoding="utf-8")
    done = CliRunner().invoke(main, ["report", str(folder)])
    assert done.exit_code == 1
    assert "holds nothing of haulshed choose that can be read. Run it again." in done.stderr
