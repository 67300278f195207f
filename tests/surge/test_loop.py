from __future__ import annotations

from dataclasses import replace
from math import log

import pytest

from steadyhead import surge
from steadyhead.errors import InputError
from steadyhead.surge import needle
from steadyhead.surge.stability import stability
from tests.surge.plans import kv, reducer, shut_off, station

pytestmark = pytest.mark.by_turns(4)

SPECIFICATION = "physics specification of the project, worked out by its independent reference"


def judged(**changes):
    plant = surge.compile_plan(station(**changes))
    return stability(plant, surge.steady_rest(plant), "RV")


@pytest.mark.source(
    kind="independent", ref=f"{SPECIFICATION}: growth rates of exact lines", note="0.02 1/s, 5 %"
)
def test_at_low_flow_two_pairs_grow():
    found = judged(demand=4.0)
    assert found.unstable_roots == 4
    assert found.growth == pytest.approx(0.2125, abs=0.02)
    assert found.omega == pytest.approx(10.09, rel=0.05)


@pytest.mark.source(kind="independent", ref=f"{SPECIFICATION}: margin 1.03 at 95 m³/h", note="5 %")
def test_at_high_flow_the_margin_through_the_supply_main_is_nearly_gone():
    assert judged(demand=60.0).gain_margin == pytest.approx(1.03, rel=0.05)


@pytest.mark.source(kind="independent", ref=f"{SPECIFICATION}: 20 m³ of zone, n 0.6: 0.26 1/s, 3.1 rad/s")
def test_a_large_lump_at_the_consumer_end_reflects_and_grows():
    found = judged(demand=30.0, exponent=0.6, elasticity=20 * 6e-9)
    assert found.growth == pytest.approx(0.26, abs=0.02)
    assert found.omega == pytest.approx(3.1, rel=0.05)


@pytest.mark.source(kind="analytic", ref="a run grows at the rate of the least stable root; 0.02 1/s")
def test_a_run_grows_as_its_least_stable_root_says():
    plan = station(demand=4.0, reaches=100)
    found = judged(demand=4.0)
    plant = surge.compile_plan(plan)
    nudge = surge.Schedule(
        (surge.Straight("zone", "demand", ((0.0, kv(4)), (0.1, kv(4.0004)), (0.2, kv(4)))),)
    )
    state = surge.start(plant, nudge)
    trace = surge.run(plant, state, nudge, 30.0)
    rest = trace.pressure("T3")[0]
    swings = [
        max(
            abs(p - rest) for p, t in zip(trace.pressure("T3"), trace.time, strict=True) if low <= t < low + 5
        )
        for low in (15.0, 25.0)
    ]
    assert log(swings[1] / swings[0]) / 10.0 == pytest.approx(found.growth, abs=0.02)


def test_only_a_pilot_operated_reducer_is_judged():
    plant = surge.compile_plan(station())
    with pytest.raises(InputError, match="reducer"):
        stability(plant, surge.steady_rest(plant), "SO")


@pytest.mark.source(
    kind="independent",
    ref=f"{SPECIFICATION}: needle Kv 0.15 gives 20.3 s at 1 m³/h, 13.6 and 9.4 s failed open",
)
def test_a_needle_gives_a_time_for_every_situation():
    plan = station()
    valve = needle.shut_off_of(plan, "SO")
    trickle = needle.TimedStroke(4.048e5, 4.048e5, 1.0 / 3600.0)
    k = kv(0.15)
    assert needle.integral_on_test(valve, plan.water, trickle) / k == pytest.approx(20.3, abs=0.06)
    for demand, seconds in ((20.0, 13.6), (60.0, 9.4)):
        failed = station(reducer(stuck_pilot=1.0), surge.Section("T2", 0.008), shut_off(), demand=demand)
        plant = surge.compile_plan(failed)
        assert needle.integral_in_station(plant, "SO") / k == pytest.approx(seconds, abs=0.06)


@pytest.mark.source(kind="independent", ref=f"{SPECIFICATION}: 6.7 s by the integral, 6.75 s in the run")
def test_a_run_closes_in_the_time_of_its_needle():
    plan = station(
        reducer(), surge.Section("T2", 0.008),
        shut_off(is_hydraulic=True, close_needle=kv(0.305), trip=5.5e5), demand=20.0, reaches=50,
    )  # fmt: skip
    plant = surge.compile_plan(plan)
    fails = surge.Schedule((surge.Held("RV", "stuck pilot", ((0.0, float("nan")), (1.0, 1.0))),))
    state = surge.start(plant, fails)
    surge.advance(plant, state, fails, round(15.0 / plant.step))
    from steadyhead.surge.kernel import layout as at

    row = state.row_state[plant.rows["SO"]]
    assert float(row[at.T_CLOSED] - row[at.T_TRIP]) == pytest.approx(6.75, abs=0.05)
    assert replace(plan) == plan
