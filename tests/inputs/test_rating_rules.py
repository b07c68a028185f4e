"""Anybody's schedule is a file: what it may say, in which units, and what is said of its faults."""

from pathlib import Path

import pytest

from haulshed.errors import InputError, TableError
from haulshed.evidence.schedule import Status
from haulshed.inputs.rating_rules import read_rules

HEAD = """\
title = "Rural water"
body = "Bureau"
edition = "2026"
country = "Somewhere"
"""
FLOW = """\
[figures.{flow}]
value = {value}
source = "section 1"
status = "read"
[figures.duration_min]
value = 60
source = "section 1"
status = "{status}"
"""


def written(tmp_path: Path, text: str) -> str:
    file = tmp_path / "bureau.toml"
    file.write_text(text, encoding="utf-8")
    return str(file)


def flow(name: str = "flow_gpm", value: str = "250", status: str = "read") -> str:
    return HEAD + FLOW.format(flow=name, value=value, status=status)


def test_a_file_of_anybody_s(tmp_path: Path) -> None:
    schedule = read_rules(written(tmp_path, flow()))
    assert schedule.volume_gal == 15_000
    assert schedule.figures.duration_min.status is Status.READ
    assert schedule.limit("station_miles") is None


def test_a_flow_in_litres_a_minute(tmp_path: Path) -> None:
    """A US gallon is 3.785411784 L (NIST SP 811, appendix B)."""
    schedule = read_rules(written(tmp_path, flow("flow_lpm", "1000")))
    assert schedule.limit("flow_gpm") == pytest.approx(1000 / 3.785411784)
    assert schedule.figures.flow_gpm.given == "1,000 L/min"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (flow("flow"), "flow_gpm, flow_lpm"),
        (flow("flow_ft"), "flow_gpm, flow_lpm"),
        (flow("flw_gpm"), "Did you mean 'flow_gpm'"),
        (flow(value='"250"'), "must be a number"),
        (flow(value="-1"), "must be at least 0"),
        (flow(value="true"), "must be a number"),
        (flow(status="sure"), "'read'"),
        (HEAD, "is missing"),
        (flow().replace('source = "section 1"\n', ""), "source"),
        (flow() + '[[asks]]\nwhat = "x"\nsource = "s"\nstatus = "read"\ncolumn = "name"\n', "name"),
    ],
)
def test_faults_are_named_with_the_cure(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(TableError) as raised:
        read_rules(written(tmp_path, text))
    assert "bureau.toml" in str(raised.value)
    assert words in str(raised.value)


def test_every_fault_at_once(tmp_path: Path) -> None:
    text = flow(value="-1", status="sure").replace('title = "Rural water"\n', "")
    with pytest.raises(TableError) as raised:
        read_rules(written(tmp_path, text))
    assert {fault.column for fault in raised.value.faults} == {"[title]", "value", "status"}


def test_a_name_that_is_none_of_ours() -> None:
    with pytest.raises(InputError, match="Did you mean 'us_current'"):
        read_rules("us_curent")


def test_what_is_no_toml(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is not TOML"):
        read_rules(written(tmp_path, "title = "))
