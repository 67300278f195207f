"""The water-hammer values shared with the project: each is met by a run of the engine or by a law."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from math import inf, sqrt
from pathlib import Path

import pytest

from devtools.places import ROOT
from steadyhead import surge
from steadyhead.laws import waves
from tests.surge.plans import WATER, area, closing

FOOT = 0.3048
VALUES = Path(
    os.environ.get("STEADYHEAD_VALUES", Path(__file__).parents[3] / "shared" / "checks" / "refs_shared.json")
)
MET_BY = {
    "S-T-01": "tests/surge/test_shared_hammer.py::test_field_manual_sudden_closure",
    "S-T-02": "tests/surge/test_shared_hammer.py::test_rigid_oil_line",
    "S-T-03": "tests/surge/test_shared_hammer.py::test_plastic_main",
    "S-T-04": "tests/surge/test_shared_hammer.py::test_steel_main_shut_within_its_return_time",
    "S-T-05": "tests/laws/test_waves.py::test_ductile_iron_meets_the_table",
    "S-T-06": "tests/laws/test_waves.py::test_restraint_changes_the_wave_speed_as_printed",
    "S-T-07": "tests/surge/test_water_hammer.py::test_heads_of_a_uniform_closure_at_whole_return_times",
    "S-T-08": "tests/surge/test_water_hammer.py::test_highest_head_of_a_uniform_closure",
    "S-T-09": "tests/surge/test_shared_hammer.py::test_slow_closure_of_a_short_main_is_a_rigid_column",
    "S-T-10": "tests/surge/test_water_hammer.py::test_a_wave_passes_a_junction_by_its_admittances",
    "S-T-11": "tests/surge/test_water_hammer.py::test_line_packing_stays_between_its_bounds",
    "S-T-12": "tests/surge/test_water_hammer.py::test_measured_peak_where_separation_does_not_add_to_it",
    "S-T-13": "tests/surge/test_shared_hammer.py::test_rise_of_a_laboratory_pipe",
    "S-T-14": "tests/laws/test_waves.py::test_warming_of_shut_in_water_meets_the_closed_form",
    "S-T-15": "tests/surge/test_shared_hammer.py::test_flow_stopped_evenly_in_more_than_the_return_time",
    "S-T-16": "tests/surge/test_water_hammer.py::"
    "test_the_rule_for_slow_closure_is_no_upper_bound_on_a_low_head_main",
}
LEFT_OUT = {"S-P-05": "facts from abstracts, without numbers"}


def main_of(
    water: surge.Water, *, length: float, bore: float, wave: float, head: float, flow: float
) -> tuple[surge.Plant, surge.State, float]:
    """Return a frictionless main running into the open through a valve, at rest, and k of the valve."""
    weight = water.density * water.gravity
    pipe = surge.Pipe("main", "R", "V", length, bore, 0.0, wave, side="supply", has_friction=False)
    k = flow / sqrt(head * weight)
    joints = (surge.Reservoir("R", head * weight), surge.Consumers("V", k))
    plant = surge.compile_plan(surge.Plan(water, (pipe,), joints, numbers=surge.Numbers(100, inf)))
    return plant, surge.start(plant), k


def rise(
    plant: surge.Plant, state: surge.State, schedule: surge.Schedule, head: float, until: float
) -> float:
    """Run and return the highest head above the one at rest. [m]"""
    surge.run(plant, state, schedule, until)
    return surge.extremes(plant, state, "supply").highest / plant.weight - head


@pytest.mark.source(
    kind="published",
    ref="S-T-01: US Army TM 5-813-9, figure 4-5, g rounded to 32 ft/s² as there",
    note="2e-3",
)
def test_field_manual_sudden_closure():
    water = replace(WATER, gravity=32.0 * FOOT)
    length, wave, head = 3400 * FOOT, 2690 * FOOT, 700 * FOOT
    plant, state, k = main_of(
        water, length=length, bore=0.3, wave=wave, head=head, flow=6.48 * FOOT * area(0.3)
    )
    assert waves.wave_return_time(length=length, wave_speed=wave) == pytest.approx(2.53, rel=2e-3)
    assert rise(plant, state, closing(k, 0.0), head, 2.0) / FOOT == pytest.approx(544.7, rel=2e-3)


@pytest.mark.source(
    kind="published",
    ref="S-T-02: Chaudhry, Applied Hydraulic Transients, example 1-1, from memory",
    note="3e-3",
)
def test_rigid_oil_line():
    speed = waves.wave_speed(bulk_modulus=1.5e9, density=900, diameter=0.5, wall=1.0, elasticity=1e30)
    assert speed == pytest.approx(1291, rel=3e-3)
    oil = replace(WATER, density=900.0)
    plant, state, k = main_of(oil, length=1000.0, bore=0.5, wave=speed, head=400.0, flow=0.4)
    assert rise(plant, state, closing(k, 0.0), 400.0, 1.0) == pytest.approx(268, rel=3e-3)


@pytest.mark.source(
    kind="published",
    ref="S-T-03: Chadwick, Morfett and Borthwick, problem seen, answers from memory",
    note="5e-3",
)
def test_plastic_main():
    speed = waves.wave_speed(
        bulk_modulus=2.1e9, density=2.1e9 / 1450.0**2, diameter=0.3, wall=0.02, elasticity=2.6e9
    )
    assert speed == pytest.approx(400, rel=5e-3)
    plant, state, k = main_of(WATER, length=1000.0, bore=0.3, wave=speed, head=200.0, flow=2.5 * area(0.3))
    assert rise(plant, state, closing(k, 0.0), 200.0, 4.0) == pytest.approx(102, rel=5e-3)


@pytest.mark.source(
    kind="published", ref="S-T-04: university water-hammer tutorial sheet (public), question 3", note="5e-4"
)
def test_steel_main_shut_within_its_return_time():
    speed = waves.wave_speed(bulk_modulus=2.06e9, density=1000, diameter=0.6, wall=0.018, elasticity=200e9)
    assert waves.wave_return_time(length=1050.0, wave_speed=speed) == pytest.approx(1.696, rel=5e-4)
    water = replace(WATER, density=1000.0)
    plant, state, k = main_of(water, length=1050.0, bore=0.6, wave=speed, head=400.0, flow=2.5 * area(0.6))
    found = rise(plant, state, closing(k, 1.0), 400.0, 1.6) * plant.weight
    assert found / 1e3 == pytest.approx(3095.9, rel=5e-4)


@pytest.mark.source(
    kind="analytic", ref="S-T-09: rigid column, ΔH/H₀ = N/2 + √(N²/4 + N), N = (L V₀/(g H₀ T))²", note="1e-3"
)
def test_slow_closure_of_a_short_main_is_a_rigid_column():
    plant, state, k = main_of(WATER, length=600.0, bore=0.2, wave=1000.0, head=50.0, flow=1.5 * area(0.2))
    assert rise(plant, state, closing(k, 12.0), 50.0, 13.0) == pytest.approx(8.2521, rel=1e-3)


@pytest.mark.source(
    kind="analytic", ref="S-T-13: apparatus of Simpson 1986, from memory; Joukowsky part only", note="5e-3"
)
def test_rise_of_a_laboratory_pipe():
    plant, state, k = main_of(
        WATER, length=36.0, bore=0.01905, wave=1280.0, head=23.41, flow=0.332 * area(0.01905)
    )
    surge.run(plant, state, closing(k, 0.0), 0.05)
    highest = float(state.joint_state[1][0]) / plant.weight
    assert highest - 23.41 == pytest.approx(43.3, rel=5e-3)


@pytest.mark.source(
    kind="analytic",
    ref="S-T-15: Standard Handbook for Civil Engineers, gradual closure 2 L ΔV/(g T); exact without friction "
    "where the flow falls evenly",
    note="1e-3",
)
def test_flow_stopped_evenly_in_more_than_the_return_time():
    water = replace(WATER, gravity=32.2 * FOOT)
    flow, head = 6.48 * FOOT * area(0.3), 500 * FOOT
    plant, state, _ = main_of(water, length=3400 * FOOT, bore=0.3, wave=2690 * FOOT, head=head, flow=flow)
    falls = surge.Straight("V", "drawn", ((0.0, flow), (4.1, 0.0)))
    found = rise(plant, state, surge.Schedule((falls,)), head, 4.1)
    assert found / FOOT == pytest.approx(333.77, rel=1e-3)


@pytest.mark.skipif(not VALUES.is_file(), reason="the shared values are not beside this checkout")
def test_every_shared_water_hammer_value_is_met_by_a_test_or_left_out_for_a_reason():
    values = json.loads(VALUES.read_text("utf-8"))
    asked = {value["id"] for value in values if value["id"].startswith("S-T-")}
    asked |= {value["id"] for value in values if "hammer" in json.dumps(value).lower()}
    assert asked <= MET_BY.keys() | LEFT_OUT.keys()


def test_every_test_named_beside_a_shared_value_exists():
    for file, _, name in (where.partition("::") for where in MET_BY.values()):
        assert f"def {name}(" in (ROOT / file).read_text("utf-8"), name
