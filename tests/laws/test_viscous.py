from __future__ import annotations

from math import inf
from typing import Any

import pytest
from fluids.control_valve import Reynolds_factor
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.laws import sizing, viscous

LIBRARY = "IEC 60534-2-1:2011, F_R, as written in a general library of fluid flow"


@pytest.mark.source(kind="independent", ref=LIBRARY)
@pytest.mark.parametrize("full", [True, False])
@pytest.mark.parametrize("reynolds", [0.5, 9.0, 11.0, 140.0, 1202.0, 9000.0])
def test_reynolds_factor_agrees_with_another_implementation(full: bool, reynolds: float):
    kv, size = (60.0, 0.05) if full else (0.015483, 0.015)
    found = viscous.reynolds_factor(reynolds=reynolds, recovery=0.98, kv=kv, valve_size=size, full_trim=full)
    expected = Reynolds_factor(FL=0.98, C=kv, d=size * 1e3, Rev=reynolds, full_trim=full)
    assert found == pytest.approx(min(expected, 1.0), rel=1e-12)


@pytest.mark.source(
    kind="published",
    ref="IEC 60534-2-1:2011, example 4 of the annex, F_R 0.715; as quoted in a library (from memory)",
)
def test_reynolds_factor_meets_the_worked_example_of_a_small_trim():
    found = viscous.reynolds_factor(
        reynolds=1202.0, recovery=0.98, kv=0.015483, valve_size=0.015, full_trim=False
    )
    assert found == pytest.approx(0.715, abs=5e-4)


def test_turbulent_flow_needs_no_correction():
    assert (
        viscous.reynolds_factor(reynolds=1e4, recovery=0.9, kv=100.0, valve_size=0.1, full_trim=True) == 1.0
    )


@given(st.floats(0.01, 1e5), st.floats(0.5, 1.0), st.floats(0.01, 300.0), st.booleans())
def test_factor_lies_above_nothing_and_at_most_at_one(reynolds, recovery, kv, full):
    found = viscous.reynolds_factor(
        reynolds=reynolds, recovery=recovery, kv=kv, valve_size=0.1, full_trim=full
    )
    assert 0.0 < found <= 1.0


@pytest.mark.parametrize(("kv", "full"), [(170.0, True), (100.0, False)])
def test_a_trim_is_full_size_by_its_coefficient_over_its_bore(kv: float, full: bool):
    assert viscous.is_full_trim(kv, 0.1) is full


CASE: dict[str, Any] = {
    "inlet_abs": 9e5,
    "outlet_abs": 5e5,
    "density": 1000.0,
    "recovery": 0.9,
    "throat_abs": 1e3,
}


def test_water_at_a_usual_flow_needs_what_it_needs_in_turbulent_flow():
    found = viscous.required_kv_viscous(flow=0.02, viscosity=1.3e-6, valve_size=0.1, style=0.46, **CASE)
    assert found == pytest.approx(sizing.required_kv(flow=0.02, **CASE), rel=1e-12)


def test_a_trickle_needs_more_than_in_turbulent_flow():
    turbulent = sizing.required_kv(flow=1e-7, **CASE)
    found = viscous.required_kv_viscous(flow=1e-7, viscosity=1.3e-6, valve_size=0.025, style=0.46, **CASE)
    assert found > turbulent
    number = sizing.valve_reynolds(
        flow=1e-7, viscosity=1.3e-6, valve_size=0.025, recovery=0.9, style=0.46, kv=found
    )
    factor = viscous.reynolds_factor(
        reynolds=number, recovery=0.9, kv=found, valve_size=0.025, full_trim=False
    )
    assert found * factor == pytest.approx(turbulent, rel=1e-8)


def test_no_answer_is_made_up_where_the_search_stops_short():
    assert (
        viscous.required_kv_viscous(
            flow=1e-7, viscosity=1.3e-6, valve_size=0.025, style=0.46, rounds=1, **CASE
        )
        == inf
    )
