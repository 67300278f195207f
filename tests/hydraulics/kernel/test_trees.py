from __future__ import annotations

import json
import os
import random
import subprocess
import sys
from itertools import pairwise
from math import isnan, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.hydraulics.kernel import assembly, layout
from steadyhead.hydraulics.kernel.assembly import Row, Solution
from steadyhead.hydraulics.kernel.memory import TripUnit, settle
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.laws.compiling import mode
from tests.hydraulics.kernel.lines import (
    BAR,
    DENSITY,
    Station,
    bar,
    conditions,
    ending,
    hourly,
    isolating_valve,
    main,
    state,
)
from tests.independent.comparing_trees import failures, solved
from tests.independent.laws_of_trees import broken_laws
from tests.independent.random_trees import knotted_tree, random_tree

seeds = st.integers(0, 2**31 - 1)


def k(kv: float) -> float:
    return k_of_kv(kv, DENSITY)


def loss(kv: float, *, tight: bool = False) -> Row:
    return assembly.loss(k(kv), is_tight=tight)


def reducer(lockup: float, tap: int, **changes: object) -> Row:
    row = Station(lockup=lockup).but(**changes).reducer()
    return Row(row.kind, row.columns, tap)


def low_flow(closing: float, tap: int, kv: float = 8.0) -> Row:
    return assembly.direct_reducer(
        full=k(kv), shape=0.0, floor=1e-5, recovery=0.85, incipient=0.45, closing=closing * BAR,
        band=0.2 * closing * BAR, tap=tap,
    )  # fmt: skip


def shut_off(lift: float) -> Row:
    return assembly.valve(full=k(170.0), lift=lift, shape=1.0, floor=1e-5, recovery=0.85, incipient=0.45)


def check_valve(kv: float = 200.0) -> Row:
    return assembly.check_valve(k(kv), floor=1e-5)


def tree(*rows: Row, supply: float = 9.0, consumers: float = 30.0, before: float = nan) -> Solution:
    line = assembly.pack(rows)
    held = [before * BAR] * (len(line.kinds) + 1)
    return assembly.solve_line(line, conditions(supply=supply, consumers=consumers), held)


def grouped(*branches: list[Row], **at: float) -> Solution:
    return tree(isolating_valve(1.0), assembly.parallel(*branches), isolating_valve(1.0), **at)


@pytest.mark.source(kind="analytic", ref="losses side by side: coefficients add")
@pytest.mark.parametrize("count", [2, 3, 4, 5, 6])
def test_branches_of_any_number_act_as_their_sum(count: int) -> None:
    kvs = [3.0 * (n + 1) for n in range(count)]
    side_by_side = grouped(*([loss(kv)] for kv in kvs))
    one = tree(isolating_valve(1.0), loss(sum(kvs)), isolating_valve(1.0))
    assert float(side_by_side.nodes[1]) == pytest.approx(float(one.nodes[1]), rel=1e-9)
    flows = [float(side_by_side.flows[4 + 2 * n]) for n in range(count)]
    assert flows == pytest.approx([float(one.flows[1]) * kv / sum(kvs) for kv in kvs], rel=1e-6)


@pytest.mark.source(kind="analytic", ref="losses side by side add; one behind the other add as 1/k²")
def test_group_inside_a_branch_acts_as_the_one_loss_it_stands_for() -> None:
    inside = assembly.parallel([loss(10.0)], [loss(20.0)])
    nested = grouped([inside, loss(40.0)], [loss(15.0)])
    inner = 1.0 / (1.0 / 30.0**2 + 1.0 / 40.0**2) ** 0.5
    one = tree(isolating_valve(1.0), loss(inner + 15.0), isolating_valve(1.0))
    assert float(nested.nodes[1]) == pytest.approx(float(one.nodes[1]), rel=1e-9)


