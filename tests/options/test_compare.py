"""Before and after on a road of which every leg can be worked out on paper."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from by_hand import engine, hydrant, inputs, parcel, road_point, station, tanker
from haulshed.case import CAUTION, Inputs
from haulshed.cli import main
from haulshed.options.compare import compare
from haulshed.options.cost import Cost
from haulshed.options.option import KINDS, Option
from haulshed.scenario import DemandRules, Scenario
from haulshed.units import System


def quiet(step: str, done: int = 0, of: int = 0) -> None: ...


@pytest.fixture
def district() -> Inputs:
    """Two tankers nurse 168 gpm at one mile (README); the parcels need 300."""
    return inputs(
        sites=[hydrant("H1", 1.0)],
        stations=[station()],
        apparatus=[tanker(1), tanker(2), engine(1)],
        parcels=[
            parcel(people=4.0, value=90_000.0, structures=2),
            parcel(parcel_id="P2", geometry=road_point(0.0, 25.0)),
        ],
        scenario=Scenario(demand=DemandRules(method="fixed", fixed_gpm=300)),
    )


def with_tanker() -> Option:
    row = {**tanker(3), "unit_id": "T3"}
    return Option(
        name="third",
        title="A third tanker",
        changes=(KINDS["add unit"].model_validate({"do": "add unit", "row": row}),),
        costs=(Cost(capital=200_000, yearly=1_000, life_years=20),),
    )


def test_a_third_tanker_lifts_both_parcels_and_the_figures_say_so(district: Inputs) -> None:
    made = compare(district, [with_tanker()], discount_rate=0.04, progress=quiet)
    (way,) = made.ways
    # 1,800 / 10.73 = 167.8 gpm with two tankers, twice that with three (README, by hand); the
    # handling at the dump is the scenario's own.
    assert way.table["before_gpm"].tolist() == pytest.approx([167.8, 167.8], abs=0.2)
    assert way.table["after_gpm"].tolist() == pytest.approx([335.5, 335.5], abs=0.4)
    assert way.table["lifted"].all()
    figures = way.figures
    assert (figures.lifted.parcels, figures.lifted.structures) == (2, 3)
    assert (figures.lifted.people, figures.lifted.value) == (4.0, 90_000.0)
    assert figures.lifted.value_not_known == 1
    assert figures.moves == {"short": {"nurse": 2}}
    assert figures.capital_per_parcel == 100_000
    # (A/P, 4 %, 20) = 0.0736, interest tables (from memory)
    assert figures.cost_a_year == pytest.approx(200_000 * 0.0736 + 1_000, abs=20)
    assert figures.short_removed_gpm == pytest.approx(2 * (300 - 167.8), abs=0.4)
    assert figures.limits_of_the_rest == {}


def test_what_is_lost_is_told(district: Inputs) -> None:
    retire = Option(
        name="less",
        title="less",
        changes=(KINDS["retire unit"].model_validate({"do": "retire unit", "unit_id": "T3"}),),
    )
    richer = with_tanker().applied(district)
    (way,) = compare(richer, [retire], discount_rate=0.04, progress=quiet).ways
    assert way.table["lost"].all()
    assert way.figures.lost.parcels == 2
    assert way.figures.capital_per_parcel is None


def test_a_site_off_the_road_is_said_to_be_of_no_use(district: Inputs) -> None:
    row = {"site_id": "FAR", "kind": "hydrant", "lat": 40.8, "lon": -94.0, "flow_gpm": 900}
    far = Option(
        name="far",
        title="far",
        changes=(KINDS["add fill site"].model_validate({"do": "add fill site", "row": row}),),
    )
    (way,) = compare(district, [far], discount_rate=0.04, progress=quiet).ways
    assert way.figures.notes == ("FAR: off the road, so it changes nothing",)
    assert not way.table["lifted"].any()


OPTIONS = """\
[option.second_pond]
capital = 12_000
[[option.second_pond.change]]
do = "add fill site"
[option.second_pond.change.row]
site_id = "D-2"
kind = "pond"
lat = 45.0001
lon = -100.02
flow_gpm = 700
usable_gal = 90_000

