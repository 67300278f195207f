"""Mains as several reaches: at rest as the steady twin, branches, demands along, the rest of the zone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead import surge
from steadyhead.errors import InputError
from steadyhead.findings import Severity
from steadyhead.hydraulics import case
from steadyhead.hydraulics.mains import zone_stiffness
from steadyhead.laws.friction import pipe_drop
from steadyhead.surge.events import studies
from steadyhead.surge.from_station import draft, water_of
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.metrics import mass_error, stored
from steadyhead.surge.plan import Consumers, Pipe
from steadyhead.surge.reaches import compliance_of, cut
from steadyhead.surge.study import run_study
from tests.surge.files import SUPPLY_MAIN, ZONE_MAIN, text, way

IRON = "bore: 150 mm, material: ductile iron, roughness: 0.1 mm, wave_speed: 1150 m/s"
IN_LINE = f"reaches: [{{id: A, length: 300 m, {IRON}}}, {{id: B, length: 500 m, {IRON}}}]"
THIN = "bore: 80 mm, material: ductile iron, roughness: 0.1 mm, wave_speed: 1150 m/s"
TREE = (
    f"reaches: [{{id: A, length: 300 m, {IRON}, level: 2 m, share: 20 %}}, "
    f"{{id: B, length: 500 m, {IRON}, level: -4 m}}, {{id: C, after: A, length: 250 m, {THIN}, level: 6 m}}, "
    f"{{id: D, after: C, length: 120 m, {THIN}, share: 10 %}}]"
)
SUPPLY_IN_LINE = (
    f"reaches: [{{id: up, length: 200 m, {IRON}, level: 0 m}}, {{id: low, length: 300 m, {IRON}}}]"
)


def drafted(source, flow="average"):
    view, model = way(source)
    return draft(model, case(view.station, "typical", flow))


def only(source, event):
    view, model = way(source)
    (study,), _ = studies(view, model, event)
    return run_study(study)


@pytest.mark.source(kind="analytic", ref="two reaches of one bore in line are one main")
def test_a_main_in_two_reaches_runs_as_the_main_in_one():
    one = only(text(), "pilot-stuck")
    two = only(text(zone=IN_LINE, main=SUPPLY_IN_LINE), "pilot-stuck")
    for side in ("supply", "consumer"):
        before, after = getattr(one, side), getattr(two, side)
        assert after.judged_at_datum == pytest.approx(before.judged_at_datum, rel=5e-3)
    assert two.shut_offs[0].trip == pytest.approx(one.shut_offs[0].trip, abs=0.01)
    assert two.wave_return == pytest.approx(one.wave_return)
    assert {profile.pipe for profile in two.profiles} == {"reach up", "reach low", "reach A", "reach B"}


@pytest.mark.source(
    kind="analytic", ref="at rest nothing moves; joints stand where friction and level put them"
)
@pytest.mark.parametrize("flow", ["night", "average", "peak"])
def test_branching_mains_stand_still_at_rest_and_draw_their_shares(flow):
    found = drafted(text(zone=TREE), flow)
    plant = surge.compile_plan(found.plan)
    rest = surge.steady_rest(plant)
    total = found.before.consumer_flow
    water = water_of(found.model)
    assert rest.outlet_flow == pytest.approx(total, rel=2e-4)
    shares = {"reach A": 1.0, "reach B": 0.7, "reach C": 0.1, "reach D": 0.1}
    assert rest.pipe_flows == pytest.approx({name: share * total for name, share in shares.items()}, rel=1e-3)
    by_id = {pipe.id: pipe for pipe in found.plan.pipes}
    c = by_id["reach C"]
    lost = pipe_drop(
        rest.pipe_flows["reach C"], c.length, c.bore, c.roughness, water.density, water.viscosity
    )
    lost += water.density * water.gravity * (c.level_below - c.level_above)
    fell = rest.joint_pressures[c.above] - rest.joint_pressures[c.below]
    assert fell == pytest.approx(lost, abs=1.0)
    state = surge.start(plant)
    surge.advance(plant, state, surge.Schedule(), 50)
    for name, pressure in rest.joint_pressures.items():
        assert float(state.joint_state[plant.joints[name]][at.PRESSURE]) == pytest.approx(pressure, abs=150.0)


@pytest.mark.source(kind="analytic", ref="two like branches with half the demand each behave as each other")
def test_two_like_branches_see_the_same_waves():
    twin = (
        f"reaches: [{{id: A, length: 300 m, {IRON}}}, {{id: B, length: 500 m, {THIN}}}, "
        f"{{id: C, after: A, length: 500 m, {THIN}}}]"
    )
    run = only(text(zone=twin), "demand-falls")
    left, right = (next(p for p in run.profiles if p.pipe == f"reach {name}") for name in "BC")
    assert left.highest == pytest.approx(right.highest, abs=1.0)
    assert left.lowest == pytest.approx(right.lowest, abs=1.0)
    assert run.mass_error < 1e-3


@pytest.mark.source(
    kind="analytic", ref="V β of reaches and of the rest add up to that of the zone, shared as the demand"
)
def test_the_rest_of_the_zone_is_shared_out_as_the_demand():
    found = drafted(text(zone=f"volume: 200 m³, material: PVC-U, {TREE}"))
    pipes = tuple(pipe for pipe in found.plan.pipes if pipe.side == "consumer")
    stiffness = zone_stiffness(found.model.station.zone)
    assert stiffness is not None
    whole = stiffness.compliance
    ends = {j.id: j for j in found.plan.joints if isinstance(j, Consumers) and j.id in found.drawing}
    rest = whole - compliance_of(pipes, found.model.density)
    assert sum(joint.elasticity for joint in ends.values()) == pytest.approx(rest, rel=1e-9)
    assert ends["zone"].elasticity == pytest.approx(0.7 * rest, rel=1e-9)
    assert ends["end of A"].elasticity == pytest.approx(0.20 * rest, rel=1e-9)


def test_reaches_that_hold_more_than_the_zone_are_told():
    held = drafted(text(zone=f"volume: 10 m³, material: PE80, bore_over_wall: '60', {TREE}"))
    assert "SUR-41" in [finding.code for finding in held.findings]
    assert next(one for one in held.findings if one.code == "SUR-41").severity is Severity.ASK


def test_a_reach_at_whose_end_no_pressure_is_left_is_refused_in_words():
    high = TREE.replace("share: 10 %", "level: 95 m, share: 10 %")
    view, model = way(text(zone=high))
    _, missed = studies(view, model, "demand-falls")
    assert [finding.code for finding in missed] == ["SUR-17"]
    assert "below that of the air" in str(missed[0].params["reason"])


@pytest.mark.source(kind="analytic", ref="what enters is what leaves and what is stored")
def test_water_is_accounted_for_where_mains_branch():
    found = drafted(text(zone=TREE))
    plant = surge.compile_plan(found.plan)
    state = surge.start(plant)
    before = stored(plant, state)
    k = found.demands["end of D"]
    shut = surge.Schedule((surge.Straight("end of D", "demand", ((0.0, k), (0.5, k), (0.6, 0.0))),))
    surge.advance(plant, state, shut, int(5.0 / plant.step))
    assert mass_error(plant, state, before) < 1e-3


@pytest.mark.source(kind="analytic", ref="Courant number 1: whole cells, or a wave speed moved and told")
def test_steps_are_chosen_so_that_wave_speeds_stay_and_what_is_too_short_is_told():
    def pipe(name, length):
        return Pipe(name, "a", "b", length, 0.1, 1e-4, 1000.0)

    pipes, numbers, told = cut((pipe("long", 731.0), pipe("short", 47.0)), 0.01)
    step = min(p.length / p.wave_speed for p in pipes) / numbers.reaches
    assert not told
    assert step <= 0.01
    cells = 0.731 / step
    assert abs(cells / round(cells) - 1.0) <= 0.02
    pipes, _, told = cut((pipe("long", 731.0), pipe("stub", 0.5)), 0.01)
    assert [finding.code for finding in told] == ["SUR-64"]
    assert pipes[1].wave_speed == 1000.0
    assert pipes[1].length == pytest.approx(2.0)


def test_pipes_in_a_ring_are_refused():
    found = drafted(text(zone=TREE))
    ring = (*found.plan.pipes, Pipe("ring", "end of D", "zone", 100.0, 0.1, 1e-4, 1000.0))
    with pytest.raises(InputError, match="ring"):
        surge.steady_rest(surge.compile_plan(replace(found.plan, pipes=ring)))


def test_the_station_of_one_main_is_drafted_as_before():
    assert SUPPLY_MAIN in text().decode()
    assert ZONE_MAIN in text().decode()
    assert [pipe.id for pipe in drafted(text()).plan.pipes] == ["supply main", "zone main"]