def test_seven_branches_and_branches_of_unlike_level_are_refused() -> None:
    with pytest.raises(ValueError, match="got 7 branches; at most 6"):
        assembly.pack([assembly.parallel(*([loss(5.0)] for _ in range(7)))])
    assert ending(grouped([main(1.0, (0.0, 2.0))], [loss(5.0)])) == "branch not covered"
    assert ending(grouped([main(1.0, (0.0, 2.0))], [main(5.0, (0.0, 2.0))])) == "solved"


# Who leads, who takes over.


@pytest.mark.source(
    kind="common practice",
    ref="the low-flow reducer is set 0.2 to 0.3 bar above the large one: it carries the trickle",
)
def test_low_flow_reducer_carries_the_trickle_and_hands_over_to_the_main_one() -> None:
    trickle, noon = (grouped([reducer(4.5, 1)], [low_flow(4.8, 1)], consumers=kv) for kv in (0.5, 40.0))
    assert state(trickle, 4) == "shut"
    assert state(trickle, 6) == "holding"
    assert 4.5 * BAR < trickle.nodes[1] < 4.8 * BAR
    assert state(noon, 4) == "holding"
    assert noon.nodes[1] < 4.5 * BAR
    assert noon.flows[4] > 2.0 * noon.flows[6] > 0.0


def test_hand_over_is_one_smooth_curve_without_a_step() -> None:
    outlets = [
        float(grouped([reducer(4.5, 1)], [low_flow(4.8, 1)], consumers=0.2 * 1.12**n).nodes[1])
        for n in range(50)
    ]
    falls = [one - other for one, other in pairwise(outlets)]
    assert all(fall >= 0.0 for fall in falls)
    assert max(falls) < 0.1 * BAR


@pytest.mark.source(kind="analytic", ref="two like streams share alike")
def test_two_equal_settings_share_the_flow_evenly() -> None:
    found = grouped([reducer(4.5, 1)], [reducer(4.5, 1)])
    assert found.flows[4] == pytest.approx(float(found.flows[6]), rel=1e-6)
    still = grouped([reducer(4.5, 1)], [reducer(4.5, 1)], consumers=0.0)
    assert bar(still, 1) == pytest.approx(4.5)
    assert state(still, 4) == state(still, 6) == "lock-up"


def test_standby_stands_by_until_the_duty_stream_is_shut() -> None:
    duty, standby = [reducer(4.5, -1), loss(300.0)], [reducer(4.2, -1), loss(300.0)]
    both = grouped(duty, standby)
    assert (state(both, 4), state(both, 7)) == ("holding", "shut")
    alone = grouped([*duty, shut_off(0.0)], standby)
    assert state(alone, 8) == "holding"
    assert alone.flows[4] == 0.0
    assert alone.nodes[1] < 4.2 * BAR


@pytest.mark.source(kind="analytic", ref="a monitor stands wide open until the reducer below it fails")
def test_monitor_stands_open_and_takes_over_when_the_worker_fails() -> None:
    def station(**worker: object) -> Solution:
        return tree(isolating_valve(1.0), reducer(4.5, 1, **worker), reducer(5.2, 1), isolating_valve(1.0))

    sound, failed = station(), station(given_lift=1.0)
    assert (state(sound, 1), state(sound, 2)) == ("holding", "wide open")
    assert state(failed, 2) == "holding"
    assert 4.5 * BAR < failed.nodes[1] < 5.2 * BAR


# Trips.


def twin_streams(first: float, *, failed: bool = False, check: bool = False) -> list[Row]:
    duty = reducer(4.5, -1, given_lift=1.0) if failed else reducer(4.5, -1)
    streams = [[*([check_valve()] if check else []), loss(300.0), duty, shut_off(first)],
               [loss(300.0), reducer(4.2, -1), shut_off(1.0)]]  # fmt: skip
    return [isolating_valve(1.0), assembly.parallel(*streams), isolating_valve(1.0)]


