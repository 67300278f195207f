from __future__ import annotations

import os
import random
import subprocess
import sys
from dataclasses import replace
from math import inf, nan
from typing import Any

import pytest

from devtools.places import ROOT
from steadyhead import surge
from steadyhead.errors import InputError
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.metrics import stored
from steadyhead.surge.plan import ValveBody
from tests.surge.plans import WATER, kv, station

pytestmark = pytest.mark.by_turns(4)

DEMAND = surge.Straight("zone", "demand", ((0.0, kv(30)), (0.5, kv(30)), (1.5, kv(18))))


def body(size: float = 1.0) -> ValveBody:
    return ValveBody(kv(170 * size), area=0.01745 * size)


def reducer(number: int, size: float = 1.0, **changes: Any) -> surge.ReducerRow:
    row = surge.ReducerRow(
        f"RV{number}", body(size), f"T2{number}", kv(0.06 * size), kv(0.12 * size), 0.8e5, 4.5e5
    )
    return replace(row, **changes)


def shut_off(number: int, size: float = 1.0, **changes: Any) -> surge.ShutOffRow:
    row = surge.ShutOffRow(
        f"SO{number}", body(size), f"T3{number}", 5.5e5, is_hydraulic=False, close_time=2.0
    )
    return replace(row, **changes)


def stream(number: int, size: float = 1.0, **valves: Any) -> tuple[surge.plan.Part, ...]:
    """Return reducer and shut-off between two isolating valves, `size` times as wide."""
    return (
        surge.LossRow(f"IA{number}", kv(400 * size)),
        surge.Section(f"T1{number}", 0.010 * size),
        valves.get("reducer", reducer(number, size)),
        surge.Section(f"T2{number}", 0.008 * size),
        valves.get("shut_off", shut_off(number, size)),
        surge.Section(f"T3{number}", 0.010 * size),
        surge.LossRow(f"IB{number}", kv(400 * size)),
    )


def side_by_side(*streams: tuple[surge.plan.Part, ...], **changes: Any) -> surge.Plan:
    middle: tuple[Any, ...] = (surge.Group("G", streams),) if len(streams) > 1 else streams[0]
    line = (
        surge.LossRow("IV1", kv(894)),
        surge.Section("A", 0.010),
        *middle,
        surge.Section("B", 0.010),
        surge.LossRow("IV2", kv(894)),
    )
    return replace(station(reaches=25, **changes), station=line)


def ran(
    plan: surge.Plan, schedule: surge.Schedule, seconds: float, lost: float = 2e-3
) -> tuple[surge.Plant, surge.State, Any]:
    plant = surge.compile_plan(plan)
    state = surge.start(plant, schedule)
    before = stored(plant, state)
    trace = surge.run(plant, state, schedule, seconds)
    assert float(state.run[at.OPEN_NODES]) == 0.0
    assert float(state.run[at.OPEN_SPLITS]) == 0.0
    assert float(state.run[at.UNSETTLED]) == 0.0
    assert surge.mass_error(plant, state, before) < lost
    return plant, state, trace


@pytest.mark.source(kind="analytic", ref="two equal streams carry what one twice as wide carries; 1e-6")
@pytest.mark.parametrize("event", ["demand", "pilot"])
def test_two_equal_streams_are_one_of_twice_the_size(event):
    if event == "demand":
        twice = once = surge.Schedule((DEMAND,))
    else:
        stuck = [surge.Held(f"RV{n}", "stuck pilot", ((0.0, nan), (0.5, 1.0))) for n in (1, 2)]
        twice, once = surge.Schedule(tuple(stuck)), surge.Schedule((stuck[0],))
    _, _, two = ran(side_by_side(stream(1), stream(2)), twice, 6.0)
    _, _, one = ran(side_by_side(stream(1, 2.0)), once, 6.0)
    for name in ("A", "B", "T11", "T21", "T31"):
        assert two.pressure(name) == pytest.approx(one.pressure(name), rel=1e-6, abs=1.0)
    assert two.inflow == pytest.approx(one.inflow, rel=1e-6, abs=1e-8)
    assert two.lift("RV2") == pytest.approx(one.lift("RV1"), rel=1e-6, abs=1e-8)


@pytest.mark.source(
    kind="analytic", ref="at rest nothing moves: streams of the transient twin meet the steady one to 1e-6"
)
@pytest.mark.parametrize("demand", [1.0, 30.0])
@pytest.mark.parametrize("lockup", [4.5e5, 4.3e5, 4.0e5])
def test_streams_at_rest_stay_at_rest(demand, lockup):
    second = stream(2, reducer=reducer(2, closing=lockup))
    plant = surge.compile_plan(side_by_side(stream(1), second, demand=demand))
    rest = surge.steady_rest(plant)
    state = surge.start(plant, rest=rest)
    surge.advance(plant, state, surge.Schedule(), 40)
    pressures = [float(node[at.NOW]) for node in state.node_state]
    assert pressures == pytest.approx(list(rest.nodes), rel=1e-5)
    assert float(state.run[at.INFLOW]) == pytest.approx(rest.flow, rel=1e-4)


