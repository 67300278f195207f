from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.laws import cavitation


@pytest.mark.source(
    kind="published", ref="ISA-RP75.23-1995, definition of sigma: 10, 8 and 2 bar abs give 4.0"
)
def test_inlet_sigma_meets_its_definition():
    assert cavitation.sigma_inlet(10e5, 8e5, 0.0, 2e5) == pytest.approx(4.0, abs=1e-9)


@given(p1=st.floats(1e5, 3e6), share=st.floats(-0.2, 0.99))
def test_the_three_indices_tell_the_same(p1, share):
    place = (p1, p1 * share, 101325.0, 1228.0)
    ratio = cavitation.differential_ratio(*place)
    assert cavitation.sigma_inlet(*place) == pytest.approx(1.0 / ratio, rel=1e-9)
    assert cavitation.sigma_outlet(*place) == pytest.approx(1.0 / ratio - 1.0, rel=1e-9, abs=1e-9)


def test_no_difference_means_no_cavitation_and_boiling_inlet_means_all():
    assert cavitation.sigma_inlet(5e5, 5e5, 101325.0, 1228.0) == inf
    assert cavitation.sigma_outlet(5e5, 6e5, 101325.0, 1228.0) == inf
    assert cavitation.differential_ratio(-101325.0, -101400.0, 101325.0, 1228.0) == inf