def test_lower_trip_acts_first_and_leaves_the_healthy_stream_in_service() -> None:
    line = assembly.pack(twin_streams(1.0, failed=True))
    at = conditions(supply=9.0, consumers=2.0)
    assert bar(assembly.solve_line(line, at), 1) > 5.4
    staggered = [TripUnit(6, 1, 5.1 * BAR), TripUnit(10, 1, 5.4 * BAR)]
    after = settle(line, at, staggered, held=[4.0 * BAR] * (len(line.kinds) + 1))
    assert after.tripped == (True, False)
    assert 3.5 < bar(after.solution, 1) < 4.2
    assert state(after.solution, 9) == "holding"
    wrong_way = [TripUnit(6, 1, 5.4 * BAR), TripUnit(10, 1, 5.1 * BAR)]
    assert settle(line, at, wrong_way, held=[4.0 * BAR] * (len(line.kinds) + 1)).tripped == (True, True)


def test_slow_rise_at_no_flow_stops_at_the_lower_trip_and_spares_the_other() -> None:
    line = assembly.pack(twin_streams(1.0, failed=True))
    held = [4.4 * BAR] * (len(line.kinds) + 1)
    units = [TripUnit(6, 1, 5.1 * BAR), TripUnit(10, 1, 5.4 * BAR)]
    found = settle(line, conditions(supply=9.0), units, held=held)
    assert found.tripped == (True, False)
    assert bar(found.solution, 1) == pytest.approx(5.1)


@pytest.mark.source(kind="analytic", ref="a disc not held by its pilot is pushed off at s₀/(1 − r₀)")
def test_section_behind_a_tripped_stream_is_filled_back_unless_a_check_valve_stands_in_the_way() -> None:
    back = tree(*twin_streams(0.0), consumers=0.0, before=1.0)
    assert bar(back, 1) == pytest.approx(4.2)
    assert bar(back, 6) == pytest.approx(4.2)  # the duty reducer stands open below its own setting
    kept = tree(*twin_streams(0.0, check=True), consumers=0.0, before=1.0)
    assert bar(kept, 1) == pytest.approx(4.2)
    assert bar(kept, 7) == pytest.approx(1.0)


def test_trapped_pressure_of_a_shut_stream_is_remembered_and_never_guessed() -> None:
    shut = [loss(300.0, tight=True), reducer(4.5, -2), loss(300.0, tight=True)]
    known, unknown = (grouped([reducer(4.5, 1)], shut, before=pressure) for pressure in (3.0, nan))
    assert bar(known, 7) == pytest.approx(3.0)
    assert ending(unknown) == "trapped pressure unknown"
    assert isnan(unknown.nodes[7])
    assert float(unknown.flows[0]) == pytest.approx(float(known.flows[0]), rel=1e-12)


# Outlets in branches.


@pytest.mark.source(kind="analytic", ref="drain law Q = k √p; what enters leaves")
def test_drain_of_an_isolated_stream_is_fed_from_the_side_that_is_open() -> None:
    drain = assembly.drain(k(5.0))
    below = grouped([reducer(4.5, 1)], [drain, loss(300.0), loss(300.0, tight=True)], consumers=0.0)
    expected = 5.0 * (bar(below, 6) / (DENSITY / 1000.0)) ** 0.5
    assert hourly(below, 4) == pytest.approx(expected, rel=1e-9)
    assert hourly(below, 5) == pytest.approx(-expected, rel=1e-9)  # backwards, out of the joint
    assert hourly(below, 1) == pytest.approx(expected, rel=1e-9)
    above = grouped([reducer(4.5, 1)], [loss(300.0, tight=True), drain, reducer(3.0, -3)], consumers=0.0)
    assert bar(above, 1) == pytest.approx(4.5)
    assert (state(above, 4), state(above, 8)) == ("lock-up", "holding")
    assert 2.0 < bar(above, 8) < 3.0


@pytest.mark.source(kind="analytic", ref="check valve: next to nothing passes back")
def test_check_valve_keeps_a_stream_with_an_open_drain_from_emptying_the_joint() -> None:
    def station(*more: Row) -> Solution:
        stub = [*more, loss(300.0), assembly.drain(k(5.0)), loss(300.0, tight=True)]
        return grouped([reducer(4.5, 1)], stub, consumers=0.0, before=0.0)

    assert hourly(station(), 1) > 5.0
    assert hourly(station(check_valve()), 1) < 0.1


