from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from haulshed.assess.findings import Finding, Findings, Weight
from haulshed.case import CAUTION, Result
from haulshed.errors import Fault
from haulshed.outputs.screen import findings_text, summary_text

SUMMARY: dict[str, Any] = {
    "district": "Larkmoor <East>",
    "parcels": 2000,
    "verdicts": {
        "hose line": 20,
        "nurse": 1000,
        "dump site": 480,
        "short": 400,
        "none": 100,
        "no demand": 0,
    },
    "tight": 1234,
    "clock": {
        "verdict_nurse_or_dump_site": 1480,
        "of_these_held_by_the_clock": 1400,
        "of_these_held_without_a_gap": 1300,
        "draws": 50,
        "of_these_held_9_times_in_10": 700,
    },
    "limited_by_where_short": {"distance": 300, "no road": 200},
    "fill_sites": {"off_the_road": ["D-1", "D-2"], "no_way_to_any_parcel": [], "not_open": []},
    "apparatus": {"not_called": [], "never_there_in_time": [f"T-{n}" for n in range(60)]},
    "passed_over_in_reading": [],
    "solved_by_highs": 0,
}
FINDING = Finding(
    weight=Weight.DOUBTFUL,
    table="parcels",
    what="parcels lie far from a road",
    ids=tuple(f"P-{number}" for number in range(1, 1201)),
    of=2000,
    cure="Look at their roads.",
)


def shown(result: Result, *, rejected: int = 0, **changed: Any) -> str:
    told = replace(result, summary=SUMMARY | changed)
    return summary_text(
        told, scenario_name="base", map_file=Path("out") / "map.html", rejected=rejected
    )


def found(*findings: Finding, notes: tuple[str, ...] = (), rejected: int = 0) -> str:
    told = Findings(
        district="Tiny", tables={"parcels": 2000, "stations": 1}, findings=findings, notes=notes
    )
    return findings_text(told, rejected=rejected)


def test_the_summary_gives_counts_and_shares(result: Result) -> None:
    lines = [" ".join(line.split()) for line in shown(result).splitlines()]
    assert lines[0] == "Larkmoor <East>: 2,000 parcels"
    for start in ("hose line 20 1%", "nurse 1,000 50%", "dump site 480 24%", "none 100 5%"):
        assert [line for line in lines if line.startswith(start)]
    assert "Tight (one tanker out, or under 15 % to spare): 1,234" in lines
    assert "Where it is short or none, limited by: distance 300, no road 200" in lines
    told = (
        "By the clock, of 1,480 by nurse or dump site: 1,400 held for the last hour at least (1,300"
        " of them without a gap)"
    )
    assert f" {told}, 700 in 9 incidents of 10 Where" in " ".join(lines)
    undrawn = shown(result, clock=SUMMARY["clock"] | {"draws": 0})
    assert f"{told} Where" in " ".join(undrawn.split())
    assert lines[-1] == f"Map: {Path('out') / 'map.html'}"


def test_the_summary_says_no_more_than_there_is(result: Result) -> None:
    assert "no demand" not in shown(result)
    verdicts = SUMMARY["verdicts"] | {"no demand": 3}
    assert "no demand" in shown(result, verdicts=verdicts)
    assert "limited by" not in shown(result, limited_by_where_short={})
    for silent in ("Set aside", "Passed over", "HiGHS", "not open", "not called"):
        assert silent not in shown(result)


def test_the_summary_says_what_to_mend(result: Result) -> None:
    text = " ".join(shown(result, rejected=1200, solved_by_highs=2).split())
    assert "Look at: fill sites off the road, not used: D-1, D-2 " in text
    assert "units never there in time: T-0, T-1, " in text
    assert "T-59" in text
    assert "Set aside: 1,200 faulty rows, in rejected.csv" in text
    assert "HiGHS: 2" in text


def test_the_summary_fits_a_terminal_and_carries_the_caution(result: Result) -> None:
    text = shown(result, rejected=5, passed_over_in_reading=["a header not used"] * 20)
    assert max(map(len, text.splitlines())) <= 98
    assert CAUTION in " ".join(text.split())
    assert " ".join(text.split()).count("a header not used") == 20


