"""The head of a sheet says *held* where clock and draws do, and nowhere else."""

from dataclasses import replace

import pytest
import shapely

from haulshed.assess.sheets import Played, Sheet
from haulshed.clock.story import Gap
from haulshed.outputs.sheet.headline import headline, why
from haulshed.outputs.wording import Wording
from haulshed.tables.answers import LimitedBy, Verdict
from haulshed.units import System

US = Wording(system=System.US)
GAPS = (
    Gap(from_min=30.0, to_min=33.0, short_gal=900.0),
    Gap(from_min=60.0, to_min=61.0, short_gal=300.0),
)


def sheet(verdict: Verdict, *, gaps: tuple[Gap, ...] = (), **changes: object) -> Sheet:
    """Return a sheet of a property that needs 500 gpm and has 531.8 on paper."""
    row = {
        "verdict": verdict.value,
        "needed_gpm": 500.0,
        "sustained_gpm": 531.8,
        "test_min": 120.0,
        "hose_site_id": "HY-2",
        "hose_site_ft": 796.0,
        "hose_gpm": 1100.0,
        "limited_by": LimitedBy.TANKERS.value,
        "tight": False,
        "held_90_gpm": 366.6,
        "held_share": 0.12,
    }
    return Sheet(
        parcel_id="P-1",
        answer=row | changes,
        judged_gpm=531.8,
        planned_min=120.0,
        shape=shapely.Point(0, 0),
        structure=shapely.Point(0, 0),
        access=None,
        sites=(),
        tankers=(),
        engines=(),
        hose=(),
        dump=None,
        played=Played(
            asked_gpm=500.0,
            first_water_min=12.0,
            nurse_min=None,
            dump_site_min=None,
            held_from_min=80.1,
            overhaul_min=143.0,
            gaps=gaps,
            short_gal=1200.0 if gaps else 0.0,
            own_tank_empty_min=None,
            dry=(),
        ),
    )


def not_held(one: Sheet) -> Sheet:
    return replace(one, played=replace(one.played, held_from_min=None))


def test_held_without_a_gap() -> None:
    assert headline(sheet(Verdict.DUMP_SITE), US) == (
        "500 gpm needed. Hauled water: a dump site, 525 gpm on paper; by the clock it is held from"
        " minute 81 on. 9 incidents in 10 give 350 gpm."
    )


def test_held_after_gaps_names_them() -> None:
    assert headline(sheet(Verdict.NURSE, gaps=GAPS), US) == (
        "500 gpm needed. Hauled water: nursing, 525 gpm on paper; by the clock it is held from"
        " minute 81 only: before, 2 gaps, 1,200 gal missing. 9 incidents in 10 give 350 gpm."
    )


@pytest.mark.parametrize("verdict", [Verdict.NURSE, Verdict.DUMP_SITE, Verdict.SHORT])
def test_what_the_clock_does_not_hold_is_not_called_held(verdict: Verdict) -> None:
    told = headline(not_held(sheet(verdict, gaps=GAPS)), US)
    assert "; by the clock it is NOT held: 2 gaps, 1,200 gal missing." in told
    assert "held" not in told.replace("NOT held", "")


def test_what_is_short_is_not_called_held_though_loads_brought_along_hide_it() -> None:
    told = headline(sheet(Verdict.SHORT), US)
    assert told == (
        "500 gpm needed. Hauled water: NOT enough, 525 gpm on paper. 9 incidents in 10 give 350"
        " gpm."
    )


def test_another_time_of_judging_is_named_with_its_flow() -> None:
    one = not_held(sheet(Verdict.NURSE, gaps=GAPS, test_min=30.0, sustained_gpm=490.5))
    assert headline(one, US).startswith(
        "500 gpm needed. Hauled water: nursing, 525 gpm on paper over 30 min; by the clock it is"
        " NOT held over 120 min: 2 gaps"
    )


def test_without_draws_the_sheet_says_so() -> None:
    one = sheet(Verdict.NURSE, held_90_gpm=None, held_share=None)
    assert headline(one, US).endswith("minute 81 on.")
    assert why(one).endswith("No incidents were drawn: what 9 in 10 give is not known.")
    assert why(sheet(Verdict.NURSE)).endswith("Need held in 12 % of the incidents drawn.")


def test_a_tenth_without_water_is_said() -> None:
    one = sheet(Verdict.NURSE, held_90_gpm=0.0)
    assert headline(one, US).endswith("More than 1 incident in 10 ends without hauled water.")


def test_a_hose_line_comes_before_what_hauling_would_do() -> None:
    assert headline(not_held(sheet(Verdict.HOSE_LINE, gaps=GAPS, test_min=30.0)), US) == (
        "Lay hose from HY-2, 796 ft by road: 1,100 gpm over 30 min, 500 gpm needed. Hauled water:"
        " 525 gpm on paper. 9 incidents in 10 give 350 gpm."
    )
    assert why(sheet(Verdict.HOSE_LINE)).startswith("Hauled water is held down by tankers")


def test_nothing_needed_and_nothing_hauled() -> None:
    idle = sheet(Verdict.NO_DEMAND, needed_gpm=None, test_min=None)
    assert headline(idle, US) == (
        "No structure known, nothing needed. Hauled water: 525 gpm on paper. 9 incidents in 10 give"
        " 350 gpm."
    )
    dry = sheet(Verdict.NONE, sustained_gpm=0.0, held_90_gpm=0.0)
    assert headline(dry, US) == "500 gpm needed. No hauled water."
