"""A station file as a plan: at rest it stands where the steady twin stands; it holds what the file says."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from steadyhead import surge
from steadyhead.design.basis import Basis
from steadyhead.design.closing import needle_of as lumped_needle
from steadyhead.design.twin import SteadyTwin
from steadyhead.hydraulics import build, case
from steadyhead.hydraulics.mains import zone_stiffness
from steadyhead.records.parts import ShutOff
from steadyhead.services.library import completed
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.station.streams import views
from steadyhead.surge.from_station import draft, halved, water_of
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.needle import integral_on_test
from steadyhead.surge.plan import Consumers, LossRow, Pipe, Reservoir, Section, ShutOffRow
from steadyhead.surge.station_rows import station_rows, stroke_on_test
from tests.surge.files import ZONE_MAIN, text, way
from tests.there import there

REST = "the transient twin at rest is the steady twin"
WAYS = [
    (name, one.id)
    for name in examples.names()
    for one in views(completed(load(examples.read(name), name)).station)
]


def part(drafted, kind, name=""):
    found = (*drafted.plan.pipes, *drafted.plan.joints, *drafted.plan.station)
    return next(one for one in found if isinstance(one, kind) and name in ("", one.id))


@pytest.mark.source(kind="analytic", ref=REST)
@pytest.mark.parametrize(("name", "way_id"), WAYS)
def test_every_example_stands_in_the_transient_twin_where_it_stands_in_the_steady_one(name, way_id):
    station = completed(load(examples.read(name), name)).station
    view = next(one for one in views(station) if one.id == way_id)
    drafted = draft(build(view.station), case(view.station, "static", "night"))
    plant = surge.compile_plan(drafted.plan)
    state = surge.start(plant)
    taps = drafted.before.taps
    assert {"T1", "T3"} <= set(drafted.rows.section_of)
    # Without flow the numerical tightness of seats moves small sections; they are looked at at once only.
    for steps, allowed in ((0, 10.0), (10, 150.0)) if drafted.before.flow > 0.0 else ((0, 10.0),):
        surge.advance(plant, state, surge.Schedule(), steps)
        for tap, section in drafted.rows.section_of.items():
            if tap in taps:
                now = float(state.node_state[plant.nodes[section]][at.NOW])
                assert now == pytest.approx(taps[tap], abs=allowed), (tap, steps)
        assert float(state.node_state[-1][at.NOW]) == pytest.approx(taps["T0"], abs=allowed)
        assert float(state.run[at.INFLOW]) == pytest.approx(drafted.before.flow, abs=1e-6 * steps + 1e-9)


@pytest.mark.source(kind="analytic", ref=REST)
@pytest.mark.parametrize("flow", ["night", "average", "peak"])
def test_the_supply_main_loses_its_friction_wherever_the_pressures_are_stated(flow):
    for source in (text(), text().replace(b"stated_at: head of main, ", b"")):
        view, model = way(source)
        drafted = draft(model, case(view.station, "typical", flow))
        rest = surge.steady_rest(surge.compile_plan(drafted.plan))
        assert rest.nodes[-1] == pytest.approx(drafted.before.taps["T0"], abs=10.0)
        held = part(drafted, Reservoir).pressure
        assert held > drafted.before.taps["T0"]
        assert (held == 9e5) == (b"head of main" in source)


@pytest.mark.source(kind="analytic", ref="V β of main and rest are that of the zone (design handbook 2.4a)")
def test_main_and_rest_of_the_zone_take_up_what_the_zone_does():
    zone = f"volume: 200 m³, material: PVC-U, {ZONE_MAIN}"
    view, model = way(text(zone=zone))
    drafted = draft(model, case(view.station, "static", "night"))
    pipe = part(drafted, Pipe, "zone main")
    own = 3.14159265 / 4.0 * pipe.bore**2 * pipe.length / (model.density * pipe.wave_speed**2)
    whole = there(zone_stiffness(view.station.zone)).compliance
    assert own + part(drafted, Consumers).elasticity == pytest.approx(whole, rel=1e-9)
    assert "SUR-06" not in [finding.code for finding in drafted.findings]


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"main": ""}, "SUR-03"),
        ({"zone": "volume: 90 m³"}, "SUR-04"),
        ({}, "SUR-05"),
        ({"zone": f"volume: 14.2 m³, material: steel, bore_over_wall: '10', {ZONE_MAIN}"}, "SUR-06"),
        ({"zone": f"volume: 2 m³, material: ductile iron, {ZONE_MAIN}"}, "SUR-41"),
        ({"extra": "  - {part: expansion_vessel, id: EV}\n"}, "SUR-07"),
        ({"extra": "  - {part: expansion_vessel, id: EV, volume: 80 L, precharge: 3 bar}\n"}, "SUR-08"),
        ({"zone": ZONE_MAIN.replace("ductile iron", "PE100")}, "SUR-10"),
        ({}, "SUR-11"),
    ],
)
def test_what_the_file_lacks_or_the_engine_does_not_know_is_told(changes, code):
    source = text(**changes)
    if code == "SUR-03":
        source = source.replace(b", stated_at: head of main", b"")
    view, model = way(source)
    drafted = draft(model, case(view.station, "static", "night"))
    assert code in [finding.code for finding in drafted.findings]
    plant = surge.compile_plan(drafted.plan)
    surge.advance(plant, surge.start(plant), surge.Schedule(), 3)


def test_a_shut_off_without_a_trip_never_trips_and_that_is_told():
    view, model = way(text().replace(b"    trip: 5.5 bar\n", b""))
    drafted = draft(model, case(view.station, "static", "night"))
    assert part(drafted, ShutOffRow).trip == float("inf")
    assert "SUR-09" in [finding.code for finding in drafted.findings]


@pytest.mark.source(kind="analytic", ref="t = J/k: the needle of a timed stroke closes in that time again")
@pytest.mark.parametrize("first", ["reducer", "shut-off"])
def test_a_stated_closing_time_becomes_the_needle_it_was_timed_with(first):
    view, model = way(text(first=first, closes="line pressure"))
    row = part(draft(model, case(view.station, "static", "night")), ShutOffRow)
    stated = next(one for one in view.station.line if isinstance(one, ShutOff))
    assert row.is_hydraulic
    stroke = stroke_on_test(model, stated)
    assert integral_on_test(row, water_of(model), stroke) / row.close_needle == pytest.approx(5.0, rel=1e-9)
    basis = Basis(view.station, SteadyTwin(view.station))
    assert row.close_needle == pytest.approx(lumped_needle(basis, stated), rel=0.01)


def test_two_relief_valves_of_one_section_lift_as_both_do():
    extra = (
        "  - {part: relief, id: R1, size: DN 50, kv: Kv 30, crack: 5 bar, full: 5.5 bar}\n"
        "  - {part: relief, id: R2, size: DN 50, kv: Kv 10, crack: 5.2 bar, full: 6 bar}\n"
    )
    view, model = way(text(extra=extra))
    rows = station_rows(model, water_of(model))
    relief = next(one.relief for one in rows.sections if one.id == "T3")
    assert relief is not None
    assert relief.coefficient == pytest.approx(model.k(40.0))
    lifts = dict(relief.curve)
    assert lifts[5e5] == 0.0
    assert lifts[6e5] == pytest.approx(1.0)
    assert lifts[5.2e5] == pytest.approx(0.75 * 0.4)
    assert view.station.line


def test_rows_and_sections_alternate_and_the_bypass_is_left_out():
    station = load(examples.read("hobble-end")).station
    rows = station_rows(build(station), water_of(build(station)))
    kinds = [isinstance(one, Section) for one in rows.parts]
    assert all(a != b for a, b in pairwise(kinds))
    bypass = [b.line for p in station.line if p.part == "parallel" for b in p.branches if b.role != "main"]
    names = {one.id for line in bypass for one in line}
    assert names
    assert not names & {one.id for one in rows.parts if isinstance(one, LossRow)}


def test_a_halved_plan_takes_half_the_step():
    view, model = way(text())
    plan = draft(model, case(view.station, "static", "night")).plan
    coarse, fine = surge.compile_plan(plan), surge.compile_plan(halved(plan))
    assert fine.step == pytest.approx(0.5 * coarse.step)
    assert replace(halved(plan), numbers=plan.numbers) == plan
