from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.laws.loop import Loop, crossover, quiet_lift, shaped, slope_share, static_gain

LOOP = Loop(1.054e-7, 0.8e5, 0.05, 0.01745, 0.025, 0.45, 0.15, 5e3, 8e3)


@pytest.mark.source(kind="analytic", ref="central difference of Q = k √(p1 − p2) = c √p2 with p1 held")
def test_static_gain_is_the_slope_of_outlet_over_valve_coefficient():
    inlet, draw = 9e5, 3e-5

    def outlet(k: float) -> float:
        return inlet * k * k / (k * k + draw * draw)

    k, step = 3.2e-5, 1e-10
    slope = (outlet(k + step) - outlet(k - step)) / (2 * step)
    p2 = outlet(k)
    assert k * (inlet - p2) ** 0.5 == pytest.approx(draw * p2**0.5, rel=1e-9)
    assert static_gain(inlet - p2, p2) / k == pytest.approx(slope, rel=1e-6)


@pytest.mark.source(kind="analytic", ref="φ′/φ = 1/(ξ (1 + b² ξ²)) of the lift characteristic")
@pytest.mark.parametrize("shape", [0.0, 0.5, 1.0, 2.0])
@pytest.mark.parametrize("lift", [0.002, 0.03, 0.4, 0.9])
def test_slope_of_the_lift_characteristic_over_its_value(shape: float, lift: float):
    assert slope_share(shaped(shape), lift) == pytest.approx(1 / (lift * (1 + shape**2 * lift**2)), rel=1e-3)


@given(st.floats(1e5, 12e5), st.floats(0.5e5, 6e5))
def test_the_loop_answers_faster_the_nearer_to_the_seat(difference: float, outlet: float):
    speeds = [crossover(LOOP, shaped(1.0), lift, difference, outlet) for lift in (0.01, 0.05, 0.2, 0.8)]
    assert speeds == sorted(speeds, reverse=True)


def test_quiet_from_a_lift_upwards_and_not_below_it():
    lift = quiet_lift(LOOP, shaped(1.0), 4.7e5, 4e5, 0.5)
    assert lift is not None
    assert crossover(LOOP, shaped(1.0), 1.001 * lift, 4.7e5, 4e5) * LOOP.lag < 0.5
    assert crossover(LOOP, shaped(1.0), 0.999 * lift, 4.7e5, 4e5) * LOOP.lag > 0.5


def test_a_softer_pilot_is_quiet_earlier_and_a_longer_line_later():
    usual = quiet_lift(LOOP, shaped(1.0), 4.7e5, 4e5, 0.5)
    soft = quiet_lift(replace(LOOP, band=1.5e5), shaped(1.0), 4.7e5, 4e5, 0.5)
    long = quiet_lift(replace(LOOP, lag=0.3), shaped(1.0), 4.7e5, 4e5, 0.5)
    assert None not in (usual, soft, long)
    assert (soft or 0) < (usual or 0) < (long or 0)


def test_edges_have_plain_answers():
    assert slope_share(lambda lift: 0.0, 0.5) == inf
    assert crossover(LOOP, shaped(1.0), 0.1, 0.0, 4e5) == 0.0
    assert crossover(LOOP, shaped(1.0), 0.1, 4e5, 0.0) == 0.0
    assert crossover(LOOP, shaped(1.0), 1.0, 1e4, 4e5) == 0.0
    assert crossover(replace(LOOP, band=0.0), shaped(1.0), 0.1, 4e5, 4e5) == inf
    assert quiet_lift(replace(LOOP, lag=1e3), shaped(1.0), 4e5, 4e5, 0.5) is None
    assert quiet_lift(LOOP, shaped(1.0), 0.0, 4e5, 0.5) == 0.0
