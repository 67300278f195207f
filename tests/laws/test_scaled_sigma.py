from __future__ import annotations

import pytest

from steadyhead.laws.cavitation import scaled_sigma

ISA = "ISA-RP75.23 (from memory): σ_v = (σ_R SSE − 1) PSE + 1; hand calculation"


@pytest.mark.source(kind="analytic", ref=ISA)
def test_the_size_and_pressure_tested_change_nothing():
    same = scaled_sigma(2.3, size_ratio=1.0, pressure_ratio=1.0, size_exponent=0.3, pressure_exponent=0.2)
    assert same == pytest.approx(2.3, rel=1e-15)


@pytest.mark.source(kind="analytic", ref=ISA)
def test_a_larger_valve_at_a_higher_pressure_has_a_higher_limit():
    found = scaled_sigma(2.0, size_ratio=4.0, pressure_ratio=16.0, size_exponent=0.5, pressure_exponent=0.25)
    assert found == pytest.approx((2.0 * 2.0 - 1.0) * 2.0 + 1.0, rel=1e-15)
