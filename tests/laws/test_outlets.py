from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.laws import outlets

REFERENCE = 1e5


@given(p=st.floats(-1e6, 3e6), more=st.floats(0, 1e6), exponent=st.floats(0.3, 1.5))
def test_demand_never_falls_with_pressure_and_never_runs_back(p, more, exponent):
    here = outlets.demand_flow(p, 1e-4, exponent, REFERENCE)
    assert here >= 0.0
    assert outlets.demand_flow(p + more, 1e-4, exponent, REFERENCE) >= here


@pytest.mark.source(kind="analytic", ref="by definition all exponents agree at the reference pressure")
@given(exponent=st.floats(0.3, 1.5))
def test_every_exponent_draws_the_same_at_the_reference_pressure(exponent):
    assert outlets.demand_flow(REFERENCE, 2e-4, exponent, REFERENCE) == pytest.approx(2e-4 * REFERENCE**0.5)


def test_drain_draws_only_under_pressure():
    assert outlets.drain_flow(4e4, 1e-3) == pytest.approx(0.2)
    assert outlets.drain_flow(0.0, 1e-3) == 0.0
    assert outlets.drain_flow(-1e4, 1e-3) == 0.0


def test_relief_lifts_along_a_line_from_crack_to_full():
    assert [outlets.relief_opening(p, 6e5, 7e5) for p in (5e5, 6e5, 6.5e5, 7e5, 8e5)] == [
        0.0,
        0.0,
        0.5,
        1.0,
        1.0,
    ]


def test_direct_acting_reducer_is_shut_at_its_closing_pressure():
    assert [outlets.direct_acting_opening(p, 4e5, 1e5) for p in (5e5, 4e5, 3.5e5, 1e5)] == [
        0.0,
        0.0,
        0.5,
        1.0,
    ]


def test_a_relief_valve_with_play_closes_lower_than_it_opens():
    rising = [outlets.relief_opening(p, 5e5, 6e5) for p in (5.5e5, 5.2e5, 4.8e5)]
    falling = [outlets.relief_opening(p + 0.4e5, 5e5, 6e5) for p in (5.5e5, 5.2e5, 4.8e5)]
    asked = 0.0
    found = []
    for up, down in zip(rising, falling, strict=True):
        asked = outlets.relief_with_play(asked, up, down)
        found.append(round(asked, 6))
    assert found == [0.5, 0.5, 0.2]


@pytest.mark.source(kind="analytic", ref="p_abs Vⁿ = const")
def test_air_in_a_vessel_follows_its_polytrope():
    constant = 0.2 * (4e5 + 101325.0) ** (1 / 1.2)
    assert outlets.vessel_air(4e5, constant, 1.2, 101325.0) == pytest.approx(0.2, rel=1e-12)
    assert outlets.vessel_air(8e5, constant, 1.2, 101325.0) < 0.2
