"""The transient engine against the method of lines: another scheme in place, another in time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, nan

import numpy as np
import pytest

from steadyhead import surge
from steadyhead.services.speed.lines import Event, Found, Main, Pair, integrate
from steadyhead.surge.kernel import layout as at
from tests.surge.plans import kv, reducer, shut_off, station

pytestmark = pytest.mark.by_turns(4)

REACHES, CELLS = 200, 120
PRESSURE = 0.02  # what may differ [bar]
SPECIFIED = Pair(
    up=Main(500.0, 0.15, 1150.0, 1e-4),
    down=Main(800.0, 0.15, 1150.0, 1e-4),
    supply=9e5,
    is_reducer_first=True,
    kv_before=(894.0, 300.0),
    kv_after=894.0,
    kv=170.0,
    stroke=0.025,
    diaphragm=0.01745,
    seat_ratio=0.45,
    flow_force=0.15,
    spring=(0.05e5, 0.08e5),
    shut_off_spring=(0.15e5, 0.25e5),
    kv_feed=0.06,
    kv_pilot=0.12,
    closing=4.5e5,
    band=0.8e5,
    lag=0.05,
    trip=5.5e5,
    trip_lag=0.1,
    close_time=5.0,
    kv_needle=0.0,
    volumes=(0.015, 0.008, 0.015),
    stiffness=1.2e9,
)
"""The station of the physics specification, its numbers typed from there."""
TIMES_A_SECOND = 10


@dataclass(frozen=True)
class Scenario:
    station: Pair
    event: Event
    end: float
    cells: int = CELLS


STICKS = Event(((0.0, 20.0),), sticks_at=1.0)
SCENARIOS = {
    "consumers step down": Scenario(SPECIFIED, Event(((0.0, 30.0), (1.0, 30.0), (2.0, 18.0))), 12.0),
    "reducer fails open, shut-off behind it": Scenario(replace(SPECIFIED, close_time=12.0), STICKS, 12.0),
    "reducer fails open, shut-off ahead of it": Scenario(
        replace(SPECIFIED, close_time=12.0, is_reducer_first=False), STICKS, 12.0
    ),
    "reducer fails open, shut-off driven through its needle": Scenario(
        replace(SPECIFIED, kv_needle=0.305), STICKS, 8.5
    ),
    "the same, shut-off ahead of the reducer": Scenario(
        replace(SPECIFIED, kv_needle=0.305, is_reducer_first=False), STICKS, 8.5
    ),
    # The reducer slams shut here: finite volumes round off the steep front that goes out from it, less with
    # more of them (0.063, 0.034, 0.008 bar at the inlet for 60, 120, 240 cells).
    "consumers shut and the shut-off trips": Scenario(
        SPECIFIED, Event(((0.0, 30.0), (1.0, 30.0), (4.0, 2.0))), 10.0, cells=240
    ),
}


def engine(scenario: Scenario, times: np.ndarray, reaches: int = REACHES) -> tuple[Found, float]:
    """Run the engine on the same station and event; return it at `times`, and its step."""
    own, event = scenario.station, scenario.event
    closes = shut_off(
        close_time=own.close_time, is_hydraulic=own.kv_needle > 0.0, close_needle=kv(own.kv_needle)
    )
    parts = [reducer(senses="T2" if own.is_reducer_first else "T3"), surge.Section("T2", 0.008), closes]
    plan = station(*(parts if own.is_reducer_first else parts[::-1]), demand=event.kv(0.0), reaches=reaches)
    moving = surge.Straight("zone", "demand", tuple((t, kv(value)) for t, value in event.demand))
    sticks = surge.Held("RV", "stuck pilot", ((0.0, nan), (event.sticks_at, 1.0)))
    schedule = surge.Schedule((moving,) if event.sticks_at == inf else (moving, sticks))
    plant = surge.compile_plan(plan)
    state = surge.start(plant, schedule)
    trace = surge.run(plant, state, schedule, scenario.end)
    tripped_at = float(state.row_state[plant.rows["SO"]][at.T_TRIP])

    def read(column: list[float]) -> np.ndarray:
        return np.asarray(np.interp(times, np.asarray(trace.time), np.asarray(column)), dtype=float)

    found = Found(
        read(trace.pressure("T1")), read(trace.pressure("T3")), read(trace.inflow),
        read(trace.lift("RV")), read(trace.lift("SO")), inf if np.isnan(tripped_at) else tripped_at,
    )  # fmt: skip
    return found, plant.step


@pytest.mark.source(
    kind="independent",
    ref="method of lines (staggered volumes, Radau IIA) written apart from the engine, in this folder; "
    "agreement asked for by the physics specification: 0.02 bar, 0.1 m³/h, 0.001 of lift, two steps",
    note="every 0.1 s",
)
@pytest.mark.parametrize("name", SCENARIOS)
def test_the_engine_and_the_method_of_lines_tell_the_same_story(name):
    scenario = SCENARIOS[name]
    times = np.linspace(0.0, scenario.end, round(scenario.end * TIMES_A_SECOND) + 1)
    lines = integrate(scenario.station, scenario.event, times, cells=scenario.cells, accuracy=1e-5)
    own, step = engine(scenario, times)
    assert np.ptp(lines.outlet) > 1e5
    assert np.abs(own.inlet - lines.inlet).max() < PRESSURE * 1e5
    assert np.abs(own.outlet - lines.outlet).max() < PRESSURE * 1e5
    assert np.abs(own.flow - lines.flow).max() * 3600.0 < 0.1
    assert np.abs(own.lift - lines.lift).max() < 1e-3
    assert np.abs(own.shut_off - lines.shut_off).max() < 1e-3
    assert own.tripped_at == pytest.approx(lines.tripped_at, abs=2.0 * step)


@pytest.mark.source(
    kind="independent",
    ref="method of lines as above; two schemes of one truth come closer as both grids grow finer",
)
def test_a_steep_front_told_by_both_comes_closer_as_the_grids_grow_finer():
    scenario = SCENARIOS["consumers shut and the shut-off trips"]
    times = np.linspace(0.0, scenario.end, round(scenario.end * TIMES_A_SECOND) + 1)
    own = {reaches: engine(scenario, times, reaches)[0].inlet for reaches in (50, 100, 200, 400)}
    moves = [float(np.abs(own[reaches] - own[400]).max()) for reaches in (50, 100, 200)]
    assert moves[0] > 1.9 * moves[1] > 1.9 * 1.9 * moves[2]
    assert moves[2] < 0.005e5
    apart = [
        float(np.abs(integrate(scenario.station, scenario.event, times, cells=cells, accuracy=1e-5).inlet
                     - own[400]).max())
        for cells in (60, 120, 240)
    ]  # fmt: skip
    assert apart[0] > 1.5 * apart[1] > 1.5 * 1.5 * apart[2]
    assert apart[2] < 0.015e5


@pytest.mark.source(kind="analytic", ref="a steady state does not move")
@pytest.mark.parametrize("is_reducer_first", [True, False])
def test_the_method_of_lines_rests_where_it_begins(is_reducer_first):
    times = np.array([0.0, 5.0])
    found = integrate(
        replace(SPECIFIED, is_reducer_first=is_reducer_first),
        Event(((0.0, 30.0),)),
        times,
        cells=40,
        accuracy=1e-7,
    )
    assert found.outlet[1] == pytest.approx(found.outlet[0], abs=1.0)
    assert found.flow[1] == pytest.approx(found.flow[0], rel=1e-6)


@pytest.mark.source(
    kind="independent", ref="physics specification, worked numbers at Kv 30: 8.6890, 3.9226 bar, 55.997 m³/h"
)
def test_the_method_of_lines_begins_at_the_printed_steady_state():
    found = integrate(SPECIFIED, Event(((0.0, 30.0),)), np.array([0.0, 0.01]), cells=40)
    assert found.inlet[0] / 1e5 == pytest.approx(8.6890, abs=2e-4)
    assert found.outlet[0] / 1e5 == pytest.approx(3.9226, abs=2e-4)
    assert found.flow[0] * 3600 == pytest.approx(55.997, abs=2e-3)
