"""What a drill says, followed by hand and by loops that are played with known times."""

import math
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from crosscheck.logs import Times, log_file, played
from haulshed.crosscheck.calibrate import Drill, calibrate
from haulshed.crosscheck.drill_flow import REST
from haulshed.crosscheck.drill_visits import visits_of
from haulshed.crosscheck.interval import Mean, mean_of
from haulshed.errors import TableError
from haulshed.inputs.drill_log import read_drill_log
from haulshed.scenario import Operation, Scenario


def drill_of(folder: Path, *lines: str, scenario: Scenario | None = None) -> Drill:
    return calibrate(
        read_drill_log(log_file(folder, *lines), None), scenario=scenario or Scenario()
    )


def measured(drill: Drill, what: str, of: str = "") -> Mean:
    return next(row.measured for row in drill.rows if (row.what, row.of) == (what, of))


def test_one_round_by_hand(tmp_path: Path) -> None:
    drill = drill_of(
        tmp_path,
        "T-1,arrive_dump,0,,,",
        "T-1,start_dump,1,,,",
        "T-1,end_dump,3,,1800,",
        "T-1,leave_dump,3.5,,,",
        "T-1,arrive_fill,7.5,,,2",
        "T-1,start_fill,9.5,,,",
        "T-1,end_fill,11.5,,2000,",
        "T-1,leave_fill,12.5,,,",
        "T-1,arrive_dump,18,,,2",
    )
    assert measured(drill, "handling at the dump site").mean == pytest.approx(1.5)  # 3.5 - 2
    assert measured(drill, "handling at the fill site").mean == pytest.approx(3)  # 5 - 2
    assert measured(drill, "fill rate").mean == pytest.approx(1000)  # 2,000 gal in 2 min
    assert measured(drill, "dump rate").mean == pytest.approx(900)  # 1,800 gal in 2 min
    assert measured(drill, "loaded leg").mean == pytest.approx(5.5)
    assert measured(drill, "empty leg, average speed").mean == pytest.approx(30)  # 2 mi in 4 min
    assert drill.min_per_mile == pytest.approx((4 + 5.5 - 2 * 0.65) / 4)
    assert drill.flow is not None
    assert drill.flow.held_gpm == pytest.approx(100)  # 1,800 gal in 18 min
    assert drill.flow.measured_gpm == pytest.approx(100)
    assert (drill.loads, drill.flow.rounds) == (1, 1)
    # Assumed: handling 2.5 and 1.5 min and T = 0.65 + 1.7 × 2 = 4.05 min a leg:
    # 1,800 / (2.5 + 2 + 1.5 + 2 + 4.05 + 4.05) = 1,800 / 16.1.
    assert drill.flow.assumed_gpm == pytest.approx(1800 / 16.1)
    changes = {term.what: term.change_gpm for term in drill.flow.terms}
    assert changes["handling at the fill site"] == pytest.approx(1800 / 16.6 - 1800 / 16.1)
    assert changes["loaded leg"] == pytest.approx(1800 / 18.05 - 1800 / 16.6)
    assert changes["empty leg"] == pytest.approx(1800 / 18 - 1800 / 18.05)
    assert changes[REST] == pytest.approx(0, abs=1e-9)


def test_who_waits_is_not_handling(tmp_path: Path) -> None:
    # Two tankers at one fill position: the second stands behind the first from 1 to 5.
    one = ("arrive_fill,0", "start_fill,1", "end_fill,3", "leave_fill,5")
    two = ("arrive_fill,1", "start_fill,7", "end_fill,9", "leave_fill,10")
    lines = [f"T-1,{event},,1000," for event in one] + [f"T-2,{event},,1000," for event in two]
    log = read_drill_log(log_file(tmp_path, *lines), None)
    visits = visits_of(log, {}).set_index("unit_id")
    assert visits["waiting_min"].tolist() == [0, 4]
    assert visits["handling_min"].tolist() == [3, 3]
    # With two positions nobody stands behind anybody.
    visits = visits_of(log, {"the fill site": 2}).set_index("unit_id")
    assert visits["waiting_min"].tolist() == [0, 0]
    assert visits["handling_min"].tolist() == [3, 7]