def test_one_stream_trips_and_the_other_goes_on_and_sees_the_pressure_too():
    trips = stream(1, shut_off=shut_off(1, trip=5.0e5))
    fails = surge.Held("RV1", "stuck pilot", ((0.0, nan), (0.5, 1.0)))
    plant, state, trace = ran(
        side_by_side(trips, stream(2, shut_off=shut_off(2, trip=7e5)), demand=20.0),
        surge.Schedule((fails,)),
        20.0,
    )
    first, second = (state.row_state[plant.rows[name]] for name in ("SO1", "SO2"))
    assert first[at.T_CLOSED] < 10.0
    assert second[at.TRIPS] == 0.0
    seen = max(trace.pressure("T32"))
    assert seen == pytest.approx(max(trace.pressure("B")), rel=0.02)
    assert seen > 4.9e5
    assert trace.lift("RV2")[-1] > 0.02
    assert trace.pressure("B")[-1] == pytest.approx(4.0e5, rel=0.05)
    assert trace.pressure("T31")[-1] == pytest.approx(trace.pressure("B")[-1], rel=1e-3)


@pytest.mark.source(kind="analytic", ref="what passes a shut seat is its stated tightness, 1e-5 of Kv")
def test_when_both_streams_are_shut_only_their_tightness_passes():
    shut = [shut_off(n, trip_at=0.5, trip=inf) for n in (1, 2)]
    both = side_by_side(*(stream(n, shut_off=one) for n, one in enumerate(shut, 1)), demand=1.0)
    _, _, trace = ran(both, surge.Schedule(), 12.0, lost=1e-2)
    leak = 2.0 * kv(170e-5) * (trace.pressure("A")[-1] - trace.pressure("B")[-1]) ** 0.5
    assert abs(trace.inflow[-1]) < 1e-3
    assert leak < 1e-5
    assert trace.pressure("B")[-1] < 1.0e5 < 8.0e5 < trace.pressure("A")[-1]


def test_a_low_flow_reducer_carries_the_trickle_beside_the_main_one():
    small = surge.DirectReducerRow("LB", ValveBody(kv(10)), "T22", 4.7e5, 0.6e5)
    plan = side_by_side(stream(1), stream(2, 0.2, reducer=small), demand=1.0)
    rises = surge.Straight("zone", "demand", ((0.0, kv(1)), (0.5, kv(1)), (2.5, kv(30))))
    _, _, trace = ran(plan, surge.Schedule((rises,)), 20.0)
    assert trace.lift("RV1")[0] == 0.0
    assert trace.lift("RV1")[-1] > 0.03
    asked = (4.7e5 - trace.pressure("T22")[-1]) / 0.6e5
    assert trace.lift("LB")[-1] == pytest.approx(asked, abs=0.05)


def test_a_check_valve_keeps_a_stream_from_being_fed_backwards():
    valves = stream(2)
    guarded = (*valves[:-1], surge.CheckRow("CV2", kv(300)), surge.Section("C2", 0.005), valves[-1])
    shut = surge.Straight("IA2", "opening", ((0.0, 1.0), (0.5, 1.0), (2.0, 0.0)))
    drained = surge.Straight("T22", "drain", ((0.0, 0.0), (4.0, 0.0), (5.0, kv(3))))
    plan = side_by_side(stream(1), guarded, demand=20.0)
    _, _, trace = ran(plan, surge.Schedule((shut, drained)), 15.0)
    assert trace.pressure("T22")[-1] < 0.5e5
    assert trace.pressure("B")[-1] > 3.5e5


def test_a_monitor_in_series_takes_over_in_its_stream():
    springs = replace(body(), spring_shut=5e3, spring_rise=8e3)
    valves = stream(1, shut_off=shut_off(1, trip=9e5))
    monitor = surge.ReducerRow("RM1", springs, "T21", kv(0.06), kv(0.12), 0.8e5, 5.0e5)
    pair = (valves[0], valves[1], monitor, surge.Section("M1", 0.008), *valves[2:])
    fails = surge.Held("RV1", "stuck pilot", ((0.0, nan), (0.5, 1.0)))
    plan = side_by_side(pair, stream(2, reducer=reducer(2, closing=3.5e5)), demand=20.0)
    _, _, trace = ran(plan, surge.Schedule((fails,)), 60.0)
    assert trace.lift("RV1")[-1] > 2.0 * trace.lift("RV1")[0]
    assert trace.pressure("T21")[-1] == pytest.approx(4.6e5, rel=0.05)
    assert max(trace.lift("RV2")) < 1e-3


