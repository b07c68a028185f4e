"""`check` looks at what every scenario names, and shows every fault or how to see the rest."""

import json
from collections.abc import Callable
from pathlib import Path

from click.testing import CliRunner, Result

from haulshed.cli import main
from inputs.test_closures import BASE

Write = Callable[..., Path]

SCENARIOS = """
[scenario.bad.failures]
breaks_down_min = { "T-99" = 45 }
site_closes_min = { "H-99" = 5 }
[scenario.flood.roads]
closed_ways = [99]
closed_area = "nowhere.geojson"
[scenario.good.failures]
breaks_down_min = { "T-1" = 45 }
[scenario.good.roads]
closed_ways = [11]
"""


def haulshed(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def test_what_other_scenarios_name_must_be_there(tiny_district: Write) -> None:
    done = haulshed("check", tiny_district(district_toml=BASE + SCENARIOS), "--json")
    assert done.exit_code == 1
    wrong = json.loads(done.stdout)["answer"]["wrong"]
    assert {(one["row"], one["column"], one["value"]) for one in wrong} == {
        ("[scenario.bad.failures]", "breaks_down_min", "T-99"),
        ("[scenario.bad.failures]", "site_closes_min", "H-99"),
        ("[scenario.flood.roads]", "closed_ways", "99"),
        ("[scenario.flood.roads]", "closed_area", "nowhere.geojson"),
    }


def test_a_fault_of_all_scenarios_is_told_once(tiny_district: Write) -> None:
    toml = f"{BASE}[failures]\nbreaks_down_min = {{ 'T-98' = 45 }}\n{SCENARIOS}"
    done = haulshed("check", tiny_district(district_toml=toml), "--json")
    assert done.exit_code == 1
    assert done.stdout.count("T-98") == 1


def test_a_unit_whose_row_is_at_fault_is_not_missed_by_a_scenario(tiny_district: Write) -> None:
    folder = tiny_district(district_toml=BASE + SCENARIOS)
    apparatus = (folder / "apparatus.csv").read_text(encoding="utf-8")
    (folder / "apparatus.csv").write_text(apparatus.replace(",2000,", ",many,"), encoding="utf-8")
    wrong = json.loads(haulshed("check", folder, "--json").stdout)["answer"]["wrong"]
    assert [one["value"] for one in wrong if one["table"] == "apparatus"] == ["many"]
    assert not [one for one in wrong if one["value"] == "T-1"]


def test_every_fault_is_shown_or_it_is_said_how_to_see_it(tiny_district: Write) -> None:
    def checked(many: int) -> str:
        rows = "".join(f"P-{at},45.001,-100.03,x\n" for at in range(many))
        folder = tiny_district(parcels_csv="parcel_id,lat,lon,stories\n" + rows)
        return haulshed("check", folder).stdout

    assert [f"P-{at}:" in checked(9) for at in (0, 8)] == [True, True]
    told = checked(60)
    assert "WRONG, must be mended: 60, of which the first 50 (all of them: --json)" in told
    assert "P-49:" in told
    assert "P-50:" not in told


def test_a_table_in_the_place_of_the_district_is_named(tiny_district: Write) -> None:
    folder = tiny_district()
    done = haulshed("run", folder / "fill_sites.csv")
    assert done.exit_code == 1
    assert "fill_sites.csv is no district.toml. Name a folder that holds one" in done.stderr


def test_a_coordinate_system_is_the_district_s_fault_and_not_the_roads_(
    tiny_district: Write,
) -> None:
    toml = BASE.replace('name = "Tiny"', 'crs = "EPSG:4326"')
    done = haulshed("check", tiny_district(district_toml=toml))
    assert done.stderr.startswith("haulshed: district.toml: [district]: crs = EPSG:4326 (WGS 84)")


def test_a_map_that_is_not_there_is_said_to_be_missing(tmp_path: Path) -> None:
    done = haulshed("new", tmp_path / "here", "--roads", tmp_path / "nofile.pbf")
    assert done.exit_code == 1
    assert "There is no file" in done.stderr
