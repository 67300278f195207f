from __future__ import annotations

from math import sqrt

import pytest

from steadyhead import surge
from steadyhead.surge.metrics import interpolated
from tests.surge.plans import WATER, WEIGHT, area, closing, one_main

pytestmark = pytest.mark.by_turns(4)

ALLIEVI = "Allievi 1913, interlocking equations for uniform closure without friction; recursion of this test"


def chain(rho, theta, rounds):
    """Return h/H0 at the valve at whole return times."""
    roots = [1.0]
    for number in range(1, rounds + 1):
        tau, before = (max(1.0 - i / theta, 0.0) for i in (number, number - 1))
        side = 2.0 - roots[-1] ** 2 + 2.0 * rho * before * roots[-1]
        roots.append(-rho * tau + sqrt((rho * tau) ** 2 + side))
    return [root**2 for root in roots[1:]]


def closed_main(rho, theta, *, reaches=100, rounds=6):
    """Close a valve at the end of a frictionless main; rho = a V0/(2 g H0), theta in return times."""
    length, wave, head, bore = 1200.0, 1000.0, 90.0, 0.2
    flow = rho * 2.0 * 9.81 * head / wave * area(bore)
    plant, k = one_main(length=length, bore=bore, wave=wave, flow=flow, head=head, reaches=reaches)
    back = 2.0 * length / wave
    state = surge.start(plant)
    trace = surge.run(plant, state, closing(k, theta * back), (rounds + 0.5) * back)
    heads = [pressure / WEIGHT / head for pressure in trace.joint("V")]
    return [interpolated(trace.time, heads, number * back) for number in range(1, rounds + 1)], max(heads)


@pytest.mark.source(kind="analytic", ref="Joukowsky: a V0/g, without friction; 1e-9")
@pytest.mark.parametrize("speed", [0.2, 0.9, 1.9])
def test_sudden_closure_gives_the_joukowsky_rise(speed):
    plant, k = one_main(length=800.0, bore=0.15, wave=1100.0, flow=speed * area(0.15), head=300.0)
    state = surge.start(plant)
    surge.run(plant, state, closing(k, 0.0), 5.0)
    highest = surge.extremes(plant, state, "supply").highest / WEIGHT
    assert highest - 300.0 == pytest.approx(1100.0 * speed / 9.81, rel=1e-9)


@pytest.mark.source(kind="analytic", ref=ALLIEVI)
@pytest.mark.parametrize(("rho", "theta"), [(1.0, 4), (0.5, 2), (0.5, 5), (2.0, 5)])
def test_slow_closure_follows_the_interlocking_chain(rho, theta):
    heads, _ = closed_main(rho, theta)
    assert heads == pytest.approx(chain(rho, theta, 6), rel=1e-4)


@pytest.mark.source(
    kind="independent", ref="refs_shared S-T-07: chain computed apart from this project", note="rel 2e-4"
)
def test_heads_of_a_uniform_closure_at_whole_return_times():
    heads, _ = closed_main(1.0, 4)
    assert heads == pytest.approx([1.29381, 1.2807, 1.28434, 1.2823, 0.717695, 1.2823], rel=2e-4)


@pytest.mark.source(
    kind="independent", ref="refs_shared S-T-08: chain scanned over start phases", note="rel 2e-3"
)
@pytest.mark.parametrize(
    ("rho", "theta", "highest"), [(0.5, 2, 1.4069), (0.5, 5, 1.1442), (1, 3, 1.433), (2, 5, 1.489)]
)
def test_highest_head_of_a_uniform_closure(rho, theta, highest):
    _, found = closed_main(rho, theta, reaches=200)
    assert found == pytest.approx(highest, rel=2e-3)


@pytest.mark.source(
    kind="independent", ref="refs_shared S-T-16: chain against the rule 2 L V/(g T)", note="rel 3e-3"
)
def test_the_rule_for_slow_closure_is_no_upper_bound_on_a_low_head_main():
    _, found = closed_main(2.0, 1.5, reaches=200)
    assert found - 1.0 == pytest.approx(2.774, rel=3e-3)
    assert found - 1.0 > 2.0 * 2.0 / 1.5


@pytest.mark.source(
    kind="published",
    ref="US Army TM 5-813-9, Figure 4-5 (seen by the project's study): 2690 ft/s, 6.48 ft/s; g is ours",
    note="541.8 ft with g = 32.174; rel 2e-3",
)
def test_rise_of_a_published_sudden_closure():
    foot = 0.3048
    plant, k = one_main(
        length=3400 * foot, bore=0.3, wave=2690 * foot, flow=6.48 * foot * area(0.3), head=400 * foot
    )
    state = surge.start(plant)
    trace = surge.run(plant, state, closing(k, 0.0), 2.4)
    rise = (trace.joint("V")[-1] / WEIGHT - 400 * foot) / foot
    assert rise == pytest.approx(541.8, rel=2e-3)