@pytest.mark.source(
    kind="analytic", ref="a pilot-operated reducer with its pilot shut is pushed off backwards"
)
def test_water_runs_back_through_a_shut_reducer_and_says_so() -> None:
    stub = [reducer(2.0, 1), assembly.drain(k(5.0)), loss(300.0, tight=True)]
    found = grouped([reducer(4.5, 1)], stub, consumers=0.0)
    assert state(found, 6) == "flows back"
    assert hourly(found, 6) == pytest.approx(-5.0 * (bar(found, 7) / (DENSITY / 1000.0)) ** 0.5, rel=1e-9)
    assert 0.0 < bar(found, 6) - bar(found, 7) < 0.2


def test_relief_valve_in_a_branch_holds_the_outlet_of_a_failed_reducer() -> None:
    relief = assembly.relief(k(60.0), crack=5.0 * BAR, full=5.5 * BAR)
    found = grouped([relief, reducer(4.5, 1, leak=20.0)], [loss(1.0, tight=True)], consumers=0.0)
    assert 5.0 < bar(found, 1) < 5.5
    assert hourly(found, 4) > 0.0
    still = grouped([relief, reducer(4.5, 1)], [loss(1.0, tight=True)], consumers=0.0)
    assert not still.is_flowing
    assert bar(still, 1) == pytest.approx(4.5)


# Found by random trees.


@pytest.mark.source(kind="analytic", ref="what leaks into a joint that nobody draws from leaves it again")
def test_leak_of_one_stream_runs_back_through_another_whose_inlet_is_drawn_down() -> None:
    drawn_down = [reducer(2.8, -1), assembly.drain(k(60.0)), loss(60.0)]
    found = grouped([reducer(2.6, -1, leak=0.4)], drawn_down, consumers=0.0)
    assert state(found, 6) == "flows back"
    assert hourly(found, 6) == pytest.approx(-hourly(found, 4), rel=1e-9)
    assert hourly(found, 4) == pytest.approx(
        0.4 * ((bar(found, 5) - bar(found, 4)) / (DENSITY / 1000.0)) ** 0.5, rel=0.02
    )
    assert bar(found, 6) - bar(found, 7) < 0.1


@pytest.mark.source(kind="analytic", ref="what stands open fills together, up to one setting")
def test_stream_behind_a_check_valve_fills_with_the_joint_it_senses() -> None:
    found = grouped([reducer(4.5, 1)], [check_valve(), reducer(4.5, 1)], consumers=0.0, before=0.8)
    assert bar(found, 1) == pytest.approx(4.5)
    assert bar(found, 7) == pytest.approx(4.5)


@pytest.mark.source(kind="own estimate", ref="a section between two valves is small: it fills before a zone")
def test_section_behind_a_tripped_stream_fills_to_the_inlet_while_its_reducer_still_stands_open() -> None:
    tripped = [shut_off(0.0), reducer(4.2, 1)]
    rising = grouped([reducer(4.8, 1)], tripped, consumers=0.0, before=2.0)
    assert (bar(rising, 1), bar(rising, 7)) == pytest.approx((4.8, 9.0))
    shut = grouped([reducer(4.8, 1)], tripped, consumers=0.0, before=4.7)
    assert (bar(shut, 1), bar(shut, 7)) == pytest.approx((4.8, 4.7))


@pytest.mark.source(kind="analytic", ref="a disc not held by its pilot is pushed off at s₀/(1 − r₀)")
def test_trapped_water_above_a_check_valve_keeps_nothing_up_at_the_joint() -> None:
    streams = [check_valve(), reducer(3.5, -1)], [reducer(2.8, -1)]
    found = grouped(*streams, supply=5.2, consumers=0.0, before=6.5)
    assert bar(found, 1) == pytest.approx(5.2 + 0.05 / (1.0 - 0.45))
    assert bar(found, 5) == pytest.approx(bar(found, 1))
    leaking = grouped(streams[0], [reducer(2.8, -1, leak=0.3)], supply=5.2, consumers=0.0, before=6.5)
    assert bar(leaking, 1) == pytest.approx(5.2)
    drawing = [loss(300.0, tight=True), assembly.drain(k(5.0)), loss(300.0)]  # water runs beside
    beside = grouped(*streams, drawing, supply=5.2, consumers=0.0, before=6.5)
    assert beside.is_flowing
    assert bar(beside, 1) == pytest.approx(bar(beside, 2) + 0.05 / (1.0 - 0.45))


