from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.laws.compiling import floats
from steadyhead.laws.friction import churchill
from steadyhead.laws.friction_table import OCTAVES, POINTS, factor_from_table, friction_table

ROUGH = (0.0, 1e-5, 1e-3, 0.03)
TABLES = floats([factor for rough in ROUGH for factor in friction_table(rough)])


@pytest.mark.source(kind="analytic", ref="the formula the table is made of")
@given(place=st.integers(0, len(ROUGH) - 1), power=st.floats(0.0, 8.4))
def test_table_stays_within_a_ten_thousandth_of_the_formula(place, power):
    reynolds = 10.0**power
    found = factor_from_table(reynolds, TABLES, place * POINTS)
    assert found == pytest.approx(churchill(reynolds, ROUGH[place]), rel=1e-4)


@pytest.mark.source(kind="analytic", ref="the formula the table is made of")
@given(place=st.integers(0, len(ROUGH) - 1), power=st.floats(4.5, 8.0))
def test_turbulent_flow_is_known_to_a_millionth(place, power):
    reynolds = 10.0**power
    found = factor_from_table(reynolds, TABLES, place * POINTS)
    assert found == pytest.approx(churchill(reynolds, ROUGH[place]), rel=1e-6)


def test_outside_the_table_its_ends_stand():
    assert factor_from_table(0.0, TABLES, 0) == pytest.approx(64.0, rel=1e-6)
    assert factor_from_table(2.0 ** (OCTAVES + 3), TABLES, POINTS) == TABLES[2 * POINTS - 1]
