from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from itertools import pairwise
from math import inf, nan

import pytest

from devtools.places import ROOT
from steadyhead import surge
from steadyhead.errors import InputError
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.metrics import stored
from steadyhead.surge.plan import ValveBody
from tests.surge.plans import kv, reducer, shut_off, station

pytestmark = pytest.mark.by_turns(4)

DEMAND = surge.Straight("zone", "demand", ((0.0, kv(30)), (0.5, kv(30)), (1.5, kv(18))))
FAILS_OPEN = surge.Held("RV", "stuck pilot", ((0.0, nan), (0.5, 1.0)))
KINDS = {
    "reducer and shut-off": (),
    "shut-off first": (shut_off(), surge.Section("T2", 0.008), reducer(senses="T3")),
    "two reducers": (reducer(screw=12.0), surge.Section("T2", 0.008), reducer("RV2", "T3", screw=9.0)),
    "direct-acting": (surge.DirectReducerRow("DR", ValveBody(kv(170)), "T3", 4.5e5, 0.8e5),),
    "check valve": (reducer(senses="T3"), surge.Section("T2", 0.008), surge.CheckRow("CV", kv(300))),
}


@pytest.mark.source(
    kind="analytic", ref="at rest nothing moves: the transient twin meets the steady one to 1e-6"
)
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("demand", [0.5, 30.0])
def test_a_station_at_rest_stays_at_rest(kind, demand):
    plant = surge.compile_plan(station(*KINDS[kind], demand=demand))
    rest = surge.steady_rest(plant)
    state = surge.start(plant, rest=rest)
    surge.advance(plant, state, surge.Schedule(), 20)
    pressures = [float(node[at.NOW]) for node in state.node_state]
    assert pressures == pytest.approx(list(rest.nodes), rel=1e-6)
    assert float(state.run[at.INFLOW]) == pytest.approx(rest.flow, rel=1e-6)


def test_many_short_advances_give_the_numbers_of_one_long_one():
    plant = surge.compile_plan(station(reaches=10))
    schedule = surge.Schedule((DEMAND, FAILS_OPEN))
    whole, parts = surge.start(plant, schedule), surge.start(plant, schedule)
    surge.advance(plant, whole, schedule, 60)
    for steps in (1, 7, 22, 30):
        parts = surge.State.unpacked(parts.packed())
        surge.advance(plant, parts, schedule, steps)
    assert parts.packed() == whole.packed()


def test_a_copy_goes_its_own_way():
    plant = surge.compile_plan(station(reaches=10))
    state = surge.start(plant)
    branch = state.copy()
    branch.trip(plant, "SO")
    surge.advance(plant, branch, surge.Schedule(), 40)
    assert state.time == 0.0
    assert float(branch.row_state[plant.rows["SO"]][at.X]) < float(state.row_state[plant.rows["SO"]][at.X])


def test_work_is_told_and_can_be_stopped():
    plant = surge.compile_plan(station(reaches=10))
    state = surge.start(plant)
    told = []
    chunk = surge.advance(
        plant,
        state,
        surge.Schedule(),
        10**9,
        stride=1000,
        progress=lambda done, total, what: told.append((done, total, what)),
        cancel=lambda: len(told) >= 2,
    )
    assert chunk.was_cancelled
    assert state.time == pytest.approx(told[-1][0] * plant.step)
    assert [what for *_, what in told] == ["steps", "steps"]


@pytest.mark.source(kind="analytic", ref="halving of the step; what is printed of the method: below 0.5 %")
def test_extremes_settle_as_the_grid_is_refined():
    found = []
    for reaches in (25, 50, 100):
        plan = station(reaches=reaches)
        plant = surge.compile_plan(plan)
        schedule = surge.Schedule((DEMAND,))
        state = surge.start(plant, schedule)
        surge.advance(plant, state, schedule, round(8.0 / plant.step))
        found.append([surge.extremes(plant, state, side).highest for side in ("supply", "consumer")])
    assert found[1] == pytest.approx(found[2], rel=5e-3)
    changes = [[abs(a - b) for a, b in zip(one, other, strict=True)] for one, other in pairwise(found)]
    assert sum(changes[1]) < sum(changes[0])


@pytest.mark.source(
    kind="analytic", ref="what enters leaves or is stored: below 1e-4 at 5 ms, falling with the step"
)
def test_no_water_is_lost_and_less_with_a_finer_grid():
    errors = []
    for reaches in (50, 100, 200):
        plant = surge.compile_plan(station(reaches=reaches))
        schedule = surge.Schedule((DEMAND,))
        state = surge.start(plant, schedule)
        before = stored(plant, state)
        surge.advance(plant, state, schedule, round(8.0 / plant.step))
        errors.append(surge.mass_error(plant, state, before))
    assert errors[1] < 1e-4
    assert errors[0] > errors[1] > errors[2]


def test_no_water_is_lost_where_a_column_parts_behind_shut_valves():
    plan = station(reducer(), surge.Section("T2", 0.008), shut_off(trip_at=1.0, close_time=2.0), demand=30.0)
    plant = surge.compile_plan(plan)
    state = surge.start(plant)
    before = stored(plant, state)
    surge.advance(plant, state, surge.Schedule(), round(15.0 / plant.step))
    assert surge.extremes(plant, state, "consumer").is_separated
    assert surge.mass_error(plant, state, before) < 0.02


@pytest.mark.source(
    kind="independent",
    ref="physics specification: section between the valves, shut-off below a sound reducer, 2 and 5 s",
)
@pytest.mark.parametrize(("seconds", "peak"), [(2.0, 18.6), (5.0, 17.2)])
def test_pressure_trapped_between_the_valves(seconds, peak):
    trips = shut_off(trip_at=1.0, close_time=seconds)
    plant = surge.compile_plan(station(reducer(), surge.Section("T2", 0.008), trips, reaches=100))
    state = surge.start(plant)
    surge.advance(plant, state, surge.Schedule(), round(10.0 / plant.step))
    assert float(state.node_state[plant.nodes["T2"]][at.HIGHEST]) / 1e5 == pytest.approx(peak, abs=0.06)