@pytest.mark.source(kind="analytic", ref="an open reducer holds nothing apart until it shuts")
def test_section_above_an_open_reducer_rises_with_the_joint_until_the_reducer_shuts() -> None:
    cut = [reducer(4.5, -1), shut_off(0.0)]
    found = grouped([reducer(4.5, -1)], cut, consumers=0.0, before=0.4)
    assert (bar(found, 6), bar(found, 7)) == pytest.approx((4.5, 4.5))


# Random trees.


@given(seed=seeds)
def test_random_tree_is_solved_or_says_why_not_and_loses_no_water_at_a_joint(seed: int) -> None:
    _, case = random_tree(random.Random(seed), seed)
    ours = solved(case)
    assert not failures(case, ours)
    assert not broken_laws(case, ours)


@given(seed=seeds, more=st.floats(1.0, 4.0))
def test_more_draw_off_never_means_less_flow_or_more_pressure(seed: int, more: float) -> None:
    _, case = random_tree(random.Random(seed), seed)
    here, there = solved(case), solved(case | {"demand": case["demand"] * more})
    if not (here.is_flowing and there.is_flowing) or here.ending or there.ending:
        return
    top = len(case["line"]) - 1
    assert there.flows[top] >= here.flows[top] * (1.0 - 1e-7) - 1e-9
    assert there.nodes[0] <= here.nodes[0] + 1e-6 * abs(here.nodes[0]) + 1.0


@given(seed=seeds, more=st.floats(0.0, 4.0))
def test_more_supply_never_means_less_flow_to_the_consumers_or_less_pressure(seed: int, more: float) -> None:
    """An open drain ahead of a reducer that senses the joint may run less: the joint rises, it shuts more."""
    _, case = random_tree(random.Random(seed), seed)
    here, there = solved(case), solved(case | {"supply": case["supply"] + more})
    if not (here.is_flowing and there.is_flowing) or here.ending or there.ending:
        return
    assert there.flows[0] >= here.flows[0] * (1.0 - 1e-6) - 1e-9
    assert there.nodes[0] >= here.nodes[0] - 1e-6 * abs(here.nodes[0]) - 1.0


def report(count: int) -> str:
    """Return endings, pressures and flows of the first trees as JSON."""
    answers = []
    for number in range(count):
        make = knotted_tree if number % 3 == 0 else random_tree
        found = solved(make(random.Random(number), number)[1])
        rows = ([float(each) if each == each else None for each in row] for row in (found.nodes, found.flows))
        answers.append([found.ending, *rows])
    return json.dumps(answers)


def test_compiled_and_plain_engine_give_the_same_trees() -> None:
    count = 24
    other = "plain" if mode() == "compiled" else "compiled"
    place = os.environ | {"STEADYHEAD_ENGINE": other, "PYTHONPATH": os.pathsep.join(sys.path)}
    script = f"from tests.hydraulics.kernel.test_trees import report; print(report({count}))"
    done = subprocess.run(
        [sys.executable, "-c", script], env=place, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    for one, another in zip(json.loads(done.stdout), json.loads(report(count)), strict=True):
        assert one[0] == another[0]
        for mine, yours in zip(one[1] + one[2], another[1] + another[2], strict=True):
            assert (mine is None) == (yours is None)
            assert mine is None or mine == pytest.approx(yours, rel=1e-7, abs=1e-7)


def test_states_of_valves_have_a_word_each() -> None:
    assert len(layout.STATES) == layout.BACKWARD + 1