def test_three_streams_of_different_settings_close_in_every_step():
    three = [stream(n, reducer=reducer(n, closing=4.5e5 - 0.2e5 * n)) for n in (1, 2, 3)]
    _, state, _ = ran(side_by_side(*three, demand=60.0), surge.Schedule((DEMAND,)), 8.0)
    assert float(state.run[at.MOST_SWEEPS]) < 40.0


def wild(rng: random.Random) -> tuple[surge.Plan, surge.Schedule]:
    """Return two or three streams at random, one of them in trouble."""
    streams = []
    for number in range(1, rng.choice((3, 4))):
        lag = rng.choice((0.05, 0.3))
        valve = reducer(
            number, closing=rng.uniform(3e5, 5e5), lag=lag, senses=rng.choice(("B", f"T2{number}"))
        )
        size = rng.choice((0.3, 1.0))
        closes = shut_off(number, size, trip=rng.uniform(4.5e5, 7e5), is_hydraulic=rng.random() < 0.5,
                          close_needle=kv(0.15), vent=kv(0.15))  # fmt: skip
        parts = list(stream(number, size, reducer=valve, shut_off=closes))
        if rng.random() < 0.3:
            parts[-1:-1] = [surge.CheckRow(f"CV{number}", kv(300)), surge.Section(f"C{number}", 0.005)]
        streams.append(tuple(parts))
    plan = side_by_side(*streams, demand=rng.choice((0.5, 5, 20, 60)), supply=rng.uniform(6, 14) * 1e5)
    start = kv(plan.joints[-1].coefficient / kv(1.0))  # type: ignore[union-attr]
    events: list[Any] = [
        surge.Held("RV1", "stuck pilot", ((0.0, nan), (0.3, rng.choice((0.0, 1.0))))),
        surge.Straight("IA1", "opening", ((0.2, 1.0), (rng.uniform(0.5, 3.0), 0.0))),
        surge.Straight("IB2", "opening", ((0.2, 1.0), (rng.uniform(0.5, 3.0), 0.0))),
        surge.Straight("zone", "demand", ((0.2, start), (rng.uniform(0.3, 2.0), kv(rng.choice((0, 1, 60)))))),
        surge.Straight("T22", "drain", ((0.2, 0.0), (0.6, kv(rng.choice((3, 15)))))),
    ]
    return plan, surge.Schedule((rng.choice(events),))


@pytest.mark.source(kind="analytic", ref="there is one answer whatever the valves do: every step closes")
@pytest.mark.parametrize("seed", range(12))
def test_random_streams_close_in_every_step_and_stay_within_reason(seed):
    plan, schedule = wild(random.Random(seed))
    plant = surge.compile_plan(plan)
    state = surge.start(plant, schedule)
    before = stored(plant, state)
    surge.advance(plant, state, schedule, round(6.0 / plant.step))
    assert float(state.run[at.OPEN_NODES] + state.run[at.OPEN_SPLITS]) == 0.0
    assert all(float(node[at.LOWEST_SEEN]) > -1.011e5 for node in state.node_state)
    assert all(float(node[at.HIGHEST]) < 60e5 for node in state.node_state)
    assert surge.mass_error(plant, state, before) < 0.02


def test_streams_that_cannot_be_run_are_refused():
    with pytest.raises(InputError, match="fewer than two"):
        surge.compile_plan(
            replace(side_by_side(stream(1), stream(2)), station=(surge.Group("G", (stream(1),)),))
        )
    with pytest.raises(InputError, match="resists nothing"):
        surge.compile_plan(side_by_side(stream(1), (surge.LossRow("open", inf),)))
    with pytest.raises(InputError, match="another stream"):
        surge.steady_rest(
            surge.compile_plan(side_by_side(stream(1), stream(2, reducer=reducer(2, senses="T21"))))
        )


SCRIPT = """
import random
from steadyhead import surge
from tests.surge.test_streams import wild
plan, events = wild(random.Random(3))
plant = surge.compile_plan(plan)
state = surge.start(plant, events)
surge.advance(plant, state, events, 60)
print([float(x) for line in state.node_state for x in line])
"""


@pytest.mark.source(kind="analytic", ref="the same text, run compiled and plain; 1e-9")
def test_streams_run_plain_and_compiled_alike():
    found = []
    for engine in ("plain", "compiled"):
        paths = f"{ROOT / 'src'}{os.pathsep}{ROOT}"
        done = subprocess.run(
            [sys.executable, "-c", SCRIPT],
            cwd=ROOT,
            env={**os.environ, "STEADYHEAD_ENGINE": engine, "PYTHONPATH": paths},
            capture_output=True,
            text=True,
            check=True,
        )
        found.append(eval(done.stdout, {"nan": nan, "inf": inf}))
    assert WATER.density > 0.0
    assert found[0] == pytest.approx(found[1], rel=1e-9, abs=1e-6)
