from __future__ import annotations

import random
from dataclasses import replace
from math import log, pi

import pytest

from steadyhead import surge
from steadyhead.surge.entry import with_entry
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.metrics import stored
from steadyhead.surge.quiet import Point, margins, unstable_roots
from steadyhead.surge.stability import stability
from tests.surge.plans import WATER, kv, reducer, shut_off, station

pytestmark = pytest.mark.by_turns(4)

ZONE = 20 * 6e-9
PARTS = (surge.Section("T2", 0.008), shut_off())


def point(plan: surge.Plan, name: str = "RV") -> Point:
    plant = surge.compile_plan(plan)
    return Point(plant, surge.steady_rest(plant), name)


def fine(one: Point):
    return stability(one.plant, one.rest, one.reducer)


@pytest.mark.source(kind="analytic", ref="each member alone, looked at more closely; 1 % and 1 degree")
def test_many_members_at_once_are_judged_as_each_alone():
    rng = random.Random(7)
    points = []
    for number in range(24):
        speed = 4.0 ** rng.uniform(-1, 0.5)
        row = reducer(
            feed=speed * kv(0.06), pilot=speed * kv(0.12), band=rng.uniform(0.4, 1.5) * 1e5,
            lag=rng.uniform(0.02, 0.3),
        )  # fmt: skip
        flow = 10 ** rng.uniform(0.3, 1.9)
        plan = station(row, *PARTS, demand=flow, exponent=0.6, elasticity=ZONE if number % 2 else 0.0)
        points.append(point(with_entry(plan, 1 + number % 3)))
    found = margins(points)
    for place, one in enumerate(points):
        alone = fine(one)
        if abs(alone.growth) > 0.02:
            assert found.unstable_roots[place] == alone.unstable_roots
        assert found.gain[place] == pytest.approx(alone.gain_margin, rel=0.01)
        assert found.phase[place] == pytest.approx(alone.phase_margin, abs=1.0)


def test_two_reducers_in_series_are_not_taken_for_one_another():
    plan = station(
        reducer(screw=12.0), surge.Section("T2", 0.008), reducer("RV2", "T3", screw=9.0), demand=20.0
    )
    plant = surge.compile_plan(plan)
    rest = surge.steady_rest(plant)
    both = [Point(plant, rest, name) for name in ("RV", "RV2")]
    assert list(unstable_roots(both)) == [fine(one).unstable_roots for one in both]


@pytest.mark.source(kind="analytic", ref="a tree with a joint that draws nothing is the line it was cut from")
def test_a_main_cut_in_two_with_a_joint_that_hardly_draws_is_judged_as_one():
    whole = station(demand=10.0)
    up, down = whole.pipes
    first = replace(down, below="middle", length=300.0)
    second = replace(down, id="rest", above="middle", length=500.0)
    joints = (*whole.joints, surge.Consumers("middle", 1e-12))
    cut = replace(whole, pipes=(up, first, second), joints=joints)
    one, two = fine(point(whole)), fine(point(cut))
    assert two.unstable_roots == one.unstable_roots
    assert two.growth == pytest.approx(one.growth, abs=1e-4)
    assert two.gain_margin == pytest.approx(one.gain_margin, rel=1e-4)


@pytest.mark.source(kind="analytic", ref="a run moves at the rate of the least stable root; 0.02 1/s")
@pytest.mark.parametrize("mains", [1.0, 3.0])
def test_a_run_with_a_zone_behind_an_entry_moves_at_the_rate_of_its_root(mains):
    plan = with_entry(station(demand=30.0, reaches=50, exponent=0.6, elasticity=ZONE), mains)
    found = fine(point(plan))
    plant = surge.compile_plan(plan)
    nudge = surge.Schedule(
        (surge.Straight("zone", "demand", ((0.0, kv(30)), (0.3, kv(30.01)), (0.6, kv(30)))),)
    )
    state = surge.start(plant, nudge)
    trace = surge.run(plant, state, nudge, 32.0)
    pressures = list(zip(trace.time, trace.pressure("T3"), strict=True))
    rest = trace.pressure("T3")[0]
    early, late = (max(abs(p - rest) for t, p in pressures if low <= t < low + 10.0) for low in (8.0, 22.0))
    assert log(late / early) / 14.0 == pytest.approx(found.growth, abs=0.02)


def test_a_zone_that_is_entered_sits_still_where_one_that_throws_waves_back_hunts():
    row = reducer(feed=kv(0.03), pilot=kv(0.06))
    plan = station(row, *PARTS, demand=30.0, exponent=0.6, elasticity=ZONE)
    assert fine(point(plan)).unstable_roots > 0
    assert fine(point(with_entry(plan, 1.0))).unstable_roots == 0


@pytest.mark.source(
    kind="analytic", ref="slower than a wave there and back the whole zone is found; 0.02 bar"
)
def test_a_slow_change_does_not_see_the_entry_of_a_zone():
    ends = []
    for plan in (
        station(demand=20.0, elasticity=ZONE),
        with_entry(station(demand=20.0, elasticity=ZONE), 1.0),
    ):
        plant = surge.compile_plan(plan)
        opens = surge.Schedule(
            (
                surge.Held("RV", "stuck pilot", ((0.0, 0.5),)),
                surge.Straight("SO", "lift", ((0.0, 1.0), (40.0, 0.02))),
            )
        )
        state = surge.start(plant, opens)
        trace = surge.run(plant, state, opens, 60.0)
        ends.append(
            [trace.joint("zone")[place] for place in range(0, len(trace.time), len(trace.time) // 20)]
        )
    assert max(abs(a - b) for a, b in zip(*ends, strict=True)) < 0.02e5


def test_no_water_is_lost_at_the_entry_of_a_zone():
    plan = with_entry(station(demand=30.0, elasticity=ZONE, reaches=50), 2.0)
    plant = surge.compile_plan(plan)
    falls = surge.Schedule((surge.Straight("zone", "demand", ((0.0, kv(30)), (1.0, kv(30)), (2.0, kv(5)))),))
    state = surge.start(plant, falls)
    before = stored(plant, state)
    surge.advance(plant, state, falls, round(10.0 / plant.step))
    assert surge.mass_error(plant, state, before) < 1e-3
    joint = state.joint_state[plant.joints["zone"]]
    assert joint[at.BEHIND] != joint[at.PRESSURE]


def test_an_entry_is_the_wave_resistance_of_its_mains():
    plan = with_entry(station(demand=30.0, elasticity=ZONE), 2.0)
    end = next(joint for joint in plan.joints if isinstance(joint, surge.Consumers))
    whole = WATER.density * 1150.0 / (pi / 4.0 * 0.15**2)
    assert end.entry == pytest.approx(0.5 * whole, rel=1e-9)
    assert end.inertance == pytest.approx(end.entry * 2.0 * 800.0 / 1150.0, rel=1e-9)
