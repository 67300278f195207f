from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.laws.cavity import head_over_gas


@pytest.mark.source(kind="analytic", ref="the quadratic itself")
@given(slope=st.floats(1e-9, 1e-2), offset=st.floats(-1.0, 1.0), gas=st.floats(1e-12, 1e-6))
def test_head_over_gas_solves_its_balance_on_both_branches(slope, offset, gas):
    head = head_over_gas(slope, offset, gas)
    assert head > 0.0
    assert slope * head + offset == pytest.approx(gas / head, rel=1e-9, abs=1e-9 * abs(offset))
