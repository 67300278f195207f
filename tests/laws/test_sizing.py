from __future__ import annotations

from math import inf
from typing import Any

import pytest

from steadyhead.laws import sizing
from steadyhead.laws.valves import critical_pressure_factor

IEC = "IEC 60534-2-1:2011 / ANSI/ISA-75.01.01-2007, informative annex of sizing examples"
KPA = 1e3
PSI = 6894.757293168
GPM = 231 * 0.0254**3 / 60
CV_PER_KV = 1.1560992284


@pytest.mark.source(kind="published", ref=f"{IEC}, example 1 (prints 165)")
def test_required_kv_meets_the_unchoked_example():
    found = sizing.required_kv(
        flow=0.1, inlet_abs=680 * KPA, outlet_abs=220 * KPA, density=965.4, recovery=0.9,
        throat_abs=70.1 * KPA * critical_pressure_factor(70.1, 22120.0),
    )  # fmt: skip
    assert found == pytest.approx(165, rel=1.5e-3)


@pytest.mark.source(kind="published", ref=f"{IEC}, example 2 (prints 238)")
def test_required_kv_meets_the_choked_example():
    found = sizing.required_kv(
        flow=0.1, inlet_abs=680 * KPA, outlet_abs=220 * KPA, density=965.4, recovery=0.6,
        throat_abs=70.1 * KPA * critical_pressure_factor(70.1, 22120.0),
    )  # fmt: skip
    assert found == pytest.approx(238, rel=1.5e-3)


@pytest.mark.source(kind="published", ref=f"{IEC}, example 1 (prints 2.97e6)")
def test_valve_reynolds_number_meets_the_example():
    found = sizing.valve_reynolds(
        flow=0.1, viscosity=3.26e-7, valve_size=0.150, recovery=0.9, style=0.46, kv=164.9955
    )
    assert found == pytest.approx(2.967e6, rel=2e-3)


@pytest.mark.source(
    kind="independent", ref="IEC 60534-2-1:2011 K1, K2, KB1, KB2; case of another implementation's tests"
)
def test_fitting_losses_meet_another_implementation():
    assert sizing.fitting_losses(0.050, 0.080, 0.100) == pytest.approx(0.65808, rel=1e-4)


@pytest.mark.source(
    kind="published", ref="Crane Technical Paper 410M (2009), worked example 7.27 (prints Cv 79.94)"
)
def test_valve_between_reducers_meets_the_worked_example():
    found = sizing.required_kv_with_fittings(
        flow=250 * GPM, inlet_abs=80.6 * PSI, outlet_abs=70.8 * PSI, density=60.998 * 16.018463, recovery=0.9,
        throat_abs=4.75 * PSI * critical_pressure_factor(4.75, 3198.0),
        valve_size=3 * 0.0254, inlet_pipe=4.026 * 0.0254, outlet_pipe=4.026 * 0.0254,
    )  # fmt: skip
    assert found * CV_PER_KV == pytest.approx(79.94, rel=5e-3)


def test_fittings_of_the_valves_own_bore_change_nothing():
    case: dict[str, Any] = {
        "flow": 0.1, "inlet_abs": 680 * KPA, "outlet_abs": 220 * KPA, "density": 965.4, "recovery": 0.9,
        "throat_abs": 66e3,
    }  # fmt: skip
    same = sizing.required_kv_with_fittings(**case, valve_size=0.15, inlet_pipe=0.15, outlet_pipe=0.15)
    assert same == pytest.approx(sizing.required_kv(**case), rel=1e-14)
    assert sizing.piping_factor(100.0, 0.1, 0.0) == 1.0


def test_flow_no_valve_of_that_bore_passes_needs_an_infinite_one():
    found = sizing.required_kv_with_fittings(
        flow=0.5, inlet_abs=300 * KPA, outlet_abs=250 * KPA, density=1000.0, recovery=0.9, throat_abs=1e3,
        valve_size=0.05, inlet_pipe=0.3, outlet_pipe=0.3,
    )  # fmt: skip
    assert found == inf