def test_a_self_resetting_shut_off_opens_and_trips_again():
    auto = shut_off(release=4.9e5)
    plant = surge.compile_plan(station(reducer(), surge.Section("T2", 0.008), auto, demand=20.0))
    schedule = surge.Schedule((FAILS_OPEN,))
    state = surge.start(plant, schedule)
    surge.advance(plant, state, schedule, round(20.0 / plant.step))
    assert float(state.row_state[plant.rows["SO"]][at.TRIPS]) > 3


def test_a_shut_sensing_cock_blinds_a_shut_off():
    blind = shut_off(is_cock_open=False)
    plant = surge.compile_plan(station(reducer(), surge.Section("T2", 0.008), blind, demand=20.0))
    schedule = surge.Schedule((FAILS_OPEN,))
    state = surge.start(plant, schedule)
    surge.advance(plant, state, schedule, round(8.0 / plant.step))
    row = state.row_state[plant.rows["SO"]]
    assert float(row[at.TRIPS]) == 0.0
    assert surge.extremes(plant, state, "consumer").highest > 7e5


def test_a_check_valve_lets_next_to_nothing_back():
    plan = station(reducer(senses="T3"), surge.Section("T2", 0.008), surge.CheckRow("CV", kv(300.0)))
    plant = surge.compile_plan(plan)
    falls = surge.Straight("supply", "supply pressure", ((0.0, 9e5), (0.5, 9e5), (2.0, 1e5)))
    state = surge.start(plant, surge.Schedule((falls,)))
    trace = surge.run(plant, state, surge.Schedule((falls,)), 8.0)
    assert min(trace.outflow) > -1e-4


@pytest.mark.source(kind="analytic", ref="steady law of a direct-acting reducer")
def test_a_direct_acting_reducer_settles_on_its_line():
    plant = surge.compile_plan(station(*KINDS["direct-acting"], demand=10.0))
    schedule = surge.Schedule((surge.Straight("zone", "demand", ((0.0, kv(10)), (2.0, kv(15)))),))
    state = surge.start(plant, schedule)
    trace = surge.run(plant, state, schedule, 20.0)
    lift, outlet = trace.lift("DR")[-1], trace.pressure("T3")[-1]
    assert lift == pytest.approx((4.5e5 - outlet) / 0.8e5, abs=2e-3)


def test_a_screw_turned_raises_the_outlet():
    plant = surge.compile_plan(station(demand=20.0))
    turned = surge.Schedule((surge.Straight("RV", "screw", ((0.0, 9.0), (1.0, 9.0), (6.0, 10.0))),))
    state = surge.start(plant, turned)
    trace = surge.run(plant, state, turned, 15.0)
    assert trace.pressure("T2")[-1] - trace.pressure("T2")[0] == pytest.approx(0.5e5, rel=0.05)


def test_names_that_a_plan_does_not_have_are_refused():
    plant = surge.compile_plan(station(reaches=10))
    with pytest.raises(InputError, match="does not have"):
        surge.start(plant, surge.Schedule((surge.Straight("RV9", "screw", ((0.0, 1.0),)),)))
    with pytest.raises(InputError, match="times that fall"):
        surge.Schedule((surge.Straight("RV", "screw", ((1.0, 1.0), (0.0, 2.0))),)).live(plant)
    with pytest.raises(InputError, match="Name a section"):
        surge.compile_plan(station(reducer(senses="T9")))
    plan = station()
    with pytest.raises(InputError, match="no joint"):
        surge.compile_plan(replace(plan, joints=plan.joints[:1]))
    with pytest.raises(InputError, match="another format"):
        surge.State.unpacked('{"format": "x"}')


SCRIPT = """
from math import nan
from steadyhead import surge
from tests.surge.plans import kv, reducer, shut_off, station
valves = reducer(air=1e-5, needle=kv(0.09)), surge.Section("T2", 0.008), shut_off(is_hydraulic=True)
plan = station(*valves, reaches=10)
plant = surge.compile_plan(plan)
events = surge.Schedule((
    surge.Straight("zone", "demand", ((0.0, kv(30)), (0.5, kv(5)))),
    surge.Held("RV", "stuck pilot", ((0.0, nan), (1.0, 1.0))),
))
state = surge.start(plant, events)
surge.advance(plant, state, events, 120)
for row in (state.head, state.down, state.gas, state.node_state, state.row_state):
    print([[float(x) for x in line] for line in row])
"""


@pytest.mark.source(kind="analytic", ref="the same text, run compiled and plain; 1e-9")
def test_plain_and_compiled_runs_give_the_same_numbers():
    found = []
    for engine in ("plain", "compiled"):
        done = subprocess.run(
            [sys.executable, "-c", SCRIPT],
            cwd=ROOT,
            env={
                **os.environ,
                "STEADYHEAD_ENGINE": engine,
                "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}",
            },
            capture_output=True,
            text=True,
            check=True,
        )
        rows = [eval(line, {"nan": nan, "inf": inf}) for line in done.stdout.splitlines()]
        found.append([x for table in rows for row in table for x in row])
    assert len(found[0]) == len(found[1]) > 100
    scale = max(abs(x) for x in found[0] if x == x)
    assert scale > 1e5
    for plain, compiled in zip(*found, strict=True):
        assert (plain != plain and compiled != compiled) or plain == pytest.approx(
            compiled, rel=1e-9, abs=1e-12
        )
