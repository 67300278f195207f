from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.laws.compiling import floats
from steadyhead.laws.lift import characteristic, interpolate, lift_of_opening, opening_of_lift

shares = st.floats(0.0, 1.0)
shapes = st.floats(0.0, 5.0)


@given(lift=shares, shape=shapes)
def test_lift_comes_back_from_its_opening(lift, shape):
    assert lift_of_opening(opening_of_lift(lift, shape), shape) == pytest.approx(lift, rel=1e-9, abs=1e-12)


@given(lift=shares, more=shares, shape=shapes)
def test_opening_never_falls_with_lift(lift, more, shape):
    assert opening_of_lift(min(lift + more, 1.0), shape) >= opening_of_lift(lift, shape) - 1e-15


@pytest.mark.source(kind="analytic", ref="shape 0 is linear; both ends are fixed")
def test_linear_shape_is_linear_and_ends_are_fixed():
    assert opening_of_lift(0.3, 0.0) == pytest.approx(0.3, rel=1e-15)
    for shape in (0.0, 1.0, 3.0):
        assert opening_of_lift(0.0, shape) == 0.0
        assert opening_of_lift(1.0, shape) == 1.0
        assert opening_of_lift(1.2, shape) == 1.0
        assert lift_of_opening(-0.1, shape) == 0.0
        assert lift_of_opening(1.1, shape) == 1.0


def test_stated_curve_replaces_the_shape_and_its_neighbours_stay_out():
    xs = floats([9.0, 0.0, 0.5, 1.0, 7.0])
    ys = floats([9.0, 0.0, 0.2, 1.0, 7.0])
    assert characteristic(0.25, 1.0, xs, ys, 1, 3) == pytest.approx(0.1)
    assert characteristic(0.75, 1.0, xs, ys, 1, 3) == pytest.approx(0.6)
    assert characteristic(0.25, 1.0, xs, ys, 1, 0) == opening_of_lift(0.25, 1.0)


def test_table_is_constant_outside_and_exact_at_its_points():
    xs = floats([0.0, 1.0, 4.0, 6.0, 6.5])
    ys = floats([1.0, 3.0, 2.0, 8.0, 9.0])
    assert [interpolate(x, xs, ys, 0, 5) for x in (-1.0, 0.0, 1.0, 4.0, 6.0, 6.5, 9.0)] == [
        1.0,
        1.0,
        3.0,
        2.0,
        8.0,
        9.0,
        9.0,
    ]
    assert interpolate(2.5, xs, ys, 0, 5) == pytest.approx(2.5)