@pytest.mark.source(
    kind="analytic", ref="line packing: H0 + a V0/g ≤ H_max ≤ the same plus the friction loss"
)
def test_line_packing_stays_between_its_bounds():
    flow, bore, wave, head = 0.02, 0.15, 1100.0, 250.0
    plant, k = one_main(length=800.0, bore=bore, wave=wave, flow=flow, head=head, roughness=1e-4)
    state = surge.start(plant)
    at_valve = float(state.joint_state[1][0]) / WEIGHT
    surge.run(plant, state, closing(k, 0.0), 1.45)
    highest = surge.extremes(plant, state, "supply").highest / WEIGHT
    surge_head = wave * flow / area(bore) / 9.81
    assert at_valve + surge_head * (1 - 1e-6) <= highest <= head + surge_head


@pytest.mark.source(
    kind="published",
    ref="Bergant and Simpson 1999, apparatus and 210.9 m from memory; Joukowsky part recomputed",
    note="rel 0.02",
)
def test_measured_peak_where_separation_does_not_add_to_it():
    plant, k = one_main(
        length=37.23, bore=0.0221, wave=1319.0, flow=1.4 * area(0.0221), head=22.0, roughness=1.5e-6
    )
    state = surge.start(plant)
    surge.run(plant, state, closing(k, 0.009), 0.2)
    highest = surge.extremes(plant, state, "supply").highest / WEIGHT
    assert highest == pytest.approx(210.9, rel=0.02)


@pytest.mark.source(
    kind="independent",
    ref="physics specification: first cavity 23.2 to 23.5 L for 25 to 400 reaches, 5 %; head at the valve "
    "before it 135.07 m, highest of all 149.4 to 150.1 m, 1 %",
)
@pytest.mark.parametrize("reaches", [25, 100, 200])
def test_first_cavity_at_a_valve_shut_at_once(reaches):
    plant, k = one_main(
        length=1000.0, bore=0.2, wave=1000.0, flow=0.03, head=40.0, roughness=1e-4, reaches=reaches
    )
    state = surge.start(plant)
    trace = surge.run(plant, state, closing(k, 0.0), 7.5)
    heads = [pressure / WEIGHT for pressure in trace.joint("V")]
    assert interpolated(trace.time, heads, 1.0) == pytest.approx(135.07, rel=0.01)
    found = surge.extremes(plant, state, "supply")
    assert found.highest / WEIGHT == pytest.approx(149.8, rel=0.01)
    assert found.most_gas * 1e3 == pytest.approx(23.35, rel=0.05)
    assert found.is_separated
    assert found.lowest / WEIGHT >= (1228.0 - 101325.0) / WEIGHT - 1e-9


def test_unsteady_friction_leaves_the_first_peak_and_lowers_the_later_ones():
    found = []
    for unsteady in (0.0, 0.05):
        plant, k = one_main(
            length=800.0, bore=0.15, wave=1100.0, flow=0.01, head=200.0, roughness=1e-4, unsteady=unsteady
        )
        state = surge.start(plant)
        trace = surge.run(plant, state, closing(k, 0.0), 12.0)
        heads = trace.joint("V")
        early = max(h for h, t in zip(heads, trace.time, strict=True) if t < 1.4)
        late = max(h for h, t in zip(heads, trace.time, strict=True) if t > 9.0)
        found.append((early, late))
    assert found[1][0] == pytest.approx(found[0][0], rel=0.01)
    assert found[1][1] < found[0][1] - 2e4


@pytest.mark.source(
    kind="analytic",
    ref="Parmakian: s = 2 (A₁/a₁)/Σ(A/a), transmitted part of a wave at a junction; from memory",
)
def test_a_wave_passes_a_junction_by_its_admittances():
    pipes = (
        surge.Pipe("one", "R", "J", 600.0, 0.3, 0.0, 1200.0, side="supply", has_friction=False),
        surge.Pipe("two", "J", "V", 500.0, 0.2, 0.0, 1000.0, has_friction=False),
    )
    plan = surge.Plan(
        WATER,
        pipes,
        (surge.Reservoir("R", 100 * WEIGHT), surge.Consumers("J"), surge.Consumers("V", drawn=0.0)),
    )
    plant = surge.compile_plan(plan)
    state = surge.start(plant)
    rise = 10 * WEIGHT
    schedule = surge.Schedule((surge.Held("R", "supply pressure", ((0.0, 100 * WEIGHT + rise),)),))
    trace = surge.run(plant, state, schedule, 0.9)
    share = (trace.joint("J")[-1] - 100 * WEIGHT) / rise
    assert share == pytest.approx(1.3043, rel=1e-4)
