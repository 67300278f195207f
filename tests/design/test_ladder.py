from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.design.ladder import chosen, stack
from steadyhead.records.ladder import Contribution, LadderInputs
from tests.printed import printed

BAR = 1e5
WORKED = pytest.mark.source(
    kind="own estimate", ref="design handbook 2.5, worked example with given tolerances; arithmetic by hand"
)


def worked_example(**changes: object) -> LadderInputs:
    rungs = LadderInputs(
        duty=4.0 * BAR,
        lockup=4.4 * BAR,
        highest_normal_adds=(Contribution("repeatability", 0.10 * BAR), Contribution("drift", 0.15 * BAR)),
        lowest_normal_takes=(),
        gap=0.15 * BAR,
        trip=5.1 * BAR,
        trip_tolerances=tolerances(gauge=0.10),
        overshoot=0.57 * BAR,
        normal_limit=5.94 * BAR,
        fault_limit=5.94 * BAR,
        alarm=4.8 * BAR,
        alarm_error=0.1 * BAR,
    )
    return replace(rungs, **changes)  # type: ignore[arg-type]


def tolerances(gauge: float) -> tuple[Contribution, ...]:
    return (
        Contribution("repeatability", 0.15 * BAR),
        Contribution("drift", 0.10 * BAR),
        Contribution("gauge", gauge * BAR),
    )


@WORKED
def test_highest_normal_starts_at_lockup_and_adds_no_rise_again():
    assert stack(worked_example()).highest_normal / BAR == printed("4.65")


@WORKED
def test_worst_case_window_of_the_worked_example_is_empty_by_three_hundredths():
    worst = stack(worked_example()).worst_case
    assert worst.lowest / BAR == printed("5.05")
    assert worst.highest is not None
    assert worst.highest / BAR == printed("5.02")
    assert worst.width is not None
    assert worst.width / BAR == printed("-0.03")
    assert worst.verdict == "empty"


@WORKED
def test_root_sum_square_window_of_the_worked_example_holds_the_trip():
    rss = stack(worked_example()).root_sum_square
    assert rss.tolerance_low / BAR == printed("0.18")
    assert rss.tolerance_up / BAR == printed("0.21")
    assert rss.lowest / BAR == printed("4.98")
    assert rss.highest is not None
    assert rss.highest / BAR == printed("5.16")
    assert rss.verdict == "open"
    assert rss.trip_inside is True


@WORKED
def test_edges_of_the_chosen_trip_are_those_of_the_worked_example():
    ladder = stack(worked_example())
    assert ladder.root_sum_square.trip_lower_edge is not None
    assert ladder.root_sum_square.trip_upper_edge is not None
    assert ladder.worst_case.trip_lower_edge is not None
    assert ladder.root_sum_square.trip_lower_edge / BAR == printed("4.89")
    assert ladder.root_sum_square.trip_upper_edge / BAR == printed("5.31")
    assert ladder.worst_case.trip_lower_edge / BAR == printed("4.75")


@WORKED
@pytest.mark.parametrize(
    ("changes", "lowest", "highest"),
    [
        pytest.param({"trip_tolerances": tolerances(gauge=0.04)}, "5.05", "5.08", id="better gauge"),
        pytest.param({"overshoot": 0.30 * BAR}, "5.05", "5.29", id="closing in 3 s"),
        pytest.param({"duty": 3.9 * BAR, "lockup": 4.3 * BAR}, "4.95", "5.02", id="duty 0.1 lower"),
    ],
)
def test_each_remedy_of_the_worked_example_opens_the_worst_case_window_alone(changes, lowest, highest):
    worst = stack(worked_example(**changes)).worst_case
    assert worst.lowest / BAR == printed(lowest)
    assert worst.highest is not None
    assert worst.highest / BAR == printed(highest)
    assert worst.verdict == "open"


@WORKED
def test_a_sudden_failure_of_the_worked_example_peaks_where_the_handbook_says():
    rss = stack(worked_example(overshoot=1.35 * BAR)).root_sum_square
    assert rss.peak is not None
    assert rss.peak / BAR == pytest.approx(6.45, abs=0.22)  # "near": trip and overshoot alone; edge adds 0.21


def test_without_a_fault_limit_the_window_is_not_known():
    ladder = stack(worked_example(fault_limit=None))
    assert ladder.worst_case.verdict == "not known"
    assert ladder.worst_case.highest is None
    assert ladder.worst_case.trip_inside is None


def test_without_a_shut_off_there_is_no_window():
    ladder = stack(worked_example(has_shut_off=False, trip=None))
    assert ladder.worst_case.verdict == ladder.root_sum_square.verdict == "no shut-off"
    assert ladder.worst_case.peak is None


def test_different_gauges_bring_the_gauge_back_into_the_low_side():
    same = stack(worked_example()).worst_case
    apart = stack(worked_example(gauge_offset_cancels=False)).worst_case
    assert apart.tolerance_low == pytest.approx(same.tolerance_low + 0.10 * BAR)
    assert apart.tolerance_up == same.tolerance_up


def test_the_chosen_stacking_is_worst_case_unless_the_other_is_named():
    ladder = stack(worked_example())
    assert chosen(ladder, "worst case") is ladder.worst_case
    assert chosen(ladder, "root-sum-square") is ladder.root_sum_square


sizes = st.floats(0.0, 1e5)


@given(st.lists(sizes, min_size=1, max_size=5), sizes, st.floats(1e5, 2e6))
def test_root_sum_square_never_asks_more_than_worst_case(parts, gap, fault_limit):
    moves = tuple(Contribution(f"part {i}", size) for i, size in enumerate(parts))
    ladder = stack(worked_example(trip_tolerances=moves, gap=gap, fault_limit=fault_limit))
    worst, rss = ladder.worst_case, ladder.root_sum_square
    assert rss.lowest <= worst.lowest + 1e-6
    assert rss.highest is not None
    assert worst.highest is not None
    assert rss.highest >= worst.highest - 1e-6
    assert not (worst.verdict == "open" and rss.verdict == "empty" and (worst.width or 0) > 1e-6)


@given(st.floats(-1e6, 1e6))
def test_moving_every_rung_by_the_same_pressure_moves_the_window_with_it(shift):
    base, moved = (
        stack(worked_example(duty=4e5 + s, lockup=4.4e5 + s, trip=5.1e5 + s, fault_limit=5.94e5 + s))
        for s in (0.0, shift)
    )
    assert moved.worst_case.lowest == pytest.approx(base.worst_case.lowest + shift, abs=1e-3)
    assert moved.worst_case.width == pytest.approx(base.worst_case.width, abs=1e-3)