times = st.builds(
    Times,
    fill_handling=st.floats(0.5, 6),
    filling=st.floats(0.5, 5),
    dump_handling=st.floats(0.5, 4),
    dumping=st.floats(0.5, 4),
    loaded=st.floats(1, 15),
    empty=st.floats(1, 15),
    fill_positions=st.integers(1, 2),
    dump_positions=st.integers(1, 2),
)


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(times=times, units=st.integers(1, 5))
def test_a_played_loop_gives_its_own_times_back(tmp_path: Path, times: Times, units: int) -> None:
    drill = drill_of(tmp_path, *played(units, 6, times))
    flow = drill.flow
    assert flow is not None
    # Queues at the one place hide that others held a position before the water: waiting is told
    # from handling by the most that were served at once, which a short drill may not show.
    if drill.waiting_fill.mean < 1e-9 and drill.waiting_dump.mean < 1e-9:
        assert measured(drill, "handling at the fill site").mean == pytest.approx(
            times.fill_handling
        )
        assert measured(drill, "handling at the dump site").mean == pytest.approx(
            times.dump_handling
        )
    assert measured(drill, "fill rate").mean == pytest.approx(times.load_gal / times.filling)
    assert measured(drill, "dump rate").mean == pytest.approx(times.load_gal / times.dumping)
    assert measured(drill, "loaded leg").mean == pytest.approx(times.loaded)
    assert measured(drill, "empty leg").mean == pytest.approx(times.empty)
    total = flow.assumed_gpm + math.fsum(term.change_gpm for term in flow.terms)
    assert total == pytest.approx(flow.held_gpm, abs=1e-6)
    assert flow.uneven_gpm <= flow.measured_gpm * (1 + 1e-9)


def test_a_loop_that_queues_to_fill(tmp_path: Path) -> None:
    # Five tankers, one position: 5 min each at the fill site bound the loop to 1,800 / 5 = 360 gpm.
    times = Times(loaded=3, empty=3, dump_positions=2)
    drill = drill_of(tmp_path, *played(5, 30, times))
    assert drill.flow is not None
    assert measured(drill, "handling at the fill site").mean == pytest.approx(3)
    assert drill.waiting_fill.mean > 5
    assert drill.flow.measured_gpm == pytest.approx(360)
    assert drill.flow.held_gpm == pytest.approx(360, rel=0.02)


def test_assuming_what_is_true_leaves_nothing_to_explain(tmp_path: Path) -> None:
    times = Times(filling=1.8, loaded=8, empty=8, fill_positions=2, dump_positions=2)
    right = Operation(fill_handling_min=3, dump_handling_min=2)
    lines = played(2, 5, times)
    drill = drill_of(tmp_path, *lines, scenario=Scenario(operation=right))
    assert drill.flow is not None
    assert [term.change_gpm for term in drill.flow.terms] == pytest.approx([0] * 8, abs=1e-6)


def test_a_load_that_nobody_knows(tmp_path: Path) -> None:
    with pytest.raises(TableError, match="load_gal is in no row of this unit"):
        drill_of(tmp_path, "T-1,arrive_dump,0,,,", "T-1,start_dump,1,,,")


def test_a_log_of_one_place_measures_and_explains_no_flow(tmp_path: Path) -> None:
    lines = [line for line in played(2, 3, Times()) if "_fill" in line]
    drill = drill_of(tmp_path, *lines)
    assert drill.flow is None
    assert measured(drill, "handling at the fill site").mean == pytest.approx(3)
    assert {row.what for row in drill.rows} == {"handling at the fill site", "fill rate"}


def test_who_made_no_whole_round_is_not_in_the_flow(tmp_path: Path) -> None:
    late = ("T-9,arrive_dump,90,,,", "T-9,start_dump,91,,,", "T-9,end_dump,92,,2500,")
    drill = drill_of(tmp_path, *played(2, 4, Times()), *late)
    assert drill.flow is not None
    assert drill.units == ("T-0", "T-1", "T-9")
    assert drill.flow.units == ("T-0", "T-1")


def test_one_value_has_no_interval() -> None:
    one = mean_of([3.0, math.nan])
    assert (one.count, one.mean, one.few) == (1, 3.0, True)
    assert math.isnan(one.low)
    assert math.isnan(mean_of([]).mean)


def test_students_interval_of_a_handbook() -> None:
    # Student's t, 9 degrees of freedom, 95 %: 2.262 (any table). Darwin's maize is the classic set
    # for it; here plain numbers 1 to 10: mean 5.5, s 3.0277, half 2.262 × 3.0277 / √10 = 2.166.
    ten = mean_of(range(1, 11))
    assert (ten.low, ten.high) == pytest.approx((5.5 - 2.166, 5.5 + 2.166), abs=1e-3)
