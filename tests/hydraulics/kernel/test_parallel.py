from __future__ import annotations

import pytest

from steadyhead.hydraulics.kernel import assembly, layout
from steadyhead.hydraulics.kernel.assembly import Row, Solution
from steadyhead.laws.coefficients import k_of_kv
from tests.hydraulics.kernel.lines import (
    BAR,
    DENSITY,
    Station,
    bar,
    conditions,
    ending,
    isolating_valve,
    state,
)


def grouped(first: list[Row], second: list[Row], *, supply: float = 9.0, consumers: float = 30.0) -> Solution:
    rows = [isolating_valve(1.0), assembly.parallel(first, second), isolating_valve(1.0)]
    return assembly.solve_line(assembly.pack(rows), conditions(supply=supply, consumers=consumers))


def loss(kv: float, *, tight: bool = False) -> Row:
    return assembly.loss(k_of_kv(kv, DENSITY), is_tight=tight)


def reducer(lockup: float, tap: int) -> Row:
    row = Station(lockup=lockup).reducer()
    return Row(row.kind, row.columns, tap)


@pytest.mark.source(kind="analytic", ref="two losses side by side: coefficients add")
def test_two_losses_side_by_side_act_as_their_sum():
    both = grouped([loss(20.0)], [loss(50.0)])
    line = assembly.pack([isolating_valve(1.0), loss(70.0), isolating_valve(1.0)])
    one = assembly.solve_line(line, conditions(supply=9.0, consumers=30.0))
    assert both.nodes[1] == pytest.approx(float(one.nodes[1]), rel=1e-9)
    assert both.flows[4] / both.flows[6] == pytest.approx(20.0 / 50.0, rel=1e-9)
    assert both.flows[4] + both.flows[6] == pytest.approx(float(both.flows[0]), rel=1e-12)


def test_both_orders_of_the_branches_give_the_same_station():
    one = grouped([reducer(4.5, 1)], [loss(5.0)])
    other = grouped([loss(5.0)], [reducer(4.5, 1)])
    assert one.nodes[1] == pytest.approx(float(other.nodes[1]), rel=1e-9)
    assert state(one, 4) == "holding"


def test_open_bypass_of_any_size_takes_its_share_and_the_reducer_gives_way():
    alone = grouped([reducer(4.5, 1)], [loss(1e-3)])
    beside = grouped([reducer(4.5, 1)], [loss(20.0)])
    wide = grouped([reducer(4.5, 1)], [loss(60.0)])
    assert beside.flows[4] < alone.flows[4]
    assert state(wide, 4) == "shut"
    assert wide.nodes[1] > 4.5 * BAR


def test_leading_reducer_at_no_flow_is_the_one_set_higher():
    found = grouped([reducer(4.5, 1)], [reducer(4.7, 1)], consumers=0.0)
    assert bar(found, 1) == pytest.approx(4.7)
    assert not found.is_flowing


def test_open_bypass_at_no_flow_brings_the_inlet_and_a_tight_one_does_not():
    assert bar(grouped([reducer(4.5, 1)], [loss(20.0)], consumers=0.0), 1) == pytest.approx(9.0)
    assert bar(grouped([reducer(4.5, 1)], [loss(1e-3, tight=True)], consumers=0.0), 1) == pytest.approx(4.5)


def test_group_shut_and_tight_in_both_branches_cuts_the_line():
    found = grouped([loss(1e-3, tight=True)], [loss(1e-3, tight=True)])
    assert bar(found, 0) == 0.0
    assert bar(found, 2) == pytest.approx(9.0)
    still = grouped([loss(1e-3, tight=True)], [loss(1e-3, tight=True)], consumers=0.0)
    assert ending(still) == "trapped pressure unknown"


def test_reducer_in_a_branch_may_sense_its_own_branch_or_the_main_line():
    valve = assembly.valve(
        full=k_of_kv(170.0, DENSITY), lift=1.0, shape=1.0, floor=1e-5, recovery=0.85, incipient=0.45
    )
    own = grouped([valve, reducer(4.5, -2)], [loss(1e-3)])
    main = grouped([valve, reducer(4.5, 1)], [loss(1e-3)])
    assert float(own.nodes[5]) < float(main.nodes[5])
    still = grouped([valve, reducer(4.5, 0)], [loss(1e-3, tight=True)], consumers=0.0)
    assert bar(still, 0) == pytest.approx(4.5)


def test_reducer_in_a_branch_that_senses_the_other_branch_is_refused():
    found = grouped([reducer(4.5, 2)], [loss(5.0)])
    assert ending(found) == "tap not downstream"
    found = grouped([loss(5.0)], [loss(5.0), reducer(4.5, 4)])
    assert ending(found) == "tap not downstream"


def test_branches_share_one_inlet_pressure():
    found = grouped([reducer(4.5, 1), loss(100.0)], [loss(8.0), loss(30.0)])
    first_end, second_end = 6, 9
    assert found.nodes[first_end] == pytest.approx(float(found.nodes[second_end]), rel=1e-9)
    assert found.nodes[2] == pytest.approx(float(found.nodes[first_end]), rel=1e-9)
    assert layout.STATES[int(found.outcomes[4][layout.OUT_STATE])] == "holding"
