from collections.abc import Hashable, Iterable, Sequence
from html import escape
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haulshed.case import Result
from haulshed.outputs.phrases import Phrasebook, Said, texts_of
from haulshed.outputs.popups import ParcelPopups, RoadPopups, rows, site_phrases
from haulshed.outputs.wording import LIMIT_MEANS, VERDICT_MEANS, Wording, minute
from haulshed.tables.answers import LimitedBy, Verdict
from haulshed.units import System

US = Wording(system=System.US)
SITE_NAMES = {"D-1": "Mill pond", "H-1": ""}


def texts(said: Iterable[Said], count: int) -> list[str]:
    """Word the popups of a table by its lines, without the phrasebook."""
    lines = list(said)
    return [
        "".join(
            line.template.format(
                *(escape(gap.words[gap.codes[row]]) for gap in line.gaps if line.where[row])
            )
            for line in lines
            if line.where[row]
        )
        for row in range(count)
    ]


def parcel_texts(table: Sequence[dict[Hashable, Any]]) -> list[str]:
    popups = ParcelPopups(
        frame=pd.DataFrame(table), wording=US, site_names=SITE_NAMES, planned_min=120.0
    )
    return texts(popups.said(), len(table))


def text(row: dict[Hashable, Any]) -> str:
    return parcel_texts([row])[0]


def unfolded(book: Phrasebook, packed: dict[str, list[Any]]) -> list[str]:
    """Put the words of packed popups together, as the page does."""
    templates, words = list(book.templates), book.words
    at = dict.fromkeys(range(len(packed["shapes"])), 0)
    said = []
    for kind in packed["of"]:
        columns = iter(packed["columns"][kind])
        lines = [
            templates[number].format(*(gap[next(columns)[at[kind]]] for gap in words[number]))
            for number in packed["shapes"][kind]
        ]
        said.append("".join(lines))
        at[kind] += 1
    return said


@pytest.fixture(scope="session")
def by_verdict(result: Result) -> dict[str, dict[Hashable, Any]]:
    return {row["verdict"]: row for row in reversed(rows(result.parcels))}


def test_five_lines_of_arithmetic(by_verdict: dict[str, dict[Hashable, Any]]) -> None:
    said = text(by_verdict[Verdict.DUMP_SITE])
    for line in (
        "<dt>Need</dt><dd>251 gpm, 12,346 gal of water, judged over 120 min",
        "<dt>On paper</dt><dd>nursing 100 gpm, dump site 1,025 gpm</dd>",
        "<dt>Round trip</dt><dd>23.5 min, most water from Mill pond (D-1), loaded leg 2.5 mi; ",
        "; in time: 3 tankers, 2 engines; lay 333 ft, straight line with a detour</dd>",
        "<dt>Limited by</dt><dd>tankers: every tanker is busy",
        "<dt>To spare</dt><dd>margin 775 gpm; 500 gpm with the largest tanker out; 2 tankers",
    ):
        assert line in said


def test_packed_popups_unfold_to_the_same(result: Result) -> None:
    book, parcels, roads = Phrasebook(), result.parcels, result.roads
    popups = ParcelPopups(frame=parcels, wording=US, site_names=SITE_NAMES, planned_min=120.0)
    by_parcel = book.packed_table(popups.said(), len(parcels))
    by_road = book.packed_table(RoadPopups(frame=roads, wording=US).said(), len(roads))
    assert unfolded(book, by_parcel) == parcel_texts(rows(parcels))
    assert unfolded(book, by_road) == texts(RoadPopups(frame=roads, wording=US).said(), len(roads))


def test_no_rows_are_no_popups() -> None:
    none = Phrasebook().packed_table([], 0)
    assert none["shapes"] == none["columns"] == none["of"].tolist() == []


def test_a_text_that_is_missing_is_no_other_rows_text() -> None:
    gap = texts_of(np.array([5.0, np.nan]))
    with pytest.raises(ValueError, match="no text for a gap"):
        Phrasebook().packed_table([Said("{}", np.ones(2, np.bool_), (gap,))], 2)


def test_one_row_says_what_it_says_among_others(result: Result) -> None:
    table = rows(result.parcels)
    assert [text(row) for row in table] == parcel_texts(table)


def test_a_hose_line_names_its_site(by_verdict: dict[str, dict[Hashable, Any]]) -> None:
    assert "hose line 775 gpm from H-1, 612 ft by road" in text(by_verdict[Verdict.HOSE_LINE])


def test_empty_cells_show_as_nothing(by_verdict: dict[str, dict[Hashable, Any]]) -> None:
    for row in by_verdict.values():
        said = text(row)
        assert "nan" not in said.lower().replace("tenanc", "")
        assert "<NA>" not in said
        assert "None" not in said.replace("<strong>None</strong>", "")


def test_a_margin_below_zero_is_rounded_away_from_zero() -> None:
    assert US.flow(-1.0) == "\N{MINUS SIGN}25 gpm"


@pytest.mark.parametrize(
    ("due", "first", "line"),
    [
        (np.nan, 14.0, "not before minute 14"),
        (np.nan, np.nan, "time not known"),
        (17.5, 14.0, "not before minute 18"),
    ],
)
def test_when_the_last_unit_is_not_known_the_first_tanker_counts(
    by_verdict: dict[str, dict[Hashable, Any]], due: float, first: float, line: str
) -> None:
    row = by_verdict[Verdict.NURSE] | {"last_tanker_min": due, "first_tanker_min": first}
    assert f", {line}</h2>" in text(row)


