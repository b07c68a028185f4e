from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from haulshed.assess.doubts import Finding, Findings, Weight
from haulshed.case import CAUTION, Result
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
    "limited_by_where_short": {"distance": 300, "no road": 200},
    "fill_sites": {"off_the_road": ["D-1", "D-2"], "no_way_to_any_parcel": [], "not_open": []},
    "apparatus": {"not_called": [], "never_there_in_time": [f"T-{n}" for n in range(60)]},
    "passed_over_in_reading": [],
    "solved_by_highs": 0,
}
FINDING = Finding(
    weight=Weight.DOUBTFUL,
    what="parcels lie far from a road",
    count=1200,
    of=2000,
    rows=("P-1", "P-2"),
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
    assert "1,200 of 2,000 parcels lie far from a road: P-1, P-2 …" in text
    assert "→ Look at their roads." in text
    assert "Assumed: nothing." in text
    assert text.startswith("Tiny: 2,000 parcels, 1 stations.\nNothing is wrong")
    assert CAUTION in " ".join(text.split())


def test_all_rows_named_need_no_dots() -> None:
    assert "…" not in found(replace(FINDING, count=2))


def test_doubts_stand_before_assumptions() -> None:
    assumed = replace(FINDING, weight=Weight.ASSUMED, what="have no floor area")
    text = found(assumed, FINDING)
    assert text.index("Doubtful\n") < text.index("lie far") < text.index("Assumed\n")
    assert text.index("Assumed\n") < text.index("have no floor area")


def test_rows_left_out_are_not_called_sound() -> None:
    text = found(rejected=1500)
    assert "Left out as faulty: 1,500" in text
    assert "Nothing is wrong" not in text


@pytest.mark.parametrize("notes", [(), ("parcels: header not used: colour",)])
def test_what_reading_passed_over_is_said_when_there_is_any(notes: tuple[str, ...]) -> None:
    text = found(notes=notes)
    assert ("Passed over in reading" in text) == bool(notes)
    assert all(note in text for note in notes)