def test_a_finding_says_how_many_which_and_what_to_do() -> None:
    text = found(FINDING)
    assert "1,200 of 2,000 parcels lie far from a road: P-1, P-2, P-3, P-4, P-5 …" in text
    assert "→ Look at their roads." in text
    assert "ASSUMED: nothing." in text
    assert text.startswith("Tiny: 2,000 parcels, 1 stations.\nWRONG: nothing.")
    assert CAUTION in " ".join(text.split())


def test_all_rows_named_need_no_dots() -> None:
    assert "…" not in found(replace(FINDING, ids=("P-1", "P-2")))


def test_a_finding_takes_one_line_however_long_its_ids_are() -> None:
    text = found(replace(FINDING, ids=tuple(f"{'P' * 30}-{n}\nx" for n in range(9))))
    (line,) = [line for line in text.splitlines() if "9 of" in line]
    assert line.endswith(f"{'P' * 30}-0 x …")
    assert max(map(len, text.splitlines())) <= 98


def test_findings_in_a_row_with_one_cure_share_its_line() -> None:
    text = found(FINDING, replace(FINDING, what="lie farther still"))
    assert text.count("→ Look at their roads.") == 1
    assert text.index("lie farther still") < text.index("→")


def test_doubts_stand_before_assumptions_whose_cure_is_left_out() -> None:
    assumed = replace(FINDING, weight=Weight.ASSUMED, what="have no floor area", cure="Measure it.")
    text = found(assumed, FINDING)
    assert text.index("DOUBTFUL\n") < text.index("lie far") < text.index("ASSUMED\n")
    assert text.index("ASSUMED\n") < text.index("have no floor area")
    assert "Measure it." not in text


def test_more_assumptions_than_fit_the_screen_are_counted() -> None:
    assumed = [
        replace(FINDING, weight=Weight.ASSUMED, what=f"rest on default {n}") for n in range(30)
    ]
    lines = found(FINDING, *assumed).splitlines()
    assert len(lines) == 24
    shown = sum("rest on default" in line for line in lines)
    assert f"  … and {30 - shown} assumptions more (all of them: --json)" in lines


def test_rows_left_out_are_not_called_sound() -> None:
    text = found(rejected=1500)
    assert "WRONG: 1,500 faulty rows left out" in text
    assert "Every table keeps its rules" not in text


def test_long_notes_take_two_lines_and_say_where_the_rest_is() -> None:
    text = found(notes=tuple(f"file {n}: a header that is not used" for n in range(30)))
    lines = [line for line in text.splitlines() if "header" in line]
    assert len(lines) == 2
    assert lines[-1].endswith("--json)")
    assert max(map(len, lines)) <= 98


def fault(number: int) -> Fault:
    return Fault(
        table="parcels",
        row=f"P-{number}",
        column="stories",
        value="-1",
        rule="must be greater than 0",
        cure="Check it.",
    )


def test_what_is_wrong_stands_first_and_the_rest_is_shown_all_the_same() -> None:
    told = Findings(district="Tiny", tables={"parcels": 3}, findings=(FINDING,), notes=())
    text = findings_text(told, wrong=[fault(number) for number in range(8)])
    assert "WRONG, must be mended: 8; the rest of the tables" in text
    assert text.index("parcels: P-7: stories = -1") < text.index("DOUBTFUL")


def test_where_too_much_is_wrong_only_that_is_said() -> None:
    text = findings_text(None, wrong=[fault(1)])
    assert text.startswith("WRONG, must be mended: 1\n  parcels: P-1: stories = -1")
    assert "DOUBTFUL" not in text
    assert CAUTION in " ".join(text.split())


@pytest.mark.parametrize("notes", [(), ("parcels: header not used: colour",)])
def test_what_reading_passed_over_is_said_when_there_is_any(notes: tuple[str, ...]) -> None:
    text = found(notes=notes)
    assert ("Passed over" in text) == bool(notes)
    assert all(note in text for note in notes)
