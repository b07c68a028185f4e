"""A drill's log as it comes from a clipboard: every fault named, midnight passed."""

from pathlib import Path

import pytest

from crosscheck.logs import HEAD, log_file
from haulshed.errors import InputError, TableError
from haulshed.inputs.drill_log import Known, read_drill_log

KNOWN = Known(tankers={"T-1", "T-2"}, engines={"E-1"}, fill_sites={"DH-1"})
ROUND = (
    "T-1,arrive_dump,{},,,",
    "T-1,start_dump,{},,,",
    "T-1,end_dump,{},,1800,",
    "T-1,leave_dump,{},,,",
    "T-1,arrive_fill,{},DH-1,,2.5",
    "T-1,start_fill,{},DH-1,,",
    "T-1,end_fill,{},DH-1,,",
    "T-1,leave_fill,{},DH-1,,",
)


def faults(path: Path, known: Known | None = None) -> list[str]:
    with pytest.raises(TableError) as caught:
        read_drill_log(path, known)
    return [str(fault) for fault in caught.value.faults]


def timed(*times: str) -> list[str]:
    return [line.format(at) for line, at in zip(ROUND, times, strict=False)]


def test_a_sound_log(tmp_path: Path) -> None:
    lines = timed("10:00", "10:01:30", "10:03", "10:04", "10:09", "10:10", "10:12", "10:13")
    log = read_drill_log(log_file(tmp_path, *lines), KNOWN)
    assert log.events["at_min"].tolist() == [0, 1.5, 3, 4, 9, 10, 12, 13]
    assert log.events["load_gal"].dropna().tolist() == [1800]


def test_a_drill_may_pass_midnight_whatever_the_order_of_its_rows(tmp_path: Path) -> None:
    first = timed("23:50", "23:52", "23:55", "23:57", "00:03", "00:05")
    # The second tanker comes after midnight only, but its rows stand first.
    second = [line.replace("T-1", "T-2") for line in timed("00:01", "00:02", "00:04")]
    log = read_drill_log(log_file(tmp_path, *second, *first), KNOWN)
    own = log.events.groupby("unit_id")["at_min"].agg(list)
    assert own["T-1"] == [0, 2, 5, 7, 13, 15]
    assert own["T-2"] == [11, 12, 14]


def test_minutes_and_si_units(tmp_path: Path) -> None:
    head = HEAD.replace("load_gal", "load_l").replace("leg_miles", "leg_km")
    path = log_file(
        tmp_path, "T-1,end_dump,3.5,,3785.411784,", "T-1,leave_dump,4,,,",
        "T-1,arrive_fill,9,,,1.609344", head=head,
    )  # fmt: skip
    events = read_drill_log(path, None).events
    assert events["at_min"].tolist() == [0, 0.5, 5.5]
    assert events["load_gal"].iloc[0] == pytest.approx(1000)
    assert events["leg_miles"].iloc[2] == pytest.approx(1)


def test_every_fault_is_named_at_once(tmp_path: Path) -> None:
    path = log_file(
        tmp_path,
        "T-1,arrive_dump,10:00,,,",
        "T-1,start_dump,9:58,,,",  # back in time
        "T-1,end_dump,10:03,,-5,",  # no load
        "T-2,arrive_fill,10:05,DH-1,,",
        "T-2,end_fill,10:09,DH-1,,",  # the start is missing
        "E-1,arrive_dump,10:04,,,",  # an engine
        "T-3,arrive_dump,10:04,,,",  # a slip of the pen
        "T-2,leave_fill,12.5,DH-1,,",  # another way of writing time
        "T-2,arrive_dump,10.20 h,,,",
        "T-2,parked,10:30,DH-9,,",
    )
    said = faults(path, KNOWN)
    assert len(said) == 9
    text = "\n".join(said)
    for words in (
        "T-1 (line 3): time = 9:58 is before its arrive_dump at 10:00 (line 2)",
        "T-1 (line 4): load_gal = -5 must be greater than 0 gal",
        (
            "T-2 (line 6): event = end_fill cannot follow its arrive_fill at 10:05 (line 5), after"
            " which comes start_fill. Add the rows that are missing"
        ),
        "E-1 (line 7): unit_id = E-1 is an engine of the district",
        "T-3 (line 8): unit_id = T-3 is not in the district. Did you mean 'T-2'?",
        "T-2 (line 9): time = 12.5 is not written as the first one, 10:00",
        "T-2 (line 10): time = 10.20 h is no time. Write 14:05, 14:05:30 or minutes.",
        "T-2 (line 11): event = parked is not a word of this column. Use one of: arrive_dump",
        "T-2 (line 11): site_id = DH-9 is not in the district. Did you mean 'DH-1'?",
    ):
        assert words in text, text


def test_water_that_runs_no_time(tmp_path: Path) -> None:
    said = faults(log_file(tmp_path, *timed("10:00", "10:02", "10:02", "10:03")))
    assert len(said) == 1
    assert "is the same as its start_dump at 10:02 (line 3). Write the seconds too" in said[0]


def test_an_event_written_twice(tmp_path: Path) -> None:
    said = faults(log_file(tmp_path, *timed("10:00"), *timed("10:00")))
    assert len(said) == 1
    assert "cannot follow its arrive_dump" in said[0]


def test_a_log_kept_at_the_fill_site_alone(tmp_path: Path) -> None:
    one = ("arrive_fill", "start_fill", "end_fill", "leave_fill")
    lines = [f"T-1,{event},{at},,," for at, event in enumerate((*one, *one))]
    assert len(read_drill_log(log_file(tmp_path, *lines), None).events) == 8


def test_columns_that_are_missing(tmp_path: Path) -> None:
    said = faults(log_file(tmp_path, "T-1,10:00", head="unit_id,time\n"))
    assert said == [
        (
            "drill log: column 'event' is missing. Add it: what it does: it stops, water runs,"
            " water stops, it rolls."
        )
    ]


def test_a_file_of_another_kind(tmp_path: Path) -> None:
    path = tmp_path / "log.md"
    path.write_text("# Drill\n", encoding="utf-8")
    (fault,) = faults(path)
    assert fault.startswith("drill log: log.md is of a kind that is not read here. Save it as one")
    assert ".csv, .xlsx, " in fault


def test_a_header_nearly_right_is_no_matter_of_the_district_s_file(tmp_path: Path) -> None:
    (fault,) = faults(log_file(tmp_path, "T-1,10:00,end_fill", head="unit_idd,time,event\n"))
    assert fault.endswith("Did you mean 'unit_id'? Rename it, or delete it.")


def test_no_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_drill_log(tmp_path / "none.csv", None)