def test_what_the_clock_does_not_hold_is_not_headed_by_a_minute(
    by_verdict: dict[str, dict[Hashable, Any]],
) -> None:
    clock = {"first_water_min": 12.0, "held_from_min": np.nan, "longest_gap_min": 4.9}
    row = by_verdict[Verdict.DUMP_SITE] | clock | {"short_gal": 9113.0}
    said = text(row)
    assert said.startswith("<h2>1,025 gpm on paper, need not held by the clock</h2>")
    assert "first water at minute 12, need NOT held, short by 9,113 gal" in said
    assert "not before" not in said


def test_the_first_minute_is_that_from_which_the_need_is_held(
    by_verdict: dict[str, dict[Hashable, Any]],
) -> None:
    clock = {"first_water_min": 12.0, "held_from_min": 80.1, "longest_gap_min": 6.7}
    row = by_verdict[Verdict.NURSE] | clock | {"short_gal": 5916.0}
    assert text(row).startswith("<h2>475 gpm, not before minute 81</h2>")
    assert "need held from minute 81 only, short by 5,916 gal" in text(row)
    without = text(row | {"longest_gap_min": 0.0, "short_gal": 0.0})
    assert "need held from minute 81</dd>" in without


def test_a_flow_in_nine_incidents_cannot_be_read_as_another(
    by_verdict: dict[str, dict[Hashable, Any]],
) -> None:
    clock = {"first_water_min": 12.0, "held_from_min": 22.0, "short_gal": 0.0}
    row = by_verdict[Verdict.NURSE] | clock | {"held_90_gpm": 225.0}
    assert "; 225 gpm in 9 incidents of 10" in text(row)


def test_another_time_of_judging_names_that_of_the_flows(
    by_verdict: dict[str, dict[Hashable, Any]],
) -> None:
    said = text(by_verdict[Verdict.NURSE] | {"test_min": 30.0})
    assert "judged over 30 min" in said
    assert "<dt>On paper</dt><dd>nursing 475 gpm, dump site 300 gpm, over 120 min" in said


def test_tight_is_said(by_verdict: dict[str, dict[Hashable, Any]]) -> None:
    row = by_verdict[Verdict.NURSE]
    assert ("Tight" in text(row | {"tight": True}), "Tight" in text(row | {"tight": False})) == (
        True,
        False,
    )


def test_every_word_of_the_answers_has_its_meaning() -> None:
    assert set(VERDICT_MEANS) == set(Verdict)
    assert set(LIMIT_MEANS) == set(LimitedBy)


@given(st.floats(0, 1e5))
def test_a_flow_shown_is_a_bound(flow_gpm: float) -> None:
    shown = float(US.flow(flow_gpm).split()[0].replace(",", ""))
    assert shown % 25 == 0
    assert shown <= flow_gpm + 1e-5
    assert flow_gpm - shown < 25


@given(st.floats(0, 1e5))
def test_a_need_and_a_time_are_never_shown_too_small(value: float) -> None:
    assert float(US.need(value).split()[0].replace(",", "")) >= value - 1e-5
    assert float(minute(value).replace(",", "")) >= value - 1e-5


@given(
    st.integers(0, 20_000).map(lambda twentieths: twentieths / 20) | st.floats(0, 1e5),
    st.sampled_from(list(System)),
    st.sampled_from(["min", "miles", "ft"]),
)
def test_values_that_read_alike_are_one_and_read_as_before(
    value: float, system: System, ours: str
) -> None:
    wording = Wording(system=system)
    text = wording.tenths(value, ours)
    beside = wording.in_tenths(np.array([value, value + 1e-9]), ours).tolist()
    assert [wording.tenths(one, ours) for one in beside] == [
        text,
        wording.tenths(value + 1e-9, ours),
    ]


def test_tenths_have_few_different_values() -> None:
    wording, values = Wording(system=System.SI), np.linspace(0, 10, 5000)
    shown = wording.in_tenths(values, "miles")
    assert len(np.unique(shown)) == len({wording.tenths(one, "miles") for one in values.tolist()})


def test_an_optimum_a_hair_under_a_round_flow_counts_as_it() -> None:
    assert US.flow(499.9999999) == "500 gpm"
    assert US.flow(499.99) == "475 gpm"


def test_a_road_says_what_is_posted_and_what_is_closed(result: Result) -> None:
    said = texts(RoadPopups(frame=result.roads, wording=US).said(), len(result.roads))
    assert "<dt>Posted</dt><dd>20,000 lb, bridge 102</dd>" in said[1]
    assert "<dt>Posted</dt><dd>12.5 ft, way 104</dd>" in said[3]
    assert said[5].startswith("<h2>Closed in this scenario</h2>")
    assert "<dt>Posted</dt><dd>nothing, way 106</dd>" in said[5]
    assert "Posted" not in said[0]


def test_a_fill_site_shows_the_water_that_the_scenario_leaves(result: Result) -> None:
    pond = next(row for row in rows(result.fill_sites) if row["site_id"] == "PD-1")
    said = "".join(phrase.text() for phrase in site_phrases(pond, US))
    assert "<dt>Volume</dt><dd>80,000 gal, of 200,000 gal stated, refills at 25 gpm</dd>" in said


def test_a_fill_site_says_which_of_its_figures_nobody_measured(result: Result) -> None:
    pond = next(row for row in rows(result.fill_sites) if row["site_id"] == "PD-1")
    default = pond | {"flow_source": "default", "volume_source": "default"}
    said = "".join(phrase.text() for phrase in site_phrases(default, US))
    assert "gpm, <strong>not tested</strong></dd>" in said
    assert "<strong>not measured</strong>" in said
    given = pond | {"flow_source": "given", "volume_source": "osm"}
    assert "not " not in "".join(phrase.text() for phrase in site_phrases(given, US))
