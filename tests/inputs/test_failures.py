"""Units and sites that fail in a scenario must be there."""

from collections.abc import Callable
from pathlib import Path

import pytest

from haulshed.errors import TableError
from haulshed.inputs.district import read_district
from inputs.test_closures import BASE

Write = Callable[..., Path]


def test_every_stranger_is_named_with_a_near_one(tiny_district: Write) -> None:
    toml = f"""{BASE}
[scenario.bad.failures]
dump_valve_fails = ["T-9"]
breaks_down_min = {{ "E-1" = 30 }}
site_closes_min = {{ "H-9" = 0, "H-1" = 10 }}
engine_late_min = {{ "E-1" = 5 }}
"""
    folder = tiny_district(district_toml=toml)
    read_district(folder, progress=lambda *_: None)
    with pytest.raises(TableError) as caught:
        read_district(folder, scenario="bad", progress=lambda *_: None)
    faults = {(fault.column, fault.value): fault for fault in caught.value.faults}
    assert set(faults) == {
        ("dump_valve_fails", "T-9"),
        ("breaks_down_min", "E-1"),
        ("site_closes_min", "H-9"),
    }
    assert faults["dump_valve_fails", "T-9"].rule == "is no tanker of the district"
    assert "Did you mean 'T-" in faults["dump_valve_fails", "T-9"].cure
    assert faults["site_closes_min", "H-9"].cure == "Did you mean 'H-1'?"
    assert {fault.row for fault in faults.values()} == {"[scenario.bad.failures]"}


def test_a_fault_names_the_section_in_which_it_is_written(tiny_district: Write) -> None:
    toml = f"""{BASE}
[failures]
dump_valve_fails = ["T-8"]
site_closes_min = {{ "H-8" = 1 }}
[scenario.bad.failures]
site_closes_min = {{ "H-9" = 0 }}
"""
    folder = tiny_district(district_toml=toml)
    with pytest.raises(TableError) as caught:
        read_district(folder, scenario="bad", progress=lambda *_: None)
    assert {fault.value: fault.row for fault in caught.value.faults} == {
        "T-8": "[failures]",
        "H-8": "[failures]",
        "H-9": "[scenario.bad.failures]",
    }


def test_a_minute_must_be_one(tiny_district: Write) -> None:
    toml = f"{BASE}[failures]\nengine_late_min = {{ 'E-1' = -5 }}\n"
    folder = tiny_district(district_toml=toml)
    with pytest.raises(TableError, match="must be at least 0"):
        read_district(folder, progress=lambda *_: None)
