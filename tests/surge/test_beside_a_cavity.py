"""A cavity at the station: behind a shut seat nothing flows that has no room, no figure leaves its bounds."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import inf, nan

import pytest

from steadyhead import surge
from steadyhead.laws.compiling import floats
from steadyhead.laws.friction_table import POINTS, friction_table
from steadyhead.surge import peaks
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.kernel.pipes import SANE, slopes
from steadyhead.surge.metrics import stored
from steadyhead.surge.rows import Curves, rows_of, sides_of
from steadyhead.surge.running import Runner
from steadyhead.surge.validity import validity, worst_of
from tests.campaigns.surge import after_shut
from tests.surge.plans import WATER, WEIGHT, kv, reducer, shut_off, station

pytestmark = pytest.mark.by_turns(4)

T2 = surge.Section("T2", 0.008)
OPEN = surge.Held("RV", "lift", ((0.0, 1.0),))
WIDE = surge.Schedule((OPEN,))
STROKES = (3.0, 6.0, 12.0, 30.0)
SUPPLIES = (4e5, 6.4e5, 9e5)
FLOWS = (2e-3, 5e-3, 10e-3, 18e-3)


def parting(
    supply: float, flow: float, stroke: float, *, driven: bool = False, reaches: int = 80
) -> tuple[surge.Plant, surge.State]:
    """Return a reducer wide open ahead of a shut-off that is tripped, between a long main and a soft one."""
    needle = kv(0.15) * 7.0 / stroke
    closes = shut_off(trip_at=0.5, is_hydraulic=driven, close_time=stroke, close_needle=needle, lag=0.1)
    plan = station(reducer(), T2, closes, supply=supply, reaches=reaches)
    zone = next(joint for joint in plan.joints if isinstance(joint, surge.Consumers))
    pipes = (
        replace(plan.pipes[0], length=1100.0, bore=0.152, wave_speed=1230.0),
        replace(plan.pipes[1], length=400.0, bore=0.15, wave_speed=400.0),
    )
    drawing = replace(zone, coefficient=flow / (0.5 * supply) ** 0.5)
    plan = replace(plan, pipes=pipes, joints=(plan.joints[0], drawing))
    plant = surge.compile_plan(plan)
    return plant, surge.start(plant, WIDE)


def lost(plant: surge.Plant, state: surge.State, before: float) -> float:
    """Return the error of the mass account as share of what entered and 20 L, for runs with little flow."""
    entered = float(state.run[at.ENTERED])
    return surge.mass_error(plant, state, before) * entered / (entered + 20e-3)


@pytest.mark.source(
    kind="analytic",
    ref="behind a shut seat a main fills no more than sections and gas give room for; 5 %; mass account; the "
    "rise of a wave thrown back and of a cavity fallen in, thrice Joukowsky's at the most",
)
@pytest.mark.parametrize("driven", [False, True], ids=["by the clock", "by line pressure"])
@pytest.mark.parametrize("supply", SUPPLIES)
def test_no_water_flows_where_the_seat_is_shut_and_the_main_is_empty_of_pressure(supply, driven):
    parted = 0
    for flow in FLOWS:
        for stroke in (0.5, *STROKES):
            plant, state = parting(supply, flow, stroke, driven=driven)
            before = stored(plant, state)
            steps = int((stroke * (4.0 if driven else 1.0) + 12.0) / plant.step)
            trace = surge.advance(plant, state, WIDE, steps).lines
            found = after_shut(plant, state, trace)
            where = f"{flow * 1e3:.0f} L/s, {stroke} s: {found}"
            assert found["shut"], where
            assert found["room"] < 1.0, where
            assert found["thrown"] < 3.0, where
            assert state.run[at.OPEN_NODES] == state.run[at.BROKEN] == 0.0, where
            assert lost(plant, state, before) < (1e-3 if stroke > 1.0 else 3e-3), where  # a steep front
            parted += found["parted at a shut seat"]
    assert parted >= 4


@pytest.mark.source(kind="analytic", ref="the cavity hangs continuously on the stroke; 3 % and 0.03 L")
def test_the_cavity_grows_smoothly_from_stroke_to_stroke():
    most = []
    for number in range(9):
        plant, state = parting(4e5, 10e-3, 3.0 * (1.0 + 0.005 * number))
        surge.advance(plant, state, WIDE, int(5.5 / plant.step))
        most.append(surge.extremes(plant, state, "supply").most_gas)
    assert min(most) > 1e-4
    for one, next_one in pairwise(most):
        assert next_one == pytest.approx(one, rel=0.03, abs=3e-5)


@pytest.mark.source(kind="analytic", ref="as for one stream")
def test_streams_side_by_side_hold_as_well_beside_a_cavity():
    ends = [surge.LossRow(f"IV{number}", kv(894.0)) for number in range(3, 7)]
    first = shut_off(trip_at=0.5, close_time=0.4)
    second = replace(shut_off(trip_at=0.6, close_time=0.9), id="SO2")
    beside = reducer("RV2", "T3")
    group = surge.Group(
        "streams",
        (
            (ends[0], reducer("RV", "T3"), T2, first, ends[1]),
            (ends[2], beside, surge.Section("T22", 0.008), second, ends[3]),
        ),
    )
    plan = station(group, supply=5e5, demand=60.0)
    plan = replace(plan, pipes=(replace(plan.pipes[0], length=1100.0, bore=0.1), plan.pipes[1]))
    wide = surge.Schedule((OPEN, replace(OPEN, name="RV2")))
    plant = surge.compile_plan(plan)
    state = surge.start(plant, wide)
    before = stored(plant, state)
    found = after_shut(plant, state, surge.advance(plant, state, wide, int(14.0 / plant.step)).lines)
    assert found["shut"]
    assert found["parted at a shut seat"]
    assert found["room"] < 1.0
    assert found["thrown"] < 3.0
    assert state.run[at.OPEN_NODES] == state.run[at.OPEN_SPLITS] == 0.0
    assert lost(plant, state, before) < 3e-3


def test_a_shut_off_pressed_on_its_seat_does_not_lift_off_when_its_pressure_falls_away():
    plant, state = parting(4e5, 10e-3, 0.5, driven=True)
    trace = surge.advance(plant, state, WIDE, int(12.0 / plant.step)).lines
    lifts = [
        float(line[at.R_FIRST_NODE + len(plant.node_values) + at.R_ROW * plant.rows["SO"]]) for line in trace
    ]
    shut = lifts.index(0.0)
    assert max(lifts[shut:]) == 0.0


def test_a_fall_is_noticed_in_the_step_in_which_it_happens():
    plant, state = parting(4e5, 10e-3, 1.0)
    runner = Runner(plant, state, WIDE)
    grid = plant.side("supply")[0]
    before = highest = -inf
    for _ in range(int(12.0 / plant.step)):
        before = max(float(one) for one in state.highest[grid.place])
        runner.advance(1, 1)
        highest = max(float(one) for one in state.highest[grid.place])
        if state.run[at.FELL_SUPPLY] > 0.0:
            break
    assert state.run[at.FELL_SUPPLY] == state.time
    assert before <= float(state.pipe_state[grid.place][at.JUDGED_HEAD]) <= highest
    runner.advance(int(9.0 / plant.step), 10**9)
    judged = peaks.judged(plant, state)
    assert judged["supply"] == pytest.approx(before * plant.weight, rel=1e-3)
    assert judged["supply"] < surge.extremes(plant, state, "supply").highest - 0.5e5


def test_a_fall_ahead_of_a_shut_seat_says_nothing_of_the_consumers():
    plant, state = parting(4e5, 10e-3, 1.0)
    surge.advance(plant, state, WIDE, int(12.0 / plant.step))
    assert peaks.fallen(state) == {"supply"}
    assert peaks.judged(plant, state)["consumer"] == pytest.approx(
        surge.extremes(plant, state, "consumer").highest, abs=1.0
    )


@pytest.mark.parametrize("stroke", [0.3, 0.48, 0.72, 3.0])
def test_the_highest_until_it_shuts_is_that_of_each_step_until_then(stroke):
    closes = shut_off(trip_at=0.5, close_time=stroke)
    plant = surge.compile_plan(station(reducer(), T2, closes, supply=9e5))
    sticks = surge.Schedule((surge.Held("RV", "stuck pilot", ((0.0, nan), (0.1, 1.0))),))
    state = surge.start(plant, sticks)
    runner = Runner(plant, state, sticks)
    while not state.run[at.T_SHUT]:
        runner.advance(1, 1)
    own = state.row_state[plant.rows["SO"]]
    assert float(own[at.T_CLOSED]) == peaks.shut_at(state)
    then = max(float(one) for grid in plant.side("consumer") for one in state.highest[grid.place]) * WEIGHT
    section = float(state.node_state[plant.nodes["T3"]][at.HIGHEST])
    runner.advance(int(8.0 / plant.step), 10**9)
    found = peaks.until_shut(plant, state)
    assert found["consumer"] == pytest.approx(then, rel=1e-12)
    assert found["T3"] == section
    grid, node = peaks.judged_place(plant, state, "consumer", shut=True)
    assert float(state.highest[grid.place][node]) * WEIGHT >= found["consumer"]


@pytest.mark.source(kind="analytic", ref="above the end of its table the last factor stands")
@pytest.mark.parametrize("flow", [1e9, 1e300, inf, nan, 0.0])
def test_friction_is_read_within_its_table_whatever_flows(flow):
    factors = floats([*friction_table(1e-3), *([1e9] * POINTS)])
    value = floats([0.0] * at.PIPE_VALUES)
    value[at.RESISTANCE], value[at.REYNOLDS] = 1.0, 1e7
    above, below = floats([0.0] * 3), floats([0.0] * 3)
    flows = floats([1e-3, flow, 1e-3])
    slopes(2, 0, value, factors, flows, flows, above, below)
    if 0.0 < flow < inf:
        assert float(above[2]) == pytest.approx(float(factors[POINTS - 1]) * flow, rel=1e-6)
    assert float(above[1]) == pytest.approx(float(below[1]), rel=1e-6)


@pytest.mark.parametrize("flow", [nan, inf, 1e9])
def test_a_run_whose_figures_leave_all_bounds_stands_still_and_carries_no_verdict(flow):
    plant, state = parting(6.4e5, 5e-3, 3.0)
    schedule = WIDE
    surge.advance(plant, state, schedule, int(1.0 / plant.step))
    judged = dict(peaks.judged(plant, state))
    state.down[0][35] = flow
    chunk = surge.advance(plant, state, schedule, int(2.0 / plant.step))
    assert peaks.broken_at(state) == pytest.approx(1.0, abs=0.5)
    assert state.time == pytest.approx(3.0, abs=0.1)
    assert len(chunk.lines) == int(2.0 / plant.step)
    assert peaks.fallen(state) == {"supply", "consumer"}
    for name, pressure in peaks.judged(plant, state).items():
        assert pressure < SANE * WEIGHT
        assert pressure >= judged[name]


def test_sides_part_at_the_shut_off_of_each_way():
    group = surge.Group(
        "streams",
        (
            (surge.LossRow("A1", kv(9.0)), reducer("RV", "T3"), T2, shut_off(), surge.LossRow("A2", kv(9.0))),
            (surge.LossRow("B1", kv(9.0)), reducer("RV2", "T3"), surge.LossRow("B2", kv(9.0))),
        ),
    )
    for parts, ahead, behind in (
        ((reducer(), T2, shut_off()), {"T1", "T2"}, {"T3"}),
        ((shut_off(), T2, reducer(senses="T3")), {"T1"}, {"T2", "T3"}),
        ((reducer(senses="T3"),), {"T1", "T3"}, set()),
        ((group,), {"T1", "T2"}, {"T3"}),
    ):
        chain = rows_of(station(*parts), Curves())
        sides = sides_of(chain)
        assert {name for name, node in chain.nodes.items() if sides[node] == 0} == ahead
        assert {name for name, node in chain.nodes.items() if sides[node] == 1} == behind


def test_the_validity_of_many_runs_is_that_of_the_worst():
    found = []
    for flow in (2e-3, 18e-3):
        plant, state = parting(4e5, flow, 3.0)
        before = stored(plant, state)
        surge.advance(plant, state, WIDE, int(10.0 / plant.step))
        found.append(validity(plant, state, before))
    worst = worst_of(found)
    assert worst.mass_error == max(one.mass_error for one in found) < 3e-3
    assert worst.highest_at_datum == found[1].highest_at_datum > found[0].highest_at_datum
    assert (
        worst.lowest_supply
        == found[1].lowest_supply
        == pytest.approx(WATER.vapour_pressure_abs - 101325.0, abs=10)
    )
    assert worst.most_gas_supply > 1e-4
    assert worst.broken_at is None
    assert worst.open_steps == 0
