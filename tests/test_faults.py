"""What is said of each thing that can be wrong in a district's files."""

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from haulshed.errors import FAULTS_SHOWN, CrsError, Fault, HaulshedError, InputError, TableError
from haulshed.inputs.district import District, read_district

Write = Callable[..., Path]

CASES = tomllib.loads(Path(__file__).with_name("faults.toml").read_text(encoding="utf-8"))["case"]


def read(folder: Path) -> District:
    return read_district(folder, progress=lambda _step: None)


def faults_of(folder: Path) -> tuple[Fault, ...]:
    with pytest.raises(TableError) as caught:
        read(folder)
    return caught.value.faults


@pytest.mark.parametrize("case", CASES, ids=[case["says"][0][:70] for case in CASES])
def test_each_slip_is_named_with_its_place_rule_and_cure(
    case: dict[str, object], tiny_district: Write
) -> None:
    folder = tiny_district()
    file = folder / str(case["file"])
    text = file.read_text(encoding="utf-8")
    if "old" in case:
        assert str(case["old"]) in text
        text = text.replace(str(case["old"]), str(case["new"]), 1)
    else:
        text = text.split("\n")[0]
    file.write_text(text, encoding="utf-8")
    said = [str(fault) for fault in faults_of(folder)]
    assert isinstance(case["says"], list)
    assert len(said) == len(case["says"])
    assert all(map(str.startswith, said, case["says"])), said


def test_a_fault_keeps_its_parts_apart(tiny_district: Write) -> None:
    folder = tiny_district(stations_csv="station_id,lat,lon,turnout_s\nS-1,45,-100,9000\n")
    assert faults_of(folder) == (
        Fault(
            table="stations",
            row="S-1",
            column="turnout_s",
            value="9000",
            rule="must be at most 120 min",
            cure="Check it: from dispatch to rolling.",
        ),
    )


def test_all_faults_of_all_tables_come_at_once_in_file_order(tiny_district: Write) -> None:
    folder = tiny_district(
        parcels_csv="parcel_id,lat,lon,stories\nP-1,45.001,-100.03,many\nP-1,45.02,,2\n",
        fill_sites_csv="site_id,kind,lat,lon,flow_gpm\nH-1,well,45.0001,-99.97,-4\n",
        stations_csv=b"station_id,name,lat,lon\nS-1,Caf\xe9,45.0002,-100.0002\n",
    )
    faults = faults_of(folder)
    assert str(faults[0]).endswith("is not UTF-8. Save it as UTF-8 (in a spreadsheet: CSV UTF-8).")
    said = [(fault.table, fault.row, fault.column) for fault in faults]
    assert said == [
        ("stations", "", ""),
        ("parcels", "P-1 (line 2)", "stories"),
        ("parcels", "P-1 (line 2)", "parcel_id"),
        ("parcels", "P-1 (line 3)", "parcel_id"),
        ("parcels", "P-1 (line 3)", "lon"),
        ("fill_sites", "H-1", "kind"),
        ("fill_sites", "H-1", "flow_gpm"),
    ]


def test_all_faults_of_the_settings_come_at_once(tiny_district: Write) -> None:
    folder = tiny_district(district_toml="[district]\nunits = 1\n[roads]\nmax_mph = 0\nfast = 1\n")
    said = [(fault.row, fault.column) for fault in faults_of(folder)]
    assert said == [
        ("[roads]", "max_mph"),
        ("[roads]", "fast"),
        ("[district]", "units"),
        ("", "[parcels]"),
        ("", "[fill_sites]"),
        ("", "[stations]"),
        ("", "[apparatus]"),
    ]


def test_ten_faults_are_printed_and_all_are_counted_and_kept(tiny_district: Write) -> None:
    rows = "".join(f"P-{at},45.001,-100.03,x\n" for at in range(37))
    folder = tiny_district(parcels_csv="parcel_id,lat,lon,stories\n" + rows)
    with pytest.raises(TableError) as caught:
        read(folder)
    lines = str(caught.value).split("\n")
    assert len(caught.value.faults) == 37
    assert len(lines) == FAULTS_SHOWN + 1
    assert lines[-1] == "… and 27 more of 37 faults (all of them: --json)"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"station_id,name\nS-1,\xe9\n", "byte 0xE9 at position 20 (line 2) is not UTF-8"),
        (b"\xef\xbb\xbfa\n\xe9\n", "byte 0xE9 at position 5 (line 2) is not UTF-8"),
        ("station_id\nS-1\n".encode("utf-16"), "is UTF-16, not UTF-8. Save it as UTF-8"),
        ("station_id\nS-1\n".encode("utf-32"), "is UTF-32, not UTF-8. Save it as UTF-8"),
        (b"station_id,name\nS\x001,a\n", "line contains NUL"),
    ],
)
def test_bytes_that_are_no_utf8_text(content: bytes, says: str, tiny_district: Write) -> None:
    with pytest.raises(InputError) as caught:
        read(tiny_district(stations_csv=content))
    assert says in str(caught.value) or "control character" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[district\n", "(at line 1, column 10)"),
        ("a = 1\na = 2\n", "Cannot overwrite a value (at line 2"),
        ("a = " + "[" * 5000, "is not TOML"),
        ("a = " + "9" * 5000, "is not TOML"),
    ],
)
def test_settings_that_are_no_toml_name_the_line(
    text: str, says: str, tiny_district: Write
) -> None:
    with pytest.raises(InputError) as caught:
        read(tiny_district(district_toml=text))
    assert says in str(caught.value)


def test_a_folder_without_settings_says_what_is_looked_for(tmp_path: Path) -> None:
    with pytest.raises(
        InputError, match=r"There is no .* Name a folder that holds a district\.toml"
    ):
        read(tmp_path / "nowhere")


def test_an_unknown_scenario_lists_the_known_ones(tiny_district: Write) -> None:
    with pytest.raises(InputError, match=r"'wnter'.*Did you mean 'winter'\? Known: base, winter\."):
        read_district(tiny_district(), scenario="wnter", progress=lambda _step: None)


def test_every_error_is_one_that_the_commands_catch() -> None:
    assert issubclass(TableError, InputError)
    assert issubclass(CrsError, InputError)
    assert issubclass(InputError, HaulshedError)
