from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.laws import shutoff
from steadyhead.laws.coefficients import k_of_kv, kv_of_k
from steadyhead.laws.compiling import floats
from steadyhead.laws.valves import valve_flow

SPECIFICATION = "physics specification of the project, worked out by its independent reference"
DENSITY, AIR, THROAT = 999.7, 101325.0, 1173.0
INSIDE = (0.45, 0.15, 0.15e5, 0.25e5, 0.01745, 0.025)


def timed_on_site(inlet: float, outlet: float, flow: float, held: bool = False) -> float:
    row, none = floats([0.0] * 61), floats([0.0])
    shutoff.fill_differences_on_test(
        row,
        inlet,
        outlet,
        flow,
        held,
        k_of_kv(170.0, DENSITY),
        1.0,
        1e-5,
        none,
        none,
        0,
        0,
        0.85,
        AIR,
        THROAT,
    )
    return shutoff.closing_integral(row, *INSIDE)


@pytest.mark.source(kind="independent", ref=f"{SPECIFICATION}: needle of Kv 0.15 closes in 20.3 s at 1 m³/h")
def test_stroke_at_trickle_takes_the_time_of_the_reference():
    integral = timed_on_site(4.048e5, 4.047e5, 1 / 3600)
    assert integral / k_of_kv(0.15, DENSITY) == pytest.approx(20.3, abs=0.05)


@pytest.mark.source(kind="independent", ref=f"{SPECIFICATION}: a needle set to 10 s at 1 m³/h is Kv 0.305")
def test_needle_follows_from_a_stopwatch():
    integral = timed_on_site(4.048e5, 4.047e5, 1 / 3600)
    assert kv_of_k(integral / 10.0, DENSITY) == pytest.approx(0.305, abs=5e-4)


@pytest.mark.source(kind="analytic", ref="constant drive: J = A_d x_m / √drive")
def test_constant_drive_gives_the_closed_form():
    row = floats([3e5] * 61)
    found = shutoff.closing_integral(row, 0.4, 0.0, 0.2e5, 0.0, 0.02, 0.03)
    assert found == pytest.approx(0.02 * 0.03 / (0.6 * 3e5 + 0.2e5) ** 0.5, rel=1e-12)


def test_larger_difference_closes_faster():
    assert timed_on_site(6e5, 2e5, 0.01) < timed_on_site(4e5, 3.9e5, 0.01)
    assert timed_on_site(6e5, 2e5, 0.01, held=True) < timed_on_site(6e5, 5e5, 0.01, held=True)


def test_drive_grows_from_the_spring_towards_the_whole_difference():
    wide_open = shutoff.closing_drive(1.0, 0.0, *INSIDE[:4])
    nearly_shut = shutoff.closing_drive(0.0, 8e5, *INSIDE[:4])
    assert wide_open == pytest.approx(0.4e5)
    assert nearly_shut == pytest.approx(0.55 * 8e5 + 0.15e5)


@given(
    inlet=st.floats(1e4, 3e6), coefficient=st.floats(1e-5, 1e-2), draw=st.floats(1e-5, 1e-2),
    recovery=st.floats(0.4, 1.0),
)  # fmt: skip
def test_valve_and_draw_off_pass_the_same_flow(inlet, coefficient, draw, recovery):
    difference = shutoff.difference_with_draw(inlet, coefficient, draw, recovery, AIR, THROAT)
    outlet = inlet - difference
    through = valve_flow(inlet, outlet, coefficient, recovery, AIR, THROAT)
    assert outlet >= -1e-6
    assert (through / draw) ** 2 == pytest.approx(outlet, rel=1e-6, abs=1e-6 * inlet)


def test_without_draw_off_there_is_no_difference():
    assert shutoff.difference_with_draw(5e5, 1e-3, 0.0, 0.85, AIR, THROAT) == 0.0
    assert timed_on_site(5e5, 0.0, 0.0) > 0.0


def test_lifts_are_crowded_towards_shut():
    lifts = [shutoff.graded_lift(index, 4) for index in range(5)]
    assert lifts == [0.0, 0.00390625, 0.0625, 0.31640625, 1.0]