[option.engine]
capital = 90_000
[[option.engine.change]]
do = "add unit"
row = { unit_id = "E-2", station_id = "S-1", kind = "engine", pump_gpm = 1000 }
"""


def test_the_command_writes_everything_with_the_caution(
    tiny_district: Callable[..., Path], tmp_path: Path
) -> None:
    folder = tiny_district()
    (folder / "options.toml").write_text(OPTIONS, encoding="utf-8")
    out = tmp_path / "out"
    asked = ["compare", str(folder), "--option", "engine", "--option", "engine+second_pond"]
    done = CliRunner().invoke(main, [*asked, "--out", str(out)])
    assert done.exit_code == 0, done.output
    assert {path.name for path in out.iterdir()} == {
        "compare.csv",
        "compare.gpkg",
        "map.html",
        "run.json",
        "summary.json",
        "verdicts.svg",
    }
    assert "Costs 102,000 once" in done.output
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    assert [one["option"] for one in summary["options"]] == ["engine", "engine+second_pond"]
    assert summary["caution"] == CAUTION
    record = json.loads((out / "run.json").read_text(encoding="utf-8"))
    assert "options.toml" in record["input_sha256"]
    first_words = CAUTION.split(".")[0]
    for name in ("map.html", "verdicts.svg"):
        assert first_words in (out / name).read_text(encoding="utf-8")
    rows = (out / "compare.csv").read_text(encoding="utf-8").splitlines()
    assert len(rows) == 1 + 2 * 3


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[option.a]\ncapital = -1\nchange = []\n", "capital"),
        ("[option.a]\nchange = [{ do = 'buy tanker' }]\n", "names no change"),
        ("[option.a]\nchange = [{ do = 'add unti' }]\n", "Did you mean 'add unit'"),
        ("[option.a]\nchange = [{ do = 'retire unit' }]\n", "unit_id"),
        ("[option.a]\nchange = [{ do = 'retire unit', unit_id = 'T-3' }]\n", "Did you mean 'T-"),
        (
            "[option.a]\nchange = [{ do = 'set scenario', set = { operation = { alram = 2 } } }]\n",
            "Did you mean 'alarm'",
        ),
        ("[option.'a b']\nchange = [{ do = 'retire unit', unit_id = 'T-1' }]\n", "cannot be typed"),
        ("discount = 1\n", "discount"),
        ("[option.a\n", "not TOML"),
    ],
)
def test_a_faulty_options_file_says_what_to_mend(
    tiny_district: Callable[..., Path], text: str, said: str
) -> None:
    folder = tiny_district()
    (folder / "options.toml").write_text(text, encoding="utf-8")
    done = CliRunner().invoke(main, ["compare", str(folder)])
    assert done.exit_code == 1
    assert said in done.stderr
    assert not (folder / "compare").exists()


def test_contradictory_options_are_refused(tiny_district: Callable[..., Path]) -> None:
    folder = tiny_district()
    more = "[option.none]\nchange = [{ do = 'retire unit', unit_id = 'E-2' }]\n"
    base = "[option.away]\nchange = [{ do = 'retire unit', unit_id = 'T-1' }]\n"
    valve = "do = 'change unit', unit_id = 'T-1', set = { dump_gpm = 900 }"
    other = f"[option.valve]\nchange = [{{ {valve} }}]\n"
    (folder / "options.toml").write_text(base + other, encoding="utf-8")
    done = CliRunner().invoke(main, ["compare", str(folder), "--option", "away+valve"])
    assert done.exit_code == 1
    assert "'away' and 'valve' contradict each other" in done.stderr
    (folder / "options.toml").write_text(base + more, encoding="utf-8")
    done = CliRunner().invoke(main, ["compare", str(folder)])
    assert done.exit_code == 1
    assert "E-2" in done.stderr


def test_units_of_the_files_follow_the_user(
    tiny_district: Callable[..., Path], tmp_path: Path
) -> None:
    folder = tiny_district()
    (folder / "options.toml").write_text(OPTIONS, encoding="utf-8")
    asked = ["compare", str(folder), "--option", "engine", "--units", System.SI.value]
    done = CliRunner().invoke(main, [*asked, "--out", str(tmp_path / "out")])
    assert done.exit_code == 0, done.output
    head = (tmp_path / "out" / "compare.csv").read_text(encoding="utf-8").splitlines()[0]
    assert "gain_lpm" in head
    assert "gpm" not in head
